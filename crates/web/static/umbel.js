// Comfort only: every page works without it.
"use strict";
const fold = (s) => s || "";

// Forms that come back to where they were sent from.
for (const field of document.querySelectorAll("[data-here]")) field.value = location.pathname + location.search;

// Keys: / to find, ? for the list of keys, j and k through lists, g with a letter to a place.
let pending = "";
const places = { t: "/", p: "/plants", o: "/places", c: "/crosses", k: "/keepers", s: "/show" };
document.addEventListener("keydown", (e) => {
  const typing = e.target.closest("input, textarea, select, [contenteditable]");
  if (e.key === "Escape" && typing) { typing.blur(); return; }
  if (typing || e.ctrlKey || e.metaKey || e.altKey) return;
  if (pending === "g" && places[e.key]) { location.href = places[e.key]; pending = ""; return; }
  pending = "";
  if (e.key === "/") { document.querySelector("[data-key='/']").focus(); e.preventDefault(); }
  else if (e.key === "?") location.href = "/keys";
  else if (e.key === "g") pending = "g";
  else if (e.key === "n" && document.querySelector("[data-new]")) document.querySelector("[data-new]").click();
  else if (e.key === "e" && document.querySelector("[data-entry]")) document.querySelector("[data-entry]").click();
  // On the page of the day: the plant or place that has the focus, or the first.
  else if (e.key === "w" || e.key === "m") {
    const row = document.activeElement.closest("[data-row]") || document.querySelector(".must [data-row]");
    const tick = row && row.querySelector(`[data-tick='${e.key}']`);
    if (tick) tick.click();
  }
  else if (e.key === "r" && document.querySelector("[data-round]")) {
    const stop = document.activeElement.closest("[data-stop]") || document.querySelector("[data-stop]");
    const button = stop && stop.querySelector("[data-round]");
    if (button) { button.focus(); e.preventDefault(); }
  }
  else if (e.key === "u" && document.querySelector("[data-undo]")) document.querySelector("[data-undo]").focus();
  else if (e.key === "j" || e.key === "k") {
    const rows = [...document.querySelectorAll("[data-row] a, a[data-mark]")].filter((a) => a.getClientRects().length);
    if (!rows.length) return;
    const at = rows.indexOf(document.activeElement);
    const next = e.key === "j" ? Math.min(at + 1, rows.length - 1) : Math.max(at - 1, 0);
    rows[next].focus();
  }
});

// Drafts: what is typed into a form survives a closed tab and a lost connection.
for (const form of document.querySelectorAll("form[data-draft]")) {
  const key = "draft:" + location.pathname + ":" + form.dataset.draft;
  const kept = JSON.parse(localStorage.getItem(key) || "{}");
  for (const [name, value] of Object.entries(kept)) {
    const field = form.elements[name];
    if (field && field.type !== "hidden" && field.type !== "file" && !field.value) field.value = fold(value);
  }
  form.addEventListener("input", () => {
    const now = {};
    for (const f of form.elements) if (f.name && f.type !== "hidden" && f.type !== "file" && f.type !== "checkbox" && f.type !== "radio") now[f.name] = f.value;
    localStorage.setItem(key, JSON.stringify(now));
  });
  form.addEventListener("submit", () => localStorage.removeItem(key));
}

// Choosing all rows of a page.
for (const all of document.querySelectorAll("[data-all]")) {
  all.addEventListener("change", () => {
    for (const box of document.querySelectorAll("[data-one]")) box.checked = all.checked;
  });
}

// At the shelf: “photo” opens the camera, and what it took is kept at once.
const camera = document.querySelector("form input[type=file][name=photo]");
document.querySelector("[data-photo]")?.addEventListener("click", (e) => {
  if (!camera || !matchMedia("(pointer: coarse)").matches) return;
  e.preventDefault();
  camera.setAttribute("capture", "environment");
  camera.addEventListener("change", () => { if (camera.files.length) camera.form.requestSubmit(); }, { once: true });
  camera.click();
});

// At the shelf: scrolling folds the sentence at the foot to its first words.
const says = document.querySelector(".foot-says");
if (says && matchMedia("(max-width: 760px)").matches) {
  let last = scrollY;
  // The keyboard scrolls too, on its way to the sentence: it must find it open.
  let typed = -2000;
  addEventListener("keydown", () => { typed = performance.now(); }, { capture: true });
  addEventListener("scroll", () => {
    if (performance.now() - typed < 1500) { last = scrollY; return; }
    if (Math.abs(scrollY - last) > 24) { says.open = false; last = scrollY; }
  }, { passive: true });
}
