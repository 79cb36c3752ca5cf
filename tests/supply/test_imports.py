"""The package imports nothing but what ``pyproject.toml`` names, and what that brings along by its own word."""

import ast
import re
import sys
from importlib.metadata import PackageNotFoundError, packages_distributions, requires

import pytest

from declared import EXTRAS, ROOT, wanted

# What is imported and not named, and the named library that cannot be without it.
BROUGHT = {"rich": "typer", "markupsafe": "jinja2", "av": "faster-whisper", "numpy": "spacy"}
# Libraries whose package has another name than what is imported.
CALLED = {"argon2": "argon2-cffi", "faster_whisper": "faster-whisper", "python_multipart": "python-multipart"}


def imported() -> dict[str, str]:
    """Every module from outside that the package imports, by its first name, and a file that does."""
    found = {}
    for path in sorted((ROOT / "src").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = (
                [each.name for each in node.names]
                if isinstance(node, ast.Import)
                else [node.module or ""]
                if isinstance(node, ast.ImportFrom) and not node.level
                else []
            )
            found |= {name.partition(".")[0]: path.relative_to(ROOT).as_posix() for name in names}
    return {name: path for name, path in found.items() if name not in sys.stdlib_module_names | {"talkaround"}}


def test_every_library_that_is_imported_is_named_or_brought_along() -> None:
    named = {each.name for extra in (None, *EXTRAS) for each in wanted(extra)}
    unknown = {name: path for name, path in imported().items() if CALLED.get(name, name) not in named | BROUGHT.keys()}
    assert unknown == {}
    assert BROUGHT.keys() <= imported().keys()


@pytest.mark.parametrize(("name", "library"), BROUGHT.items())
def test_what_is_brought_along_is_so_by_the_library_s_own_word(name: str, library: str) -> None:
    try:
        wants = requires(library) or []
    except PackageNotFoundError:
        pytest.skip(f"{library} is not here")
    always = {re.split(r"[^\w-]", each)[0].lower() for each in wants if "extra ==" not in each}
    packages = {package.lower() for package in packages_distributions().get(name, [name])}
    assert always & packages
