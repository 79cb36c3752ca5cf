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

import sys
import tempfile
from pathlib import Path

import atheris

TESTS = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(TESTS / folder) for folder in ("fuzz", "", "gold", "desk", "audit", "bulk")]

with atheris.instrument_imports(include=["talkaround", "tomllib"]):
    import targets
    from seeds import seeds, words


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
        more = [f"-dict={dictionary}", "-timeout=30", "-rss_limit_mb=3000", "-max_len=4096"]
        atheris.Setup([sys.argv[0], *more, *options, str(folder / "seeds")], targets.TARGETS[name])
        atheris.Fuzz()


def _escaped(word: bytes) -> str:
    return "".join(chr(c) if 32 <= c < 127 and c not in b'"\\' else f"\\x{c:02x}" for c in word)


if __name__ == "__main__":
    main()
