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
const LONGEST = 60000;
for (const form of document.querySelectorAll("form[data-live]")) {
  const said = document.createElement("p");
  said.className = "quiet";
  said.setAttribute("role", "status");
  form.prepend(said);
  const button = () => document.querySelector("button.main")?.textContent ?? "the button";
  // What stands there answers something else: say so, and mark it.
  const stale = (why) => {
    document.getElementById("sheet-answer")?.classList.add("stale");
    said.className = "unfresh";
    said.textContent = "Not up to date: " + why;
  };
  const tooLong = (address) => {
    if (address.length <= LONGEST) return false;
    stale("this is more than an address can hold. Shorten it, or ask on the command line.");
    return true;
  };
  const address = () => form.getAttribute("action") + "?" + new URLSearchParams(new FormData(form));
  // Whether a part stands open, by its words: another answer has other parts.
  const open = new Map();
  const parts = function* (from) {
    const seen = new Map();
    for (const one of from.querySelectorAll("details")) {
      const words = (one.querySelector("summary")?.textContent ?? "").replace(/[\d.,]+/g, "#");
      const nth = seen.get(words) ?? 0;
      seen.set(words, nth + 1);
      yield [words + " " + nth, one];
    }
  };
  const unmark = (field) => {
    field.removeAttribute("aria-invalid");
    const error = document.getElementById(field.id + "-error");
    if (!error) return;
    const described = (field.getAttribute("aria-describedby") ?? "").split(" ").filter((id) => id && id !== error.id);
    if (described.length) field.setAttribute("aria-describedby", described.join(" "));
    else field.removeAttribute("aria-describedby");
    error.remove();
  };
  const mark = (field, says) => {
    const error = document.createElement("span");
    error.className = "error";
    error.id = field.id + "-error";
    error.textContent = says;
    field.closest(".field").append(error);
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", ((field.getAttribute("aria-describedby") ?? "") + " " + error.id).trim());
    const group = field.closest("details");
    if (group) group.open = true;
  };
  // The form's errors are those of the answer that was just given.
  const markAll = (answer) => {
    for (const field of form.querySelectorAll("[aria-invalid]")) unmark(field);
    form.querySelector("p.error")?.remove();
    for (const link of answer.querySelectorAll(".problems a[href^='#f-']")) {
      const field = document.getElementById(link.getAttribute("href").slice(1));
      if (!field || !form.contains(field) || field.hasAttribute("aria-invalid")) continue;
      const says = link.parentElement.cloneNode(true);
      says.querySelector("a").remove();
      mark(field, says.textContent.replace(/^: /, ""));
    }
  };
  let timer = 0;
  let asked = new AbortController();
  const ask = async (signal) => {
    const now = address();
    if (tooLong(now)) return;
    const reply = await fetch(now.replace("?", "?part=answer&"), { signal });
    const type = reply.headers.get("content-type") ?? "";
    const usable = (reply.ok || reply.status === 422) && !reply.redirected && type.startsWith("text/html");
    const page = new DOMParser().parseFromString(usable ? await reply.text() : "", "text/html");
    const [fresh, old] = [page, document].map((from) => from.getElementById("sheet-answer"));
    if (signal.aborted) return;
    if (!fresh || !old) {
      stale("no answer came to what is typed. Press " + button() + ".");
      return;
    }
    for (const [words, one] of parts(old)) open.set(words, one.open);
    for (const [words, one] of parts(fresh)) one.open = open.get(words) ?? one.open;
    old.replaceChildren(...fresh.childNodes);
    old.classList.remove("stale");
    markAll(old);
    said.className = "quiet";
    said.textContent = old.querySelector(".answer")?.textContent ?? "";
    history.replaceState(null, "", now);
  };
  form.addEventListener("input", ({ target }) => {
    unmark(target);
    clearTimeout(timer);
    asked.abort();
    asked = new AbortController();
    const signal = asked.signal;
    timer = setTimeout(() => ask(signal).catch(() => {
      if (!signal.aborted) stale("the program didn't answer. Press " + button() + ".");
    }), 250);
  });
  form.addEventListener("submit", (event) => {
    if (tooLong(address())) event.preventDefault();
  });
}
