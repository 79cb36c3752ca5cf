// Looks now and then whether the recording has been written down.
"use strict";
const wait = document.getElementById("wait");
const typed = document.getElementById("text");
const look = wait && setInterval(async () => {
  try {
    const answer = await fetch(`/api/notes/${wait.dataset.note}`);
    if (!answer.ok) return;
    const now = await answer.json();
    if (now.state === "to-hear" && !now.trouble === !wait.dataset.trouble) return;
    clearInterval(look);
    // What somebody is typing stays.
    if (!typed?.value.trim()) location.reload();
    else wait.textContent = now.state === "read" ? "The words are written down now. “Look again” opens the order without yours." : "It could not be written down. Go on typing.";
  } catch { /* the connection may come back */ }
}, 2000);
