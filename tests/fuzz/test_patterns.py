"""No regular expression of the program can be made slow by what it is given; see ``patterns.py`` for how that is told.

``bench_growth.py`` times the same patterns.
"""

from __future__ import annotations

import re
from functools import cache

import pytest

from patterns import Found, all_patterns, trouble_with

# What looks slow and is not, with the reason.
ALLOWED = {
    "talkaround.reading.tire_marks._DATE_CUE": "what must follow begins after any word that it goes round over",
}


@cache
def everything() -> list[Found]:
    return all_patterns()


@pytest.mark.parametrize(
    ("pattern", "anywhere", "kind"),
    [
        (r"(a+)+b", False, "exponential"),
        (r"(a*)*b", False, "exponential"),
        (r"(a|a)*b", False, "exponential"),
        (r"(?:a|ab?)*c", False, "exponential"),
        (r"(\w+\s?)+!", False, "exponential"),
        (r"(?:[a-z]+|\w)+\d$", False, "exponential"),
        (r"\s*\s*b", False, "a power"),
        (r"[^\S\n]*[,;]?[^\S\n]*x", False, "a power"),
        (r"x.*y.*z", True, "a power"),
        (r"\s+$", True, "a power"),
        (r"“[^”]*”", True, "a power"),
        (r"<style>(.*?)</style>", True, "a power"),
        (r"(?i)[a-f]+[A-F]+!", False, "a power"),
    ],
)
def test_a_slow_pattern_is_told(pattern: str, anywhere: bool, kind: str) -> None:
    assert (trouble_with(pattern, anywhere=anywhere) or "").startswith(kind)


@pytest.mark.parametrize(
    ("pattern", "anywhere"),
    [
        (r"\w+", True),
        (r"\s+$", False),
        (r"(?<!\s)\s+$", True),
        (r"(?<![\w-])[\w-]+\s*=", True),
        (r"\b\w+\s*=", True),
        (r'"[^"]*"', True),
        (r"\bfoo +$", True),
        (r"^a+b", True),
        (r"(?:ab)+(?:cd)*e", False),
        (r"[^\S\n]*+[,;]?[^\S\n]*+x", False),
        (r"[a-z0-9]+(?:-[a-z0-9]+)*$", False),
        (r"\d{1,3}(?:,\d{3})+(?:\.\d+)?", True),
    ],
)
def test_a_quick_pattern_is_let_pass(pattern: str, anywhere: bool) -> None:
    assert trouble_with(pattern, anywhere=anywhere) is None


def test_a_pattern_that_must_take_all_is_told_apart_from_one_that_need_not() -> None:
    assert trouble_with(r"\s*,?\s*", anywhere=False) is None
    assert trouble_with(r"\s*,?\s*", anywhere=False, whole=True)


def test_the_patterns_of_the_program_are_found() -> None:
    """One of each kind: held by a module, in a table, written where it is used, put together, of a script."""
    where = {f.where.rpartition(":")[0] or f.where for f in everything()}
    assert {"talkaround.vocabulary.folding.TOKEN", "talkaround.desk.pages.taking._BEGINS"} & where
    assert {"desk/security.py", "desk/teach.py", "order.js", "vocabulary/british.py"} <= where
    assert len(everything()) > 60


@pytest.mark.parametrize("found", everything(), ids=lambda f: f.where)
def test_no_pattern_of_the_program_can_be_made_slow(found: Found) -> None:
    trouble = trouble_with(found.pattern, found.flags, anywhere=found.anywhere, whole=found.whole)
    if found.where in ALLOWED:
        assert trouble, f"take {found.where} off the list of what is allowed"
    else:
        assert trouble is None, f"{found.where}: {trouble}: {found.pattern!r}"
        re.compile(found.pattern)
