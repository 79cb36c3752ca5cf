"""What a browser without scripts does with a page: finds its forms and sends them; with little work for the machine."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Any


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: dict[str, dict[str, str]] = {}
        self._form: dict[str, str] | None = None
        self._select = self._area = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        a = {k: v or "" for k, v in attrs}
        if tag == "form":
            self._form = self.forms.setdefault(a.get("action", ""), {})
        if self._form is None:
            return
        name = a.get("name", "")
        if tag == "input" and name and a.get("type", "text") not in ("checkbox", "radio", "file", "submit"):
            self._form[name] = a.get("value", "")
        elif tag == "select":
            self._select = name
            self._form.setdefault(name, "")
        elif tag == "textarea":
            self._area = name
            self._form[name] = ""
        elif tag == "option" and self._select and "selected" in a:
            self._form[self._select] = a.get("value", "\0")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "select":
            self._select = ""
        elif tag == "textarea":
            self._area = ""

    def handle_data(self, data: str) -> None:
        if self._form is None:
            return
        if self._area:
            self._form[self._area] += data
        elif self._select and self._form.get(self._select) == "\0":
            self._form[self._select] = data


def forms_of(page: str) -> dict[str, dict[str, Any]]:
    """The fields of each form as the page shows them, by where it is sent to; of several to one place, the last."""
    parser = _Forms()
    parser.feed(page)
    return parser.forms


__all__ = ["forms_of"]
