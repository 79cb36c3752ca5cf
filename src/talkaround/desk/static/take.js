// Records in the page, and keeps typed notes and files the same way: first on this phone, then at the desk (keeping.js).
"use strict";
const record = document.getElementById("record");
const button = document.getElementById("record-button");
const stopButton = document.getElementById("record-stop");
const clock = document.getElementById("record-clock");
const level = document.getElementById("record-level");
const state = document.getElementById("record-state");
const waiting = document.getElementById("waiting");
const list = document.getElementById("waiting-list");
const waitingState = document.getElementById("waiting-state");
const form = document.getElementById("take");
const trouble = document.getElementById("take-trouble");
const keepState = document.getElementById("keep-state");
const keepButton = document.getElementById("keep-button");
const PIECE_MS = 1000, LOOK_MS = 100, QUIET_MS = 3000;
// Below -66 dB of full scale: the noise of a microphone that is on is above it, one that is off or covered is not.
const QUIET = 0.0005;
const FACTS = ["description", "vin", "plate", "odometer", "unit", "steering"];
const facts = () => { const given = new FormData(form); return Object.fromEntries(FACTS.map((n) => [n, String(given.get(n) ?? "")])); };
const say = (where, what) => { if (where.textContent !== what) where.textContent = what; };
const fresh = (parts) => ({ key: Kept.newKey(), account: Kept.me.account, by: Kept.me.by, at: Date.now(), ...parts });

// ----- what is kept here -----
const STATES = {
  "": "They are sent by themselves.",
  sending: "Sending.",
  away: "The desk cannot be reached. They are sent when it can.",
  "signed-out": "You are signed out. They are sent when you have signed in again.",
};
function act(words, does) {
  const b = document.createElement("button");
  b.type = "button";
  b.className = "quiet";
  b.textContent = words;
  b.addEventListener("click", does);
  return b;
}
function mended(note) {
  const box = document.createElement("div");
  box.className = "mend";
  const why = document.createElement("p");
  why.className = "trouble";
  why.textContent = note.refused;
  const again = act("Send with the vehicle as below", async () => {
    await Kept.put({ ...note, facts: facts(), refused: undefined });
    const came = (await Kept.sendAll()).get(note.key);
    if (came?.done) location.assign(`/notes/${came.done.note}`);
  });
  const save = act("Save as a file", async () => {
    const a = document.createElement("a");
    a.href = URL.createObjectURL(note.text === undefined ? await Kept.soundOf(note) : new Blob([note.text], { type: "text/plain" }));
    a.download = note.file ?? "note.txt";
    a.click();
    setTimeout(() => URL.revokeObjectURL(a.href), 60000);
  });
  const away = act("Throw it away", () => {
    if (!away.dataset.sure) {
      away.dataset.sure = "1";
      away.textContent = "Yes, throw it away for good";
      return;
    }
    Kept.forget(note.key).then(show);
  });
  box.append(why, again, save, away);
  return box;
}
let shown = "";
async function show() {
  const notes = (await Kept.all()).filter((n) => !n.recording);
  const looks = JSON.stringify(notes.map((n) => [n.key, n.refused]));
  waiting.hidden = notes.length === 0;
  const own = notes.filter((n) => Kept.isOf(n, Kept.me));
  document.getElementById("send-waiting").hidden = !own.some((n) => !n.refused);
  const signIn = document.getElementById("waiting-sign-in");
  signIn.hidden = Kept.state() !== "signed-out";
  say(waitingState, notes.some((n) => !n.refused) && (own.length || Kept.state() === "signed-out") ? STATES[Kept.state()] : "");
  // Drawn again only where it changed, so that no button goes away under a finger.
  if (looks === shown) return;
  shown = looks;
  list.replaceChildren(...notes.map((n) => {
    const item = document.createElement("li");
    const at = new Date(n.at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
    if (!Kept.isOf(n, Kept.me)) {
      item.textContent = `A note by ${n.by}, ${at}. It waits here for ${n.by}, and is sent when ${n.by} signs in on this phone.`;
      return item;
    }
    const kind = n.text !== undefined ? "typed" : n.seconds ? `${Math.round(n.seconds)} seconds` : n.file;
    item.textContent = `${n.facts.description || "A note"}, ${at}, ${kind}.`;
    if (n.refused) item.append(mended(n));
    return item;
  }));
}
document.addEventListener("kept", show);

// Gives what the desk said of this note: done, refused, or neither while it waits.
async function deliver(note, where) {
  say(where, "Kept on this phone. Sending.");
  const came = (await Kept.sendAll().catch(() => new Map())).get(note.key) ?? {};
  if (came.done) {
    location.assign(`/notes/${came.done.note}`);
    return came;
  }
  if (came.refused) return came;
  if (await Kept.get(note.key)) say(where, "Kept on this phone. It is sent when the desk can be reached.");
  else say(where, "Another tab has sent it. It is in the list of orders.");
  return came;
}

// ----- recording -----
let recorder = null;
const kinds = [["audio/webm;codecs=opus", ".webm"], ["audio/ogg;codecs=opus", ".ogg"], ["audio/mp4", ".m4a"]];
const spoken = (s) => `${Math.floor(s / 60)}:${String(Math.floor(s % 60)).padStart(2, "0")}`;

// Shows how loud it is, and says so when nothing comes in; gives a function that ends it.
function watch(stream) {
  const context = new AudioContext();
  const ear = new AnalyserNode(context, { fftSize: 2048 });
  context.createMediaStreamSource(stream).connect(ear);
  context.resume().catch(() => {});
  const wave = new Float32Array(ear.fftSize);
  let last = Date.now(), quiet = false, heard = false;
  const timer = setInterval(() => {
    if (context.state !== "running") return;
    ear.getFloatTimeDomainData(wave);
    const loud = Math.sqrt(wave.reduce((sum, x) => sum + x * x, 0) / wave.length);
    // Speech lies between -50 and -10 dB; the bar spans that.
    level.value = Math.max(0, Math.min(1, (20 * Math.log10(loud + 1e-9) + 60) / 50));
    if (loud > QUIET) {
      last = Date.now();
      heard = true;
      if (quiet) say(state, "Recording.");
      quiet = false;
    } else if (!quiet && Date.now() - last > QUIET_MS) {
      quiet = true;
      say(state, heard ? "Recording, but no sound comes in just now." : "Recording, but no sound comes in. Is the microphone covered, or off?");
      navigator.vibrate?.(heard ? 100 : [200, 100, 200]);
    }
  }, LOOK_MS);
  return () => {
    clearInterval(timer);
    level.value = 0;
    context.close().catch(() => {});
  };
}

async function start() {
  button.disabled = true;
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: { echoCancellation: false, noiseSuppression: true } });
  } catch (error) {
    say(state, error.name === "NotFoundError" ? "No microphone was found. Type the note, or give a file."
      : "The microphone cannot be used. Allow it in the browser’s settings, or type the note.");
    button.disabled = false;
    return;
  }
  const [type, suffix] = kinds.find(([t]) => MediaRecorder.isTypeSupported(t)) ?? ["", ".webm"];
  const rec = new MediaRecorder(stream, type ? { mimeType: type, audioBitsPerSecond: 48000 } : undefined);
  const note = fresh({ facts: facts(), type: rec.mimeType.split(";")[0], file: `Spoken note${suffix}`, seconds: 0, recording: true });
  const memory = [];
  let full = false, letGo;
  const released = new Promise((go) => { letGo = go; });
  // Held while it records, so that no other tab takes this note for one that was left behind.
  await new Promise((held) => { navigator.locks.request(Kept.lockOf(note.key), () => { held(); return released; }); });
  const cannotKeep = () => {
    full = true;
    say(state, "This phone cannot keep it: its storage is full or shut. Stop soon, and stay on this page until it is sent.");
  };
  await Kept.put(note).catch(cannotKeep);
  navigator.storage?.persist?.().catch(() => {});
  let n = 0, keeping = Promise.resolve();
  const began = Date.now();
  rec.ondataavailable = (e) => {
    if (!e.data.size) return;
    memory.push(e.data);
    const number = n++;
    // Every second is on the phone before the next one comes.
    keeping = keeping.then(() => Kept.putPiece(note.key, number, e.data)).catch(cannotKeep);
  };
  let awake = null;
  const stayAwake = () => { if (document.visibilityState === "visible") navigator.wakeLock?.request("screen").then((w) => { awake = w; }, () => {}); };
  document.addEventListener("visibilitychange", stayAwake);
  stayAwake();
  const endWatch = watch(stream);
  const ticking = setInterval(() => say(clock, spoken((Date.now() - began) / 1000)), 250);
  rec.onstop = async () => {
    clearInterval(ticking);
    endWatch();
    document.removeEventListener("visibilitychange", stayAwake);
    awake?.release().catch(() => {});
    for (const track of stream.getTracks()) track.stop();
    await keeping;
    const whole = { ...note, facts: facts(), seconds: (Date.now() - began) / 1000, recording: false };
    button.disabled = stopButton.disabled = false;
    button.hidden = false;
    stopButton.hidden = true;
    record.classList.remove("on");
    button.focus();
    try {
      if (full) throw new Error("full");
      await Kept.put(whole);
    } catch {
      fromMemory(whole, memory, letGo);
      return;
    }
    letGo();
    recorder = null;
    say(clock, "");
    const came = await deliver(whole, state);
    if (!came.refused) {
      next();
      return;
    }
    say(state, "Kept on this phone, but not taken yet.");
    await show();
    waiting.scrollIntoView({ block: "start" });
  };
  // A call that takes the microphone, or a headset that is unplugged, ends the recording; what there is, is kept.
  const finish = () => { if (rec.state !== "inactive") { stopButton.disabled = true; rec.stop(); } };
  rec.onerror = finish;
  for (const track of stream.getTracks()) track.onended = finish;
  stopButton.onclick = finish;
  recorder = rec;
  rec.start(PIECE_MS);
  button.hidden = true;
  stopButton.hidden = false;
  record.classList.add("on");
  stopButton.focus();
  if (!full) say(state, "Recording.");
}
// Where the phone keeps nothing: into the form as a file, so that it can be sent, and sent again, from this page. Until
// then what pieces there are stay, should the page be closed.
let unkept = null;
function fromMemory(note, memory, letGo) {
  const given = new DataTransfer();
  given.items.add(new File(memory, note.file, { type: note.type }));
  form.elements.file.files = given.files;
  unkept = { key: note.key, letGo };
  say(state, "The recording is in this page only. Press “Keep the note” to send it.");
  keepButton.focus();
}
button.addEventListener("click", start);
addEventListener("beforeunload", (e) => { if (recorder?.state === "recording") e.preventDefault(); });

// ----- typed, or a file -----
const draftKey = `talkaround-draft-${Kept.me.account}-${Kept.me.by}`;
const draft = {
  write() { try { localStorage.setItem(draftKey, JSON.stringify({ text: form.elements.text.value, ...facts() })); } catch { /* full or shut */ } },
  clear() { try { localStorage.removeItem(draftKey); } catch { /* shut */ } },
  read() { try { return JSON.parse(localStorage.getItem(draftKey) ?? "null"); } catch { return null; } },
};
function fill(values) {
  for (const [name, value] of Object.entries(values)) if (form.elements[name]) form.elements[name].value = value;
}
// The vehicle went with its note; the next one is another.
function next() {
  fill({ description: "", vin: "", plate: "", odometer: "" });
  if (form.elements.text.value.trim()) draft.write();
  else draft.clear();
}
function tellTrouble(what) {
  say(trouble, what);
  trouble.hidden = !what;
  if (what) trouble.scrollIntoView({ block: "center" });
}
form.addEventListener("input", draft.write);
form.addEventListener("submit", async (e) => {
  const file = form.elements.file.files[0];
  const text = form.elements.text.value;
  tellTrouble("");
  if (file && text.trim()) {
    e.preventDefault();
    tellTrouble("There is a typed note and a file: a note is one of them. Empty one, keep the note, and then give the other.");
    return;
  }
  // With neither, the desk says what is missing.
  if (!file && !text.trim()) return;
  e.preventDefault();
  if (keepButton.disabled) return;
  keepButton.disabled = true;
  if (unkept) {
    await Kept.forget(unkept.key).catch(() => {});
    unkept.letGo();
    unkept = null;
  }
  const note = { ...fresh({ facts: facts() }), key: form.elements.key.value, ...(file ? { file: file.name, type: file.type } : { text }) };
  try {
    if (file) await Kept.putPiece(note.key, 0, file);
    await Kept.put(note);
  } catch {
    draft.clear();
    form.submit();
    return;
  }
  const came = await deliver(note, keepState);
  keepButton.disabled = false;
  if (came.refused) {
    // It is still in the form, where it can be mended.
    await Kept.forget(note.key);
    say(keepState, "");
    tellTrouble(came.refused);
    await show();
    return;
  }
  form.elements.key.value = Kept.newKey();
  form.elements.text.value = form.elements.file.value = "";
  next();
});

document.getElementById("send-waiting").addEventListener("click", () => Kept.sendAll());
const left = draft.read();
if (left && trouble.hidden && !form.elements.text.value) fill(left);
const can = window.MediaRecorder && navigator.mediaDevices && navigator.locks;
if (can) record.hidden = false;
else document.getElementById("no-record").hidden = false;
show();
