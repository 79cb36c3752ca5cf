"""Every regular expression of the program, and which of them may take long: more than one way through the same text.

A backtracking matcher tries all the ways before it gives up. Two ways around one place, over the same characters, are
exponential in their length (``(a+)+b``); two places that each go round, one behind the other, are a power of it
(``\\s*\\s*b``, and ``\\s+b`` where it is looked for anywhere, since each space may be the first). Theory: Weber and
Seidl, "On the degree of ambiguity of finite automata", 1991; the automaton is Glushkov's, with edges counted.
"""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import talkaround

_parser: Any = importlib.import_module("re._parser")
_code: Any = importlib.import_module("re._constants")
ROOT = Path(talkaround.__file__).resolve().parent
_ANCHORED = ("match", "fullmatch")
_LONG = 40
"""Repeats of at least so many count as endless."""


class Found(NamedTuple):
    """A pattern, its flags, where it stands, and whether it is looked for anywhere in a text."""

    pattern: str | bytes
    flags: int
    where: str
    anywhere: bool
    whole: bool


# ----- which there are ------------------------------------------------------------------------------------------------


def all_patterns() -> list[Found]:
    """What modules hold compiled, what they write where it is used, and what the desk's scripts and pages hold."""
    trees = {p: ast.parse(p.read_text("utf-8")) for p in sorted(ROOT.rglob("*.py"))}
    used = _uses(trees)
    found: dict[tuple[str | bytes, int], Found] = {}

    def add(pattern: str | bytes, flags: int, where: str, how: set[str]) -> None:
        anywhere, whole = not how or bool(how - set(_ANCHORED)), how == {"fullmatch"}
        before = found.get((pattern, flags))
        if before is None or anywhere and not before.anywhere:
            found[pattern, flags] = Found(pattern, flags, where, anywhere, whole)

    for module in pkgutil.walk_packages([str(ROOT)], "talkaround."):
        if "migrations" in module.name:
            continue
        here = importlib.import_module(module.name)
        for name, value in vars(here).items():
            for one in _held(value):
                add(one.pattern, one.flags & ~re.UNICODE, f"{module.name}.{name}", used.get(name, set()))
    for path, tree in trees.items():
        where = str(path.relative_to(ROOT))
        names = vars(importlib.import_module(_module_of(path))) if "migrations" not in where else {}
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and _is_of_re(node.func) and node.args and node.func.attr != "escape":  # type: ignore[attr-defined]
                pattern = _written(node.args[0], names)
                how = node.func.attr  # type: ignore[attr-defined]
                if pattern is not None and how != "compile":
                    add(pattern, _flags(node), f"{where}:{node.lineno}", {how})
                elif pattern is not None and not any(k[0] == pattern for k in found):
                    add(pattern, _flags(node), f"{where}:{node.lineno}", set())
    for script in sorted((ROOT / "desk").rglob("*.js")):
        for m in re.finditer(
            r"(?<![\w)\]/*])/(?![/*])((?:[^/\\\n]|\\.)+)/[gimsuy]*(?=[.,;)\s])", script.read_text("utf-8")
        ):
            add(m[1], 0, script.name, {"search"})
    for page in sorted((ROOT / "desk").rglob("*.html")):
        for m in re.finditer(r'\bpattern="([^"]+)"', page.read_text("utf-8")):
            add(m[1], 0, page.name, {"fullmatch"})
    return sorted(found.values(), key=lambda f: f.where)


def _held(value: Any, depth: int = 2) -> Iterator[re.Pattern[Any]]:
    if isinstance(value, re.Pattern):
        yield value
    elif depth and isinstance(value, dict):
        yield from (one for inner in value.values() for one in _held(inner, depth - 1))
    elif depth and isinstance(value, list | tuple | set | frozenset):
        yield from (one for inner in value for one in _held(inner, depth - 1))


def _uses(trees: dict[Path, ast.Module]) -> dict[str, set[str]]:
    """By the name of a pattern, the methods that it is used by."""
    uses: dict[str, set[str]] = defaultdict(set)
    methods = {"match", "fullmatch", "search", "sub", "subn", "split", "findall", "finditer"}
    for tree in trees.values():
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and node.attr in methods and isinstance(node.value, ast.Name):
                uses[node.value.id].add(node.attr)
    return uses


def _is_of_re(func: ast.expr) -> bool:
    return isinstance(func, ast.Attribute) and isinstance(func.value, ast.Name) and func.value.id == "re"


def _module_of(path: Path) -> str:
    parts = path.relative_to(ROOT.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _written(node: ast.expr, names: dict[str, Any]) -> str | bytes | None:
    """The text of a pattern; what is put into it at run time stands as the letter q."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str | bytes):
        return node.value
    if isinstance(node, ast.JoinedStr):
        out = ""
        for part in node.values:
            if isinstance(part, ast.Constant):
                out += str(part.value)
            elif isinstance(part, ast.FormattedValue):
                known = names.get(part.value.id) if isinstance(part.value, ast.Name) else None
                out += known if isinstance(known, str) else "q"
        return out
    return None


def _flags(node: ast.Call) -> int:
    out = 0
    for part in [*node.args[1:], *(k.value for k in node.keywords if k.arg == "flags")]:
        for inner in ast.walk(part):
            if (
                isinstance(inner, ast.Attribute)
                and hasattr(re, inner.attr)
                and isinstance(getattr(re, inner.attr), re.RegexFlag)
            ):
                out |= int(getattr(re, inner.attr))
    return out


# ----- the automaton --------------------------------------------------------------------------------------------------

Ask = Callable[[str, str], bool | None]
"""Whether an assertion holds between the character before and the one behind; None where more would have to be known."""


@dataclass
class _Piece:
    """A part of a pattern: ``first`` places with the assertions on the way, ``last`` ones likewise, ``empty`` ways through."""

    first: list[tuple[int, tuple[Ask, ...]]] = field(default_factory=list)
    last: list[tuple[int, tuple[Ask, ...]]] = field(default_factory=list)
    empty: list[tuple[Ask, ...]] = field(default_factory=list)


class _Automaton:
    """Places are characters of the pattern; ``edges`` lead from one to the next, as often as there are ways."""

    def __init__(self, tree: Any, flags: int):
        self.flags = flags
        self.takes: list[Callable[[str], bool]] = []
        self.edges: dict[int, list[tuple[int, tuple[Ask, ...]]]] = defaultdict(list)
        self.marks: set[str] = set()
        whole = self._all(tree)
        self.first = whole.first
        self.last: dict[int, list[tuple[Ask, ...]]] = defaultdict(list)
        for p, asked in whole.last:
            self.last[p].append(asked)

    def is_matched(self, p: int, before: str, behind: str) -> bool:
        """Whether a match could end behind ``p``, so that whatever fails further on, there is one."""
        return any(all(a(before, behind) for a in asked) for asked in self.last[p])

    def _place(self, takes: Callable[[str], bool]) -> _Piece:
        self.takes.append(takes)
        here = len(self.takes) - 1
        return _Piece([(here, ())], [(here, ())])

    def _all(self, parts: Any) -> _Piece:
        out = _Piece(empty=[()])
        for op, arg in parts:
            out = self._behind(out, self._one(op, arg))
        return out

    def _behind(self, a: _Piece, b: _Piece) -> _Piece:
        for p, asked in a.last:
            self.edges[p] += [(q, (*asked, *more)) for q, more in b.first]
        return _Piece(
            a.first + [(q, (*e, *more)) for e in a.empty for q, more in b.first],
            b.last + [(p, (*asked, *e)) for e in b.empty for p, asked in a.last],
            [(*e, *f) for e in a.empty for f in b.empty],
        )

    def _one(self, op: Any, arg: Any) -> _Piece:
        name = str(op)
        if name in ("LITERAL", "NOT_LITERAL", "ANY", "IN"):
            return self._place(self._takes(name, arg))
        if name == "SUBPATTERN":
            return self._all(arg[3])
        if name == "ATOMIC_GROUP":
            return self._all(arg)
        if name == "BRANCH":
            out = _Piece()
            for branch in arg[1]:
                one = self._all(branch)
                out.first, out.last, out.empty = out.first + one.first, out.last + one.last, out.empty + one.empty
            return out
        if name in ("MAX_REPEAT", "MIN_REPEAT", "POSSESSIVE_REPEAT"):
            return self._repeated(*arg, possessive=name == "POSSESSIVE_REPEAT")
        if name == "AT":
            return _Piece(empty=[(self._at(str(arg)),)])
        if name in ("ASSERT", "ASSERT_NOT"):
            return _Piece(empty=[(self._assertion(arg, name == "ASSERT"),)])
        if name == "GROUPREF":
            return _Piece(empty=[()])
        raise NotImplementedError(name)

    def _repeated(self, low: int, high: Any, body: Any, *, possessive: bool) -> _Piece:
        endless = high >= _LONG
        out = _Piece(empty=[()])
        for _ in range(min(low, 3)):
            out = self._behind(out, self._all(body))
        if endless:
            one = self._all(body)
            if not possessive:
                for p, asked in one.last:
                    self.edges[p] += [(q, (*asked, *more)) for q, more in one.first]
            out = self._behind(out, _Piece(one.first, one.last, [()]))
        else:
            for _ in range(min(high - low, 3)):
                one = self._all(body)
                out = self._behind(out, _Piece(one.first, one.last, [*one.empty, ()]))
        return out

    def _takes(self, name: str, arg: Any) -> Callable[[str], bool]:
        fold = bool(self.flags & re.IGNORECASE)
        if name == "ANY":
            return lambda c: bool(self.flags & re.DOTALL) or c != "\n"
        items = (
            [(_code.LITERAL, arg)]
            if name == "LITERAL"
            else [(_code.NEGATE, None), (_code.LITERAL, arg)]
            if name == "NOT_LITERAL"
            else arg
        )
        tests: list[Callable[[str], bool]] = []
        negate = False
        for op, value in items:
            kind = str(op)
            if kind == "NEGATE":
                negate = True
            elif kind == "LITERAL":
                self.marks.add(chr(value))
                tests.append(lambda c, v=value: ord(c) == v)  # type: ignore[misc]
            elif kind == "RANGE":
                self.marks |= {chr(value[0]), chr(value[1])}
                tests.append(lambda c, v=value: v[0] <= ord(c) <= v[1])  # type: ignore[misc]
            elif kind == "CATEGORY":
                tests.append(_CATEGORIES[str(value)])
            else:
                raise NotImplementedError(kind)

        def takes(c: str) -> bool:
            either = (c.lower(), c.upper()) if fold else (c,)
            return any(t(x) for t in tests for x in either if len(x) == 1) != negate

        return takes

    def _at(self, where: str) -> Ask:
        multi = bool(self.flags & re.MULTILINE)
        if where in ("AT_BEGINNING", "AT_BEGINNING_STRING", "AT_BEGINNING_LINE"):
            return lambda before, behind: before == "" or (multi and before == "\n")
        if where in ("AT_END", "AT_END_STRING", "AT_END_LINE"):
            return lambda before, behind: multi and behind == "\n"
        inside = where == "AT_NON_BOUNDARY"
        return lambda before, behind: (_is_word(before) != _is_word(behind)) != inside

    def _assertion(self, arg: Any, wanted: bool) -> Ask:
        direction, body = arg
        branches = body[0][1][1] if len(body) == 1 and str(body[0][0]) == "BRANCH" else [body]
        if any(len(b) != 1 or str(b[0][0]) not in ("LITERAL", "NOT_LITERAL", "ANY", "IN") for b in branches):
            return lambda before, behind: None
        tests = [self._takes(str(b[0][0]), b[0][1]) for b in branches]

        def holds(before: str, behind: str) -> bool:
            c = behind if direction > 0 else before
            return (c != "" and any(t(c) for t in tests)) == wanted

        return holds


def _is_word(c: str) -> bool:
    return bool(c) and (c.isalnum() or c == "_")


_CATEGORIES: dict[str, Callable[[str], bool]] = {
    "CATEGORY_DIGIT": str.isdecimal,
    "CATEGORY_NOT_DIGIT": lambda c: not c.isdecimal(),
    "CATEGORY_SPACE": str.isspace,
    "CATEGORY_NOT_SPACE": lambda c: not c.isspace(),
    "CATEGORY_WORD": _is_word,
    "CATEGORY_NOT_WORD": lambda c: not _is_word(c),
}


# ----- more than one way ----------------------------------------------------------------------------------------------


def trouble_with(pattern: str | bytes, flags: int = 0, *, anywhere: bool = True, whole: bool = False) -> str | None:
    """What makes a pattern slow, ``exponential`` or ``a power``, with the characters to repeat; None where nothing does.

    ``anywhere``: it is looked for in a text; ``whole``: it must take the text to its end.
    """
    text = pattern.decode("latin-1") if isinstance(pattern, bytes) else pattern
    tree = _parser.parse(text, flags)
    made = _Automaton(tree, flags | tree.state.flags)
    alike: dict[tuple[bool, ...], str] = {}
    for c in sorted(made.marks | set('a0 _-.,\n"é٣\u0001')):
        alike.setdefault((_is_word(c), c == "\n", *(t(c) for t in made.takes)), c)
    letters = list(alike.values())
    if whole:
        made.last.clear()
    start = len(made.takes)
    if anywhere:
        # The match may begin at any character: a place before the pattern that takes whatever comes.
        made.takes.append(lambda c: True)
        made.edges[start] = [(start, ()), *made.first]
    ahead = {p: _reached(made, p) for p in range(len(made.takes))}
    loops = [p for p in ahead if p in ahead[p]]
    back = {p: {x for x in ahead if p in ahead[x]} for p in loops}
    for p in loops:
        if word := _twice_around(made, p, back[p], letters):
            return f"exponential in {word!r}"
    for p in loops:
        for q in loops:
            if q == p or q not in ahead[p]:
                continue
            if word := _one_behind_the_other(made, p, q, (back[p], back[q]), letters):
                return f"a power of {word!r}"
    return None


def _reached(made: _Automaton, p: int) -> set[int]:
    seen, waiting = set[int](), [p]
    while waiting:
        for q, _ in made.edges[waiting.pop()]:
            if q not in seen:
                seen.add(q)
                waiting.append(q)
    return seen


def _steps(made: _Automaton, p: int, before: str, c: str) -> list[int]:
    return [q for q, asked in made.edges[p] if made.takes[q](c) and all(a(before, c) is not False for a in asked)]


def _twice_around(made: _Automaton, p: int, back: set[int], letters: list[str]) -> str | None:
    """A word over which two ways lead from ``p`` back to it, with no match to be had on the way."""
    for entry in letters:
        if not made.takes[p](entry):
            continue
        begin = (p, p, False, entry)
        seen, waiting = {begin}, [(begin, "")]
        while waiting:
            (a, b, apart, before), word = waiting.pop(0)
            for c in letters:
                if made.is_matched(a, before, c):
                    continue
                to_a = [x if x in back else -1 for x in _steps(made, a, before, c)]
                to_b = [y if y in back else -1 for y in _steps(made, b, before, c)]
                for i, x in enumerate(to_a):
                    for j, y in enumerate(to_b):
                        if x < 0 or y < 0:
                            continue
                        split = apart or a != b or i != j
                        state = (x, y, split, c)
                        if split and x == y == p and c == entry:
                            return word + c
                        if state not in seen:
                            seen.add(state)
                            waiting.append((state, word + c))
    return None


def _one_behind_the_other(
    made: _Automaton, p: int, q: int, back: tuple[set[int], set[int]], letters: list[str]
) -> str | None:
    """A word that leads around ``p``, from ``p`` to ``q``, and around ``q`` with no match to be had on the way.

    ``back`` are the places from which ``p``, and ``q``, can still be reached.
    """
    for entry in letters:
        if not (made.takes[p](entry) and made.takes[q](entry)):
            continue
        begin = (p, p, q, entry)
        seen, waiting = {begin}, [(begin, "")]
        while waiting:
            (a, b, c, before), word = waiting.pop(0)
            for letter in letters:
                around = [z for z in _steps(made, c, before, letter) if z in back[1]]
                if not around or made.is_matched(c, before, letter):
                    continue
                for x in _steps(made, a, before, letter):
                    for y in _steps(made, b, before, letter):
                        if x not in back[0] or y not in back[1]:
                            continue
                        for z in around:
                            if (x, y, z) == (p, q, q) and letter == entry:
                                return word + letter
                            state = (x, y, z, letter)
                            if state not in seen:
                                seen.add(state)
                                waiting.append((state, word + letter))
    return None
