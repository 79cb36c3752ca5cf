"""Does the program work with the oldest libraries that ``pyproject.toml`` allows? Run by hand: it installs from the index.

``python tests/supply/lowest.py [core|EXTRA ...]`` makes a fresh environment for the core and for each extra, or for those
that are named. It holds every direct requirement there to its lower bound exactly, lets pip choose the rest, and runs the
tests that use those libraries. It wants a Python that has ``packaging``, and exits with 1 if any of it failed.
"""

import subprocess
import sys
import tempfile
import venv
from pathlib import Path

from packaging.requirements import Requirement

from declared import EXTRAS, ROOT, lowest, wanted

# For each: what the tests want besides, of today, and the tests. `test` holds those tools to their own bounds as well.
RUNS = {
    "core": ("jsonschema", "tests/test_cli.py tests/test_library.py tests/output tests/vocabulary"),
    "voice": ("", "tests/hearing"),
    "desk": (
        "httpx playwright",
        "tests/desk/test_accounts.py tests/desk/test_store.py tests/desk/test_history.py tests/desk/test_starting.py",
    ),
    "bulk": ("", "tests/bulk/test_bulk_rows.py"),
    "cluster": ("", "tests/bulk/test_bulk_cluster.py"),
    "audit": (
        "",
        "tests/audit/test_auditing.py tests/audit/test_points.py tests/audit/test_audit_page.py",
    ),
    "test": (
        "",
        "tests/desk/test_openapi.py tests/desk/test_pages.py tests/audit tests/bulk tests/standards "
        "tests/order tests/estimating tests/intake tests/test_cli.py tests/test_properties.py",
    ),
    "reference": (
        "pint breame num2words vininfo hypothesis",
        "tests/standards/test_negation_reference.py tests/reading/test_ordinary_english.py",
    ),
}


def held(name: str) -> list[str]:
    """The direct requirements of the core and of an extra, each held to its lower bound."""
    direct: dict[str, Requirement] = {each.name: each for each in wanted()}
    if name != "core":
        direct |= {each.name: each for each in wanted(name)}
    return [f"{each.name}=={lowest(each)}" for each in direct.values()]


def works(name: str) -> bool:
    """Whether the tests pass with the oldest libraries of the core or of an extra; what they print goes through."""
    tools, tests = RUNS[name]
    with tempfile.TemporaryDirectory() as folder:
        constraints = Path(folder) / "constraints.txt"
        constraints.write_text("\n".join(held(name)) + "\n", encoding="utf-8")
        print(f"== {name}: {', '.join(held(name))}", flush=True)
        venv.create(Path(folder) / "env", with_pip=True)
        python = str(Path(folder) / "env" / ("Scripts" if sys.platform == "win32" else "bin") / "python")
        what = "." if name == "core" else f".[{name}]"
        install = [python, "-m", "pip", "install", "-q", "-c", str(constraints), "-e", what, "pytest", *tools.split()]
        # An old library may warn of what is to come after it; that is no news here.
        test = [python, "-m", "pytest", "-p", "no:cacheprovider", "-o", "filterwarnings=", *tests.split()]
        return all(subprocess.run(command, cwd=ROOT).returncode == 0 for command in (install, test))


def main() -> None:
    names = sys.argv[1:] or ["core", *EXTRAS]
    if unknown := [name for name in names if name not in RUNS]:
        sys.exit(f"nothing here is called {', '.join(unknown)}; there are {', '.join(RUNS)}")
    failed = [name for name in names if not works(name)]
    if failed:
        sys.exit(f"does not work with its oldest libraries: {', '.join(failed)}")


if __name__ == "__main__":
    main()
