// Looks now and then whether the recording has been written down.
"use strict";
const wait = document.getElementById("wait");
if (wait) setInterval(async () => {
  try {
    const answer = await fetch(`/api/notes/${wait.dataset.note}`);
    if (answer.ok && (await answer.json()).state !== "to-hear") location.reload();
  } catch { /* the connection may come back */ }
}, 2000);
