"""How hard tests with random input try. ``TEST_EFFORT=20`` tries others than a plain run, and many more."""

import os

from hypothesis import HealthCheck, settings

# The same examples on every run, so that a change is to blame for a failure.
EFFORT = int(os.environ.get("TEST_EFFORT", "1"))


def tried(examples: int) -> settings:
    return settings(
        max_examples=examples * EFFORT,
        derandomize=EFFORT == 1,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow],
    )
