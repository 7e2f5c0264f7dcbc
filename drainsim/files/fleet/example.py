"""A fleet of our own invention, with the gaps and mistakes of real lists."""

import datetime as dt
from importlib import resources
from typing import Final

EXAMPLE_TODAY: Final = dt.date(2026, 11, 25)  # the day its dates were made up for


def example_list() -> bytes:
    """Return the invented list as the CSV file its owner would keep."""
    return resources.files("drainsim").joinpath("data/examples/invented_fleet.csv").read_bytes()
