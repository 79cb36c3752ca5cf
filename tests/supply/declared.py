"""What ``pyproject.toml`` says that the program, and each of its extras, wants."""

import tomllib
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parent.parent.parent
_FILE = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
PROJECT = _FILE["project"]
BUILDING: list[str] = _FILE["build-system"]["requires"]
EXTRAS: dict[str, list[str]] = PROJECT["optional-dependencies"]


def wanted(extra: str | None = None) -> list[Requirement]:
    """The direct requirements of the core, or with ``extra`` of that extra and the extras that it names."""
    direct = []
    for text in PROJECT["dependencies"] if extra is None else EXTRAS[extra]:
        requirement = Requirement(text)
        if requirement.name == PROJECT["name"]:
            direct += [one for named in sorted(requirement.extras) for one in wanted(named)]
        else:
            direct.append(requirement)
    return direct


def lowest(requirement: Requirement) -> str:
    """The version that its lower bound names.

    Raises:
        ValueError: It has no lower bound, or more than one.
    """
    bounds = [each.version for each in requirement.specifier if each.operator == ">="]
    if len(bounds) != 1:
        raise ValueError(f"{requirement} in pyproject.toml wants one lower bound, such as >=1.2.3")
    return bounds[0]
