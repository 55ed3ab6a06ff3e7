// Lays out openapi.json with the package that brings the scripts; both come from this server.
"use strict";

const content = document.getElementById("content");

// what the package leaves out for those who do not see the page: levels of headings, names of fields, tables that
// are tables, a way to scroll
function complete() {
  for (const heading of content.querySelectorAll("h3.opblock-tag")) heading.ariaLevel = "2";
  for (const heading of content.querySelectorAll("h4")) heading.ariaLevel = "3";
  for (const field of content.querySelectorAll("select, textarea, input")) {
    if (field.labels.length || field.ariaLabel) continue;
    const row = field.closest("tr")?.querySelector(".parameter__name");
    field.ariaLabel = row ? row.textContent : "request";
  }
  for (const table of content.querySelectorAll("table[role=region]")) table.removeAttribute("role");
  for (const text of content.querySelectorAll("pre:not([tabindex])")) text.tabIndex = 0;
}

new MutationObserver(complete).observe(content, { childList: true, subtree: true });
window.SwaggerUIBundle({
  url: "openapi.json",
  dom_id: "#content",
  defaultModelsExpandDepth: -1,
  docExpansion: "none",
  validatorUrl: null,
});
