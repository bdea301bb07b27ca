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

// An answer that follows what is typed. Without it the form's button asks.
for (const form of document.querySelectorAll("form[data-live]")) {
  const said = document.createElement("p");
  said.className = "quiet";
  said.setAttribute("role", "status");
  form.before(said);
  let timer = 0;
  let asked = new AbortController();
  const ask = async () => {
    asked.abort();
    asked = new AbortController();
    const query = new URLSearchParams(new FormData(form));
    const address = form.getAttribute("action") + "?";
    const reply = await fetch(address + "part=answer&" + query, { signal: asked.signal });
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    const [fresh, old] = [page, document].map((from) => from.getElementById("sheet-answer"));
    if (!fresh || !old) return;
    const open = [...old.querySelectorAll("details")].map((one) => one.open);
    fresh.querySelectorAll("details").forEach((one, at) => { one.open = open[at] ?? one.open; });
    old.replaceChildren(...fresh.childNodes);
    said.textContent = old.querySelector(".answer")?.textContent ?? "";
    history.replaceState(null, "", address + query);
  };
  form.addEventListener("input", ({ target }) => {
    target.removeAttribute("aria-invalid");
    document.getElementById(target.id + "-error")?.remove();
    clearTimeout(timer);
    timer = setTimeout(() => ask().catch(() => {}), 250);
  });
}
