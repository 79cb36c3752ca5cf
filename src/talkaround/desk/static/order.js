// Comfort at the desk: keys, words that light up with their line, and sound that starts at them.
"use strict";
const lines = [...document.querySelectorAll(".line")];
const keysOn = document.getElementById("keys-on");
const remembered = "talkaround-keys-off";
keysOn.checked = !localStorage.getItem(remembered);
keysOn.addEventListener("change", () => keysOn.checked ? localStorage.removeItem(remembered) : localStorage.setItem(remembered, "1"));

const lineHere = () => document.activeElement?.closest(".line");
function light(line) {
  for (const w of document.querySelectorAll("a.said.here")) w.classList.remove("here");
  if (!line) return;
  const words = [...document.querySelectorAll("a.said")].filter((w) => w.dataset.keys.split(" ").includes(line.dataset.key));
  words.forEach((w) => w.classList.add("here"));
  const note = document.querySelector(".note");
  // Only the note's own column moves, never the page under the reader's eyes.
  if (words[0] && getComputedStyle(note).position === "sticky") note.scrollTop = words[0].offsetTop - note.clientHeight / 3;
}
function go(line) {
  if (!line) return;
  line.focus();
  line.scrollIntoView({ block: "nearest" });
}
for (const line of lines) line.addEventListener("focusin", () => light(line));
for (const line of lines) line.addEventListener("click", (e) => { if (!e.target.closest("a, button, input, select, textarea, summary, label")) line.focus(); });

function play(line) {
  const sound = document.getElementById("sound");
  const start = line?.querySelector(".q[data-start]")?.dataset.start;
  if (!sound || !start) return;
  sound.currentTime = Math.max(0, Number(start) - 0.3);
  sound.play();
}
for (const words of document.querySelectorAll("a.said")) words.addEventListener("click", (e) => {
  e.preventDefault();
  go(document.getElementById(`line-${words.dataset.keys.split(" ")[0]}`));
  play(lineHere());
});
for (const q of document.querySelectorAll(".q")) q.addEventListener("click", () => play(q.closest(".line")));

const press = (scope, what) => scope?.querySelector(`button[value="${what}"]`)?.click();
const step = (by) => {
  const at = lines.indexOf(lineHere());
  go(lines[at < 0 ? (by > 0 ? 0 : lines.length - 1) : Math.min(lines.length - 1, Math.max(0, at + by))]);
};
const question = () => document.activeElement?.closest(".ask") ?? lineHere()?.querySelector(".ask") ?? document.querySelector(".ask");
// The question that a digit answers is marked, so that nobody answers another one.
function markQuestion() {
  for (const ask of document.querySelectorAll(".ask.next")) ask.classList.remove("next");
  question()?.classList.add("next");
}
document.addEventListener("focusin", markQuestion);
const does = {
  j: () => step(1), k: () => step(-1), ArrowDown: null, ArrowUp: null,
  e: () => lineHere()?.querySelector(".edit-link")?.click(),
  s: () => press(lineHere(), "strike"), d: () => press(lineHere(), "split"), h: () => press(lineHere(), "join"),
  "[": () => press(lineHere(), "up"), "]": () => press(lineHere(), "down"),
  w: () => { const q = lineHere()?.querySelector(".q"); if (q) document.getElementById(q.hash.slice(1))?.focus(); },
  p: () => play(lineHere()),
  q: () => { const ask = document.querySelector(".ask"); (ask?.querySelector("button:not(.quiet)") ?? ask?.querySelector("input[name=typed]"))?.focus(); ask?.scrollIntoView({ block: "nearest" }); },
  a: () => document.getElementById("add-words")?.focus(),
  u: () => document.querySelector("#undo-last button")?.click(),
  g: () => document.getElementById("sign")?.click(),
};
document.addEventListener("keydown", (e) => {
  if (e.key === "Escape" && document.activeElement?.closest(".edit")) return document.querySelector("[data-cancel]").click();
  if (e.key === "Escape") return lineHere()?.focus() ?? document.activeElement?.blur();
  const typing = document.activeElement?.matches("input:not([type=checkbox]):not([type=radio]), textarea, select");
  if (!keysOn.checked || typing || e.ctrlKey || e.metaKey || e.altKey) return;
  if (/^[0-9]$/.test(e.key)) {
    const choices = [...question()?.querySelectorAll('button[name="answer"]') ?? []];
    const choice = e.key === "0" ? choices.at(-1) : choices.slice(0, -1)[Number(e.key) - 1];
    if (choice) { e.preventDefault(); choice.click(); }
    return;
  }
  const act = does[e.key];
  if (act) { e.preventDefault(); act(); }
});
// A form is sent once, however often its key is pressed.
for (const form of document.forms) form.addEventListener("submit", (e) => {
  if (form.dataset.sent) e.preventDefault();
  form.dataset.sent = "1";
});
addEventListener("pageshow", () => { for (const form of document.forms) delete form.dataset.sent; });

// What is typed into a form of this page outlives a closed tab; it goes once the desk has it.
const order = document.querySelector("main").dataset.order;
const shelf = (form) => `talkaround-typed-${order}-${new URL(form.action).pathname}`;
const typed = (form) => [...form.elements].filter((f) => f.name && f.type !== "hidden" && f.tagName !== "BUTTON" && f.type !== "radio");
for (const form of document.querySelectorAll(".edit, .add form")) {
  const kept = localStorage.getItem(shelf(form));
  const refused = document.querySelector(".trouble");
  if (kept && !refused) {
    const fields = JSON.parse(kept);
    let changed = false;
    for (const f of typed(form)) if (f.name in fields && f.value !== fields[f.name]) { f.value = fields[f.name]; changed = true; }
    if (changed) {
      const back = document.createElement("p");
      back.className = "told";
      back.role = "status";
      back.textContent = "What you typed here before, and did not save, is back.";
      form.prepend(back);
    }
  }
  form.addEventListener("input", () => localStorage.setItem(shelf(form), JSON.stringify(Object.fromEntries(typed(form).map((f) => [f.name, f.value])))));
}
// The page that a saved form leads to has no such form, or says where it went.
if (!document.querySelector(".trouble") && document.querySelector("main").dataset.saved) {
  for (const name of Object.keys(localStorage)) if (name.startsWith(`talkaround-typed-${order}-`) && name.endsWith(document.querySelector("main").dataset.saved)) localStorage.removeItem(name);
}
for (const leave of document.querySelectorAll("[data-cancel]")) leave.addEventListener("click", () => localStorage.removeItem(shelf(leave.closest("form"))));

const here = location.hash ? document.getElementById(location.hash.slice(1)) : null;
const first = document.querySelector("[autofocus]");
// A browser that goes to a place in the page leaves autofocus alone.
if (first) first.focus();
else if (here?.matches(".line")) go(here);
else document.getElementById("order").focus({ preventScroll: true });
light(lineHere());
markQuestion();
