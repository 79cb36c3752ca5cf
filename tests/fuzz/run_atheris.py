"""Drives a target of ``targets.py`` by what its inputs reach in the code, with atheris (tried with 3.0.0). Run by hand.

It is no dependency of the project. In an environment of its own::

    python -m venv .venv-fuzz
    .venv-fuzz/bin/pip install -e ".[audit,desk,voice]" "atheris==3.0.0" httpx hypothesis
    .venv-fuzz/bin/python tests/fuzz/run_atheris.py typed -max_total_time=600

All that stands behind the target goes to libFuzzer. The words of the lexicon are its dictionary, whole inputs its seeds.
What it finds is left as ``crash-...`` in the folder that it was started in: mend the program, then put the file under
``tests/fuzz/corpus/TARGET/``, named after what it shows, where ``test_fuzz.py`` replays it.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
from pathlib import Path
from typing import Any

import atheris

TESTS = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(TESTS / folder) for folder in ("fuzz", "", "gold", "desk", "audit", "bulk")]

with atheris.instrument_imports(include=["talkaround", "tomllib"]):
    import targets
    from seeds import ODD, seeds, words


def main() -> None:
    if len(sys.argv) < 2 or sys.argv[1] not in targets.TARGETS:
        sys.exit(f"name a target: {', '.join(targets.TARGETS)}")
    name, *options = sys.argv[1:]
    with tempfile.TemporaryDirectory(prefix="talkaround-fuzz-") as made:
        folder = Path(made)
        (folder / "seeds").mkdir()
        for n, seed in enumerate(seeds(name)):
            (folder / "seeds" / f"{n:03d}").write_bytes(seed)
        dictionary = folder / "words"
        dictionary.write_text("".join(f'"{_escaped(w)}"\n' for w in words()), "ascii")
        more = [f"-dict={dictionary}", "-timeout=30", "-rss_limit_mb=3000", "-max_len=16384"]
        atheris.Setup(
            [sys.argv[0], *more, *options, str(folder / "seeds")], targets.TARGETS[name], custom_mutator=_changed
        )
        atheris.Fuzz()


def _changed(data: bytes, most: int, seed: int) -> bytes:
    """By the bytes, as libFuzzer does; every other time by one of its values, where it is JSON behind one byte or none."""
    r = random.Random(seed)
    if r.random() < 0.5:
        for head in (b"", data[:1]):
            try:
                value = json.loads(data[len(head) :])
            except (ValueError, RecursionError):
                continue
            made: bytes = head + json.dumps(_other(value, r)).encode()
            if len(made) <= most:
                return made
    return bytes(atheris.Mutate(data, most))


def _other(value: Any, r: random.Random) -> Any:
    """The data with one value in it changed, taken out or doubled."""
    inner = value
    while isinstance(inner, dict | list) and inner:
        key = r.choice(list(inner)) if isinstance(inner, dict) else r.randrange(len(inner))
        if not isinstance(inner[key], dict | list) or r.random() < 0.2:
            how = r.randrange(8)
            if how == 0:
                del inner[key]
            elif how == 1 and isinstance(inner, list):
                inner.append(inner[key])
            else:
                inner[key] = r.choice(ODD) if how < 6 else r.randrange(-2, 300)
            return value
        inner = inner[key]
    return r.choice(ODD)


def _escaped(word: bytes) -> str:
    return "".join(chr(c) if 32 <= c < 127 and c not in b'"\\' else f"\\x{c:02x}" for c in word)


if __name__ == "__main__":
    main()
