"""What the tests of the sound path need. Where it is missing they are skipped, or fail where ``TALKAROUND_TEST_SOUND``
is set, so that they cannot be left out unseen where everything was meant to be there."""

import importlib.util
import os
import shutil

import pytest


def need(*parts: str) -> None:
    """Skip the module that calls this, or fail, where a Python module or a program (``espeak-ng``) is missing."""
    missing = [p for p in parts if not (importlib.util.find_spec(p) if p.isidentifier() else shutil.which(p))]
    if not missing:
        return
    reason = f"the sound path is not tested: {', '.join(missing)} not installed (see tests/sound in DEVELOPERS.md)"
    if os.environ.get("TALKAROUND_TEST_SOUND", "") not in ("", "0"):
        pytest.fail(reason, pytrace=False)
    pytest.skip(reason, allow_module_level=True)
