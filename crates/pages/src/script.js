// Filters long tables while typing. Every page works without it.
"use strict";
for (const table of document.querySelectorAll("table[data-filter]")) {
  const body = table.tBodies[0];
  if (!body || body.rows.length < 12) continue;
  const box = document.createElement("div");
  box.className = "field find";
  const label = document.createElement("label");
  const input = document.createElement("input");
  const found = document.createElement("span");
  input.type = "search";
  input.autocomplete = "off";
  input.id = "find-" + Math.random().toString(36).slice(2);
  label.htmlFor = input.id;
  label.textContent = "Find in this table";
  found.className = "hint";
  found.setAttribute("role", "status");
  box.append(label, input, found);
  table.before(box);
  input.addEventListener("input", () => {
    const wanted = input.value.trim().toLowerCase();
    let shown = 0;
    for (const row of body.rows) {
      row.hidden = !row.textContent.toLowerCase().includes(wanted);
      if (!row.hidden) shown += 1;
    }
    found.textContent = wanted ? shown + " of " + body.rows.length + " on this page" : "";
  });
}
