// Keeps notes on this phone until the desk has confirmed them, and sends them from whichever page is open: through a lost
// connection, a closed tab, a restart of either side, and a change of who is signed in. Each note has a key of its own,
// so that sending it again never makes two, and the account that took it, so that it goes under no other name.
"use strict";
const Kept = (() => {
  const sitting = document.querySelector("header[data-account]");
  const me = { account: sitting.dataset.account, by: sitting.dataset.name };
  const isOf = (note, who) => note.account === who.account && note.by === who.by;
  const SEND_MS = 600000, ASK_MS = 15000;

  // ----- the phone's own store -----
  let opened = null;
  const store = () => opened ??= new Promise((good, bad) => {
    const asked = indexedDB.open("talkaround-desk", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("notes", { keyPath: "key" });
      asked.result.createObjectStore("pieces", { keyPath: ["key", "n"] });
    };
    asked.onsuccess = () => {
      // The browser may close it under us, and another tab may want a newer one.
      asked.result.onclose = () => { opened = null; };
      asked.result.onversionchange = () => { asked.result.close(); opened = null; };
      good(asked.result);
    };
    asked.onerror = () => { opened = null; bad(asked.error); };
  });
  async function within(stores, mode, work) {
    const base = await store();
    return new Promise((good, bad) => {
      // "strict": it is on the disk, not only on its way there, when the transaction completes.
      const t = base.transaction(stores, mode, { durability: "strict" });
      const result = work(t);
      t.oncomplete = () => good(result?.result);
      t.onerror = t.onabort = () => bad(t.error);
    });
  }
  const range = (key) => IDBKeyRange.bound([key, 0], [key, Infinity]);
  const put = (note) => within(["notes"], "readwrite", (t) => t.objectStore("notes").put(note));
  const get = (key) => within(["notes"], "readonly", (t) => t.objectStore("notes").get(key));
  const all = () => within(["notes"], "readonly", (t) => t.objectStore("notes").getAll());
  const putPiece = (key, n, data) => within(["pieces"], "readwrite", (t) => t.objectStore("pieces").put({ key, n, data }));
  const pieces = (key) => within(["pieces"], "readonly", (t) => t.objectStore("pieces").getAll(range(key)));
  const forget = (key) => within(["notes", "pieces"], "readwrite", (t) => {
    t.objectStore("notes").delete(key);
    t.objectStore("pieces").delete(range(key));
  });
  const soundOf = async (note) => new Blob((await pieces(note.key)).map((p) => p.data), { type: note.type });
  const lockOf = (key) => `talkaround-note-${key}`;

  // What a closed tab left half recorded is whole as far as it goes. A tab that still records holds the lock of its note.
  async function takeUp() {
    if (!navigator.locks) return;
    for (const { key } of (await all()).filter((n) => n.recording)) {
      await navigator.locks.request(lockOf(key), { ifAvailable: true }, async (lock) => {
        const note = lock && await get(key);
        if (!note?.recording) return;
        const kept = await pieces(key);
        if (kept.length) await put({ ...note, recording: false, seconds: kept.length });
        else await forget(key);
      });
    }
  }

  // ----- sending -----
  // Who sits here now, and the key of this desk's forms: both change when somebody signs in on another tab.
  async function seat() {
    const answer = await fetch("/take?who", { cache: "no-store", signal: AbortSignal.timeout(ASK_MS) });
    if (answer.redirected || answer.status === 401 || answer.status === 403) return null;
    if (!answer.ok) throw new Error("the desk is away");
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const { account, name } = page.querySelector("header[data-account]").dataset;
    return { account, by: name, formKey: page.querySelector("#take [name=form_key]").value };
  }
  async function send(note, formKey) {
    const body = new FormData();
    body.set("key", note.key);
    for (const [name, value] of Object.entries(note.facts)) body.set(name, value);
    if (note.text !== undefined) body.set("text", note.text);
    else body.set("file", await soundOf(note), note.file);
    const answer = await fetch("/api/notes", { method: "POST", headers: { "x-form-key": formKey }, body, signal: AbortSignal.timeout(SEND_MS) });
    const said = await answer.json().catch(() => ({}));
    if (answer.status === 200 || answer.status === 201) {
      await forget(note.key);
      return { done: said };
    }
    if ([400, 413, 422].includes(answer.status)) {
      const refused = `${said.mend ?? said.what ?? "The desk does not take it."}`;
      await put({ ...note, refused });
      return { refused };
    }
    // 401 and 403: somebody signed in or out just now; the next round asks who.
    return {};
  }
  let state = "";
  const tell = () => document.dispatchEvent(new Event("kept"));
  async function sendEach() {
    const came = new Map();
    await takeUp();
    const waiting = (await all()).filter((n) => !n.recording && !n.refused);
    state = "";
    if (waiting.length) {
      try {
        const who = await seat();
        if (!who) state = "signed-out";
        for (const note of waiting) if (who && isOf(note, who)) {
          state = "sending";
          tell();
          came.set(note.key, await send(note, who.formKey));
          state = "";
        }
      } catch {
        state = "away";
      }
    }
    tell();
    return came;
  }
  // One tab sends at a time; another then finds nothing left. Gives what came of each note by its key.
  const sendAll = () => (navigator.locks ? navigator.locks.request("talkaround-send", sendEach) : sendEach());

  const link = document.querySelector('nav a[href="/take"]');
  const named = link?.textContent;
  document.addEventListener("kept", async () => {
    const many = (await all()).filter((n) => !n.recording && isOf(n, me)).length;
    if (link) link.textContent = many ? `${named} (${many} kept here)` : named;
  });

  // The page for taking a note has to be there when the connection is not, under the name of whoever sits here.
  async function readyToBeAlone() {
    if (!("serviceWorker" in navigator)) return;
    await navigator.serviceWorker.register("/offline.js");
    const { active } = await navigator.serviceWorker.ready;
    if (!await caches.match("/take")) active.postMessage({ lay: true });
  }

  const newKey = () => [...crypto.getRandomValues(new Uint8Array(18))].map((b) => b.toString(16).padStart(2, "0")).join("");
  const trySending = () => sendAll().catch(() => {});
  addEventListener("online", trySending);
  setInterval(trySending, 15000);
  addEventListener("load", () => {
    trySending();
    readyToBeAlone().catch(() => {});
  });
  return { me, isOf, put, get, all, putPiece, forget, soundOf, lockOf, sendAll, newKey, state: () => state };
})();
