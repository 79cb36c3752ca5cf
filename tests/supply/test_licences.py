"""Every library that ``pyproject.toml`` names has a licence that is known, and one that asks for more has its reason.

``python tests/supply/test_licences.py`` prints what the installed ones say of themselves.
"""

import re
import tomllib
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement

from declared import BUILDING, EXTRAS, wanted

KNOWN = tomllib.loads((Path(__file__).parent / "licences.toml").read_text("utf-8"))
# A licence's family, by how packages name it or by what its text begins with; what holds another's name stands first.
FAMILIES = {
    "LGPL": r"\bLGPL|Lesser General Public",
    "AGPL": r"\bAGPL|Affero",
    "GPL": r"\bGPL|GNU General Public",
    "MPL": r"\bMPL|Mozilla Public",
    "Apache": r"Apache",
    "BSD": r"\bBSD|Redistribution and use",
    "MIT": r"\bMIT\b|Permission is hereby granted",
}


def named() -> list[str]:
    """The name of every library that is wanted directly: to run, for an extra, or to build."""
    direct = [each for extra in (None, *EXTRAS) for each in wanted(extra)] + [Requirement(text) for text in BUILDING]
    return sorted({each.name for each in direct})


def family(text: str) -> str | None:
    return next((name for name, pattern in FAMILIES.items() if re.search(pattern, text)), None)


def says(library: Distribution) -> str | None:
    """The family of the licence that a package gives for itself: in its data, or by the text that it brings along."""
    data = library.metadata
    for field in ("License-Expression", "Classifier", "License"):
        told = [text for text in data.get_all(field) or [] if field != "Classifier" or text.startswith("License ::")]
        if found := family("\n".join(told)):
            return found
    texts = [file for file in library.files or [] if "licen" in file.name.lower() and ".dist-info" in str(file)]
    return family("\n".join(file.read_text("utf-8") for file in texts))


def installed() -> dict[str, Distribution]:
    found = {}
    for name in named():
        try:
            found[name] = distribution(name)
        except PackageNotFoundError:
            continue
    return found


def test_every_library_has_its_licence_listed_and_nothing_else_is() -> None:
    assert sorted(KNOWN["libraries"]) == named()


def test_a_licence_that_asks_for_more_than_its_notice_has_a_reason() -> None:
    without = [
        f"{name}: {of['licence']}"
        for name, of in KNOWN["libraries"].items()
        if of["licence"] not in KNOWN["permissive"] and not of.get("why")
    ]
    assert without == []


def test_the_list_says_what_the_packages_say() -> None:
    here = installed()
    assert {"spacy", "rapidfuzz", "pydantic", "typer"} <= here.keys()
    listed = {name: family(KNOWN["libraries"][name]["licence"]) for name in here}
    assert listed == {name: says(library) for name, library in here.items()}


if __name__ == "__main__":
    for name, library in installed().items():
        print(f"{name} {library.version}: {says(library) or 'says nothing'}")
