"""Settings every test runs under."""

import os

import pytest
from hypothesis import HealthCheck, settings

from drainsim import dates

# Derandomised: a red run is red again. No deadline: speed is the benchmark's business.
settings.register_profile(
    "drainsim",
    deadline=None,
    derandomize=True,
    database=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("drainsim")

# Default dates follow today's; every test, and every program a test starts, lives on one day.
os.environ[dates.TODAY] = "2026-11-25"
# A test runner tells its workers the width of its terminal; what is printed must not hang on it.
os.environ.pop("COLUMNS", None)


def pytest_xdist_auto_num_workers() -> int:
    """Return one worker more than there are cores: browser tests wait for half of their time."""
    return (os.cpu_count() or 1) + 1


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the browser: one worker waits for it while the others compute."""
    items.sort(key=lambda item: item.get_closest_marker("browser") is None)
