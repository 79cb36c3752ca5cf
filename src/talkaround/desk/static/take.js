// Records in the page and keeps what was recorded on this phone until the desk has confirmed it: through a lost
// connection, a closed tab and a restart. Each note has a key of its own, so that sending it again never makes two.
"use strict";
const record = document.getElementById("record");
const button = document.getElementById("record-button");
const stopButton = document.getElementById("record-stop");
const state = document.getElementById("record-state");
const waiting = document.getElementById("waiting");
const list = document.getElementById("waiting-list");
const form = document.getElementById("take");
const formKey = record.dataset.formKey;
const PIECE_MS = 1000;

// ----- kept on the phone -----
const opened = new Promise((good, bad) => {
  const asked = indexedDB.open("talkaround-desk", 1);
  asked.onupgradeneeded = () => {
    asked.result.createObjectStore("notes", { keyPath: "key" });
    asked.result.createObjectStore("pieces", { keyPath: ["key", "n"] });
  };
  asked.onsuccess = () => good(asked.result);
  asked.onerror = () => bad(asked.error);
});
async function within(stores, mode, work) {
  const base = await opened;
  return new Promise((good, bad) => {
    const t = base.transaction(stores, mode, { durability: "strict" });
    const result = work(t);
    t.oncomplete = () => good(result?.result ?? undefined);
    t.onerror = t.onabort = () => bad(t.error);
  });
}
const put = (store, value) => within([store], "readwrite", (t) => t.objectStore(store).put(value));
const all = () => within(["notes"], "readonly", (t) => t.objectStore("notes").getAll());
const range = (key) => IDBKeyRange.bound([key, 0], [key, Infinity]);
const pieces = (key) => within(["pieces"], "readonly", (t) => t.objectStore("pieces").getAll(range(key)));
const forget = (key) => within(["notes", "pieces"], "readwrite", (t) => {
  t.objectStore("notes").delete(key);
  t.objectStore("pieces").delete(range(key));
});
const newKey = () => [...crypto.getRandomValues(new Uint8Array(18))].map((b) => b.toString(16).padStart(2, "0")).join("");
const facts = () => Object.fromEntries(["description", "vin", "plate", "odometer", "unit", "steering"].map((n) => [n, String(new FormData(form).get(n) ?? "")]));

// ----- sending -----
const sending = new Set();
async function send(note) {
  if (sending.has(note.key)) return null;
  sending.add(note.key);
  try {
    const body = new FormData();
    body.set("key", note.key);
    for (const [name, value] of Object.entries(note.facts)) body.set(name, value);
    if (note.text !== undefined) body.set("text", note.text);
    else {
      const kept = await pieces(note.key);
      body.set("file", new Blob(kept.map((p) => p.data), { type: note.type }), `note${note.suffix}`);
    }
    const answer = await fetch("/api/notes", { method: "POST", headers: { "x-form-key": formKey }, body });
    const said = await answer.json().catch(() => ({}));
    if (answer.status === 200 || answer.status === 201) {
      await forget(note.key);
      return { done: said };
    }
    if (answer.status === 401 || answer.status === 403) return { trouble: "Sign in again, then send it." };
    if (answer.status === 400 || answer.status === 413) return { trouble: `${said.what ?? ""} ${said.mend ?? ""}`.trim() };
    return { trouble: "The desk could not take it now. It is sent again." };
  } catch {
    return { trouble: "No connection. It is sent again when there is one." };
  } finally {
    sending.delete(note.key);
  }
}
let told = "";
async function sendAll() {
  let went = null;
  for (const note of await all()) {
    if (note.recording) continue;
    const came = await send(note);
    if (came?.done) went = came.done;
    if (came?.trouble) told = came.trouble;
  }
  await show();
  return went;
}
async function show() {
  const notes = (await all()).filter((n) => !n.recording);
  waiting.hidden = notes.length === 0;
  list.replaceChildren(...notes.map((n) => {
    const item = document.createElement("li");
    item.textContent = `${n.facts.description || "A note"}, ${new Date(n.at).toLocaleString()}, ${n.text !== undefined ? "typed" : `${Math.round(n.seconds)} seconds`}. ${told}`;
    return item;
  }));
}

// ----- recording -----
let recorder = null, current = null;
const kinds = [["audio/webm;codecs=opus", ".webm"], ["audio/ogg;codecs=opus", ".ogg"], ["audio/mp4", ".m4a"]];
async function start() {
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: { echoCancellation: false, noiseSuppression: true } });
  } catch {
    state.textContent = "The microphone cannot be used. Allow it in the browser, or type the note below.";
    return;
  }
  const [type, suffix] = kinds.find(([t]) => MediaRecorder.isTypeSupported(t)) ?? ["", ".webm"];
  recorder = new MediaRecorder(stream, type ? { mimeType: type, audioBitsPerSecond: 48000 } : undefined);
  current = { key: newKey(), at: Date.now(), facts: facts(), type: recorder.mimeType, suffix, seconds: 0, recording: true };
  await put("notes", current);
  let n = 0, keeping = Promise.resolve();
  recorder.ondataavailable = (e) => {
    if (!e.data.size) return;
    const piece = { key: current.key, n: n++, data: e.data };
    current.seconds = (Date.now() - current.at) / 1000;
    // Every second is on the phone before the next one comes.
    keeping = keeping.then(() => put("pieces", piece)).catch(() => { state.textContent = "The phone is full: stop and send what there is."; });
    state.textContent = `Recording, ${Math.round(current.seconds)} seconds.`;
  };
  recorder.onstop = async () => {
    for (const track of stream.getTracks()) track.stop();
    await keeping;
    await finish({ ...current, facts: facts(), recording: false });
  };
  recorder.start(PIECE_MS);
  button.hidden = true;
  stopButton.hidden = false;
  stopButton.focus();
  state.textContent = "Recording.";
}
async function finish(note) {
  await put("notes", note);
  recorder = current = null;
  button.hidden = false;
  stopButton.hidden = true;
  state.textContent = "Kept on this phone. Sending.";
  const came = await sendAll();
  if (came) location.assign(`/notes/${came.note}`);
  else state.textContent = "Kept on this phone; it is sent when the desk can be reached.";
}
button.addEventListener("click", start);
stopButton.addEventListener("click", () => recorder?.stop());
addEventListener("beforeunload", (e) => { if (recorder?.state === "recording") e.preventDefault(); });

// A typed note goes the same way, so that it outlives a lost connection too.
form.addEventListener("submit", async (e) => {
  const file = form.elements.file.files[0];
  const text = form.elements.text.value;
  if (file || !text.trim()) return;
  e.preventDefault();
  await finish({ key: form.elements.key.value, at: Date.now(), facts: facts(), text, recording: false }).catch(() => form.submit());
  form.elements.key.value = newKey();
  if (!waiting.hidden) form.elements.text.value = "";
});

document.getElementById("send-waiting").addEventListener("click", async () => {
  const came = await sendAll();
  if (came) location.assign(`/notes/${came.note}`);
});
addEventListener("online", sendAll);
setInterval(() => { if (navigator.onLine) sendAll(); }, 15000);
// What a closed tab left half recorded is whole as far as it goes.
(async () => {
  for (const note of await all()) if (note.recording && !(current && current.key === note.key)) {
    const kept = await pieces(note.key);
    if (kept.length) await put("notes", { ...note, recording: false, seconds: kept.length });
    else await forget(note.key);
  }
  await show();
  await sendAll();
})();
if (window.MediaRecorder && navigator.mediaDevices) record.hidden = false;
if ("serviceWorker" in navigator) navigator.serviceWorker.register("/offline.js").catch(() => {});
