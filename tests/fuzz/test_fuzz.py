"""Every kind of input, whole, broken and hostile, gives what is promised or one clear refusal; see ``targets.py``."""

from __future__ import annotations

import copy
import json
import signal
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from effort import tried
from seeds import ODD, seeds, table, whole, words
from sound_parts import need
from targets import CORPUS, TARGETS

SECONDS = 60
"""No input of a few kilobytes takes a hundredth of this on any machine, unless it never ends."""
EXAMPLES = {"typed": 40, "transcript": 60, "lexicon": 12, "desk": 60}


@contextmanager
def within(seconds: int) -> Iterator[None]:
    def over(_number: int, _frame: FrameType | None) -> None:
        raise TimeoutError(f"not done after {seconds} s")

    before = signal.signal(signal.SIGALRM, over)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def held(target: str, data: bytes) -> None:
    if target == "sound":
        need("av")
    with within(SECONDS):
        TARGETS[target](data)


# ----- what is thrown at them -----------------------------------------------------------------------------------------


def bytes_changed(target: str) -> st.SearchStrategy[bytes]:
    """A whole input with stretches of it left out, doubled, moved or overwritten."""
    tokens = st.one_of(st.sampled_from(words()), st.binary(max_size=8), st.text(max_size=8).map(str.encode))

    @st.composite
    def made(draw: st.DrawFn) -> bytes:
        data = draw(st.sampled_from(seeds(target)))
        for _ in range(draw(st.integers(0, 5))):
            a = draw(st.integers(0, len(data)))
            b = min(len(data), a + draw(st.integers(0, 40)))
            data = draw(
                st.sampled_from([data[:a] + data[b:], data[:b] + data[a:b] + data[b:], data[:b], data[b:] + data[:a]])
                | tokens.map(lambda t, a=a, b=b, data=data: data[:a] + t + data[b:])
            )
        return data

    return made()


def _places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _places(inner, (*path, key))
    elif isinstance(value, list):
        for n, inner in enumerate(value[:6]):
            yield from _places(inner, (*path, n))


def values_changed(whole: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Data in which some values are odd, gone, doubled or under another key."""

    @st.composite
    def made(draw: st.DrawFn) -> Any:
        value = copy.deepcopy(draw(whole))
        for _ in range(draw(st.integers(1, 3))):
            path = draw(st.sampled_from(sorted(_places(value), key=repr)))
            odd = copy.deepcopy(draw(st.sampled_from(ODD) | st.text(max_size=6)))
            if not path:
                if draw(st.integers(0, 20)) == 0:
                    value = odd
                continue
            inner = value
            for key in path[:-1]:
                inner = inner[key]
            how = draw(st.integers(0, 4))
            if how == 0:
                del inner[path[-1]]
            elif how == 1 and isinstance(inner, dict):
                inner[draw(st.sampled_from(["name", "begin", "off", "drop", "note", "x", ""]))] = odd
            elif how == 2 and isinstance(inner, list):
                inner.append(copy.deepcopy(inner[path[-1]]))
            else:
                inner[path[-1]] = odd
        return value

    return made()


def as_toml(value: Any) -> str:
    """Data as TOML that is one line a table; what TOML cannot hold is written as it would be in JSON."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(str(k))} = {as_toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    return repr(value) if isinstance(value, float) else json.dumps(value)


def _toml_of(tables: Any) -> bytes:
    if not isinstance(tables, dict):
        return as_toml(tables).encode("utf-8", "replace")
    rows = []
    for name, held in tables.items():
        key = json.dumps(name)
        if isinstance(held, dict):
            rows += [f"[{key}]", *(f"{json.dumps(str(k))} = {as_toml(v)}" for k, v in held.items())]
        else:
            rows.insert(0, f"{key} = {as_toml(held)}")
    return "\n".join(rows).encode("utf-8", "replace")


def _json_of(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False).encode("utf-8", "surrogatepass")


def data_changed(target: str) -> st.SearchStrategy[bytes] | None:
    """Input of a target that holds data, changed by its values; None where it holds none."""
    some = whole(target)
    if target == "transcript":
        given = [json.loads(s[1:]) for s in some if s[0] == 2]
        return values_changed(st.sampled_from(given)).map(lambda v: b"\2" + _json_of(v))
    if target == "order":
        return values_changed(st.sampled_from([json.loads(s) for s in some])).map(_json_of)
    if target == "bulk_lines":
        return values_changed(st.just(json.loads(some[0].splitlines()[0]))).map(_json_of)
    if target == "audit":
        made = values_changed(st.just(json.loads(some[0][1:])))
        return st.sampled_from([0, 1]).flatmap(lambda kind: made.map(lambda v: bytes([kind]) + _json_of(v)))
    if target == "prices":
        return values_changed(st.sampled_from([tomllib.loads(s.decode()) for s in some])).map(_toml_of)
    if target == "lexicon":
        given = [(s[:1], tomllib.loads(s[1:].decode())) for s in some]
        return st.sampled_from(given).flatmap(lambda g: values_changed(st.just(g[1])).map(lambda v: g[0] + _toml_of(v)))
    if target == "bulk_table":
        row = st.just(json.loads(whole("bulk_lines")[0].splitlines()[0]))
        return values_changed(row).map(lambda v: [v] if isinstance(v, dict) else []).map(_table_of)
    return None


def _table_of(rows: list[dict[str, Any]]) -> bytes:
    try:
        return table(rows)
    except Exception:
        # Not every value has a column to stand in.
        return whole("bulk_table")[0]


@pytest.mark.parametrize("target", TARGETS)
def test_any_bytes_are_read_or_refused(target: str) -> None:
    @tried(EXAMPLES.get(target, 40) // 2)
    @given(data=st.binary(max_size=400) | bytes_changed(target))
    def held_to_it(data: bytes) -> None:
        held(target, data)

    held_to_it()


@pytest.mark.parametrize("target", [t for t in TARGETS if t not in ("typed", "sound", "desk")])
def test_data_with_odd_values_is_read_or_refused(target: str) -> None:
    strategy = data_changed(target)
    assert strategy is not None

    @tried(EXAMPLES.get(target, 40))
    @given(data=strategy)
    def held_to_it(data: bytes) -> None:
        held(target, data)

    held_to_it()


def kept() -> Iterator[Any]:
    for path in sorted(CORPUS.glob("*/*")):
        yield pytest.param(path.parent.name, path, id=f"{path.parent.name}/{path.name}")


@pytest.mark.parametrize(("target", "path"), list(kept()))
def test_what_once_broke_it_does_no_more(target: str, path: Any) -> None:
    held(target, path.read_bytes())
