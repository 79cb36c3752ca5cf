// The type-ahead for components: takes any name, offers what it may mean. Without it the server asks back.
"use strict";
for (const input of document.querySelectorAll(".find-part")) {
  const list = document.createElement("ul");
  list.id = `${input.id}-list`;
  list.role = "listbox";
  list.hidden = true;
  list.setAttribute("aria-label", "Components");
  input.after(list);
  input.role = "combobox";
  input.setAttribute("aria-autocomplete", "list");
  input.setAttribute("aria-expanded", "false");
  input.setAttribute("aria-controls", list.id);
  let at = -1, asked = 0;
  const close = () => {
    // An answer that is still on its way must not open it again.
    asked++;
    list.hidden = true;
    at = -1;
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
  };
  const mark = (n) => {
    at = n;
    [...list.children].forEach((o, i) => o.setAttribute("aria-selected", String(i === at)));
    if (at >= 0) {
      input.setAttribute("aria-activedescendant", list.children[at].id);
      list.children[at].scrollIntoView({ block: "nearest" });
    }
  };
  const choose = (n) => {
    input.value = list.children[n].dataset.name;
    close();
  };
  input.addEventListener("input", async () => {
    const mine = ++asked;
    // Nothing is chosen from a list that is of what stood there before.
    mark(-1);
    input.removeAttribute("aria-activedescendant");
    if (input.value.trim().length < 2) return close();
    let found;
    try {
      const answer = await fetch(`/api/parts?q=${encodeURIComponent(input.value.slice(0, 80))}`);
      if (!answer.ok) return close();
      found = await answer.json();
    } catch { return close(); }
    if (mine !== asked || document.activeElement !== input) return;
    list.replaceChildren(...found.map((part, i) => {
      const option = document.createElement("li");
      option.role = "option";
      option.id = `${list.id}-${i}`;
      option.dataset.name = part.name;
      option.textContent = part.called.toLowerCase() === part.name.toLowerCase() ? part.name : `${part.name} (${part.called})`;
      option.addEventListener("mousedown", (e) => { e.preventDefault(); choose(i); });
      return option;
    }));
    list.hidden = !found.length;
    input.setAttribute("aria-expanded", String(found.length > 0));
    mark(found.length ? 0 : -1);
  });
  input.addEventListener("keydown", (e) => {
    if (list.hidden) return;
    const last = list.children.length - 1;
    if (e.key === "ArrowDown") mark(at < last ? at + 1 : 0);
    else if (e.key === "ArrowUp") mark(at > 0 ? at - 1 : last);
    else if (e.key === "Enter" || e.key === "Tab") {
      if (at < 0) return;
      choose(at);
      if (e.key === "Tab") return;
    } else if (e.key === "Escape") { close(); e.stopPropagation(); }
    else return;
    e.preventDefault();
  });
  input.addEventListener("blur", close);
}
