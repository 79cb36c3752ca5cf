// Times as this computer's clock has them; without it they stand in UTC.
"use strict";
for (const time of document.querySelectorAll("time[datetime]")) {
  time.title = time.textContent;
  time.textContent = new Date(time.dateTime).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
