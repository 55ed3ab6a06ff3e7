// The form of the landing page: sends what was chosen or pasted, shows the report or what was refused.
"use strict";

const part = (id) => document.getElementById(id);
const KEY_MISSING = 401;
let offered = { calculations: [], examples: [] }; // what this server can report, as it lists it
let loaded = ""; // the text that an example or a file has put into the form
let page = "";
let fileName = "report.html";

function element(name, text) {
  const made = document.createElement(name);
  made.textContent = text; // never markup: the text comes from the file of the user
  return made;
}

function choice(value, text) {
  const made = element("option", text);
  made.value = value;
  return made;
}

function showProblem(title, detail, errors = []) {
  const shown = part("problem");
  shown.replaceChildren(element("h3", title), element("p", detail));
  if (errors.length) {
    const list = document.createElement("ul");
    for (const error of errors) {
      const item = document.createElement("li");
      item.append(element("code", error.pointer || "the whole request"), element("span", error.message));
      list.append(item);
    }
    shown.append(list);
  }
  part("status").textContent = "";
  shown.hidden = false;
  shown.focus();
  shown.scrollIntoView({ block: "nearest" });
}

function askForKey(title) {
  const given = part("key").value !== "";
  const next = "Enter it in the box and press Calculate again.";
  showProblem(title, given ? `The key that was sent is not known here. ${next}` : `This server asks for a key. ${next}`);
  part("locked").open = true;
  part("key").focus();
  part("key").select();
}

// the calculation whose request has most of the given names, when no other has as many
function recognised(data) {
  if (!data || typeof data !== "object") return "";
  const known = offered.calculations.map(({ name, fields }) => [fields.filter((field) => field in data).length, name]);
  known.sort(([one], [other]) => other - one);
  const alone = known.length && known[0][0] > (known[1] ? known[1][0] : 0);
  return alone ? known[0][1] : "";
}

function unpacked(text) {
  const data = JSON.parse(text);
  const chosen = part("calculation").value;
  if (data && typeof data === "object" && "calculation" in data && "request" in data) {
    return { name: chosen || data.calculation, request: data.request };
  }
  return { name: chosen || recognised(data), request: data };
}

async function ask(name, request) {
  const headers = { "Content-Type": "application/json", Accept: "text/html" };
  if (part("key").value) headers["X-API-Key"] = part("key").value;
  return fetch(`v1/${name}`, { method: "POST", headers, body: JSON.stringify(request) });
}

async function run() {
  const text = part("text").value;
  if (!text.trim()) return showProblem("Nothing to calculate", "Choose an example, take a file, or paste one.");
  let given;
  try {
    given = unpacked(text);
  } catch (error) {
    return showProblem("This is not JSON", String(error.message));
  }
  const [older] = part("older").files;
  if (older) {
    try {
      given.request = { ...given.request, baseline: JSON.parse(await older.text()) };
    } catch (error) {
      return showProblem("The older answer is not JSON", String(error.message));
    }
  }
  if (!offered.calculations.some(({ name }) => name === given.name)) {
    return showProblem("What is it?", "Choose above what to calculate: the text does not tell by itself.");
  }
  const answer = await ask(given.name, given.request);
  const body = await answer.text();
  const kind = answer.headers.get("Content-Type") || "";
  if (answer.ok && kind.startsWith("text/html")) return showReport(body, answer.headers.get("Content-Disposition"));
  if (!kind.includes("json")) return showProblem(`The server answered ${answer.status}`, body.slice(0, 500));
  const problem = JSON.parse(body);
  const title = problem.title || "No report";
  if (answer.status === KEY_MISSING) return askForKey(title);
  return showProblem(title, problem.detail || "The server answered without a page.", problem.errors);
}

function showReport(html, disposition) {
  const [, name] = /filename\*=UTF-8''([^;]+)/.exec(disposition || "") || [];
  page = html;
  fileName = name ? decodeURIComponent(name) : "report.html";
  part("save").textContent = `Save as ${fileName}`;
  part("result").hidden = false;
  part("report").srcdoc = html;
}

function fitHeight() {
  const inner = part("report").contentDocument;
  if (page && inner && inner.documentElement) {
    part("report").style.height = "0"; // else the page is as high as its frame
    part("report").style.height = `${inner.documentElement.scrollHeight + 4}px`;
  }
}

// codes, curves and sources of the report lead to their pages here; the page that is saved stands alone
function linkTerms(inner) {
  for (const term of inner.querySelectorAll("a[data-page]")) {
    term.href = new URL(term.dataset.page, location.href).href;
    term.target = "_blank";
    term.rel = "noopener";
  }
}

function tellResult() {
  const inner = part("report").contentDocument;
  const word = page && inner && inner.querySelector(".verdict .word");
  if (!word) return;
  linkTerms(inner);
  fitHeight();
  const spoken = word.cloneNode(true);
  for (const sign of spoken.querySelectorAll("[aria-hidden]")) sign.remove();
  part("verdict").textContent = `Result: ${spoken.textContent.trim()}`;
  part("status").textContent = `Result: ${spoken.textContent.trim()}. The report stands below.`;
  part("result").scrollIntoView({ block: "start" });
  part("verdict").focus({ preventScroll: true });
}

async function submitted(event) {
  event.preventDefault();
  part("problem").hidden = true;
  part("result").hidden = true;
  part("run").disabled = true;
  part("status").textContent = "Calculating …";
  try {
    await run();
  } catch (error) {
    showProblem("The server cannot be reached", String(error.message));
  } finally {
    part("run").disabled = false;
  }
}

// examples of the chosen calculation, or all of them by calculation
function listExamples() {
  const chosen = part("calculation").value;
  const groups = offered.calculations.filter(({ name }) => !chosen || name === chosen);
  const filled = groups.map(({ name, title }) => {
    const group = document.createElement("optgroup");
    group.label = title;
    const own = offered.examples.filter(({ calculation }) => calculation === name);
    group.append(...own.map((example) => choice(example.name, example.title)));
    return group;
  });
  part("example").replaceChildren(part("example").options[0], ...filled);
  part("example").selectedIndex = 0;
}

async function readOffer() {
  offered = await (await fetch("examples")).json();
  part("calculation").append(...offered.calculations.map(({ name, title }) => choice(name, title)));
  if (offered.examples.length) listExamples();
  else part("example").closest(".row").remove();
}

function fill(text) {
  part("text").value = text;
  loaded = text;
}

async function loadExample() {
  const name = part("example").value;
  const { value } = part("text");
  if (!name) return;
  if (value.trim() && value !== loaded && !window.confirm("Replace the text that you have entered or changed?")) {
    part("example").selectedIndex = 0;
    return;
  }
  const answer = await fetch(`examples/${name}`);
  const text = JSON.stringify(await answer.json(), null, 1);
  if (part("example").value === name) fill(text); // unless another was chosen meanwhile
}

async function readFile() {
  const [file] = part("file").files;
  if (file) fill(await file.text());
}

function save() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([page], { type: "text/html" }));
  link.download = fileName;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

part("form").addEventListener("submit", submitted);
part("calculation").addEventListener("change", listExamples);
part("example").addEventListener("change", loadExample);
part("file").addEventListener("change", readFile);
part("save").addEventListener("click", save);
part("print").addEventListener("click", () => part("report").contentWindow.print());
part("report").addEventListener("load", tellResult);
window.addEventListener("resize", fitHeight);
part("origin").textContent = new URL(".", location.href).href;
readOffer().catch((error) => showProblem("The server cannot be reached", `Load this page again. ${error.message}`));
