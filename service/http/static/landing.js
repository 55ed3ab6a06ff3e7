// The form of the landing page: sends what was chosen or pasted, shows the report or what was refused.
"use strict";

const part = (id) => document.getElementById(id);
const NEEDED = { check: ["lines", "loading"], "cracks/growth": ["crack", "law"], "spectrum/damage": ["curve"] };
let page = "";

function element(name, text) {
  const made = document.createElement(name);
  made.textContent = text; // never markup: the text comes from the file of the user
  return made;
}

function showProblem(title, detail, errors) {
  const shown = part("problem");
  shown.replaceChildren(element("h3", title), element("p", detail));
  if (errors && errors.length) {
    const list = document.createElement("ul");
    for (const error of errors) {
      const item = document.createElement("li");
      item.append(element("code", error.pointer || "/"), ` ${error.message}`);
      list.append(item);
    }
    shown.append(list);
  }
  shown.hidden = false;
  shown.scrollIntoView({ block: "nearest" });
}

function unpacked(text) {
  const data = JSON.parse(text);
  const chosen = part("calculation").value;
  if (data && typeof data === "object" && "calculation" in data && "request" in data) {
    return { name: chosen || data.calculation, request: data.request };
  }
  const fits = ([, keys]) => keys.every((key) => data && typeof data === "object" && key in data);
  const found = Object.entries(NEEDED).find(fits);
  return { name: chosen || (found ? found[0] : ""), request: data };
}

async function ask(name, request) {
  const headers = { "Content-Type": "application/json", Accept: "text/html" };
  if (part("key").value) headers["X-API-Key"] = part("key").value;
  return fetch(`v1/${name}`, { method: "POST", headers, body: JSON.stringify(request) });
}

async function run() {
  const text = part("text").value;
  if (!text.trim()) return showProblem("Nothing to calculate", "Load an example, take a file, or paste one.");
  let given;
  try {
    given = unpacked(text);
  } catch (error) {
    return showProblem("This is not JSON", String(error.message));
  }
  if (!(given.name in NEEDED)) {
    return showProblem("What is it?", "Choose below the text what the file holds: it does not tell by itself.");
  }
  const answer = await ask(given.name, given.request);
  const body = await answer.text();
  const kind = answer.headers.get("Content-Type") || "";
  if (answer.ok && kind.startsWith("text/html")) return showReport(body);
  if (!kind.includes("json")) return showProblem(`The server answered ${answer.status}`, body.slice(0, 500));
  const problem = JSON.parse(body);
  return showProblem(problem.title || "No report", problem.detail || "The server answered without a page.", problem.errors);
}

function showReport(html) {
  page = html;
  part("report").srcdoc = html;
  part("result").hidden = false;
}

function fitHeight() {
  const inner = part("report").contentDocument;
  if (inner && inner.documentElement && page) {
    part("report").style.height = `${inner.documentElement.scrollHeight + 4}px`;
    part("result").scrollIntoView({ block: "start" });
  }
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
    part("status").textContent = "";
  }
}

async function listExamples() {
  const answer = await fetch("examples");
  const { examples } = await answer.json();
  if (!examples.length) throw new Error("none are installed");
  for (const { name, title } of examples) {
    const option = element("option", title);
    option.value = name;
    part("example").append(option);
  }
}

async function loadExample() {
  const name = part("example").value;
  if (!name) return;
  const answer = await fetch(`examples/${name}`);
  part("text").value = JSON.stringify(await answer.json(), null, 1);
  part("calculation").value = "";
}

async function readFile() {
  const [file] = part("file").files;
  if (file) part("text").value = await file.text();
}

function save() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([page], { type: "text/html" }));
  link.download = "report.html";
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

part("form").addEventListener("submit", submitted);
part("load").addEventListener("click", loadExample);
part("file").addEventListener("change", readFile);
part("save").addEventListener("click", save);
part("print").addEventListener("click", () => part("report").contentWindow.print());
part("report").addEventListener("load", fitHeight);
part("origin").textContent = new URL(".", location.href).href;
listExamples().catch(() => part("example").closest(".row").remove());
