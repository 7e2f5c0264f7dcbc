"""The invented readings that page and command line show, and the list of their vehicles."""

from pathlib import Path
from typing import Final

_FOLDER: Final = Path(__file__).resolve().parents[2] / "data" / "examples"
EXAMPLE_READINGS: Final = _FOLDER / "invented_readings.csv"
EXAMPLE_LIST: Final = _FOLDER / "invented_readings_list.csv"
EXAMPLES: Final = {"readings": EXAMPLE_READINGS, "list": EXAMPLE_LIST}
