"""Write the stored results anew: python -m tests.second_opinion.regenerate twin weather ...

Takes the names twin, sensitivity, weather (needs pvlib), constants (some minutes) and libraries
(needs NREL-PySAM and pybamm); without a name all but the last.
"""

import json
import sys
from pathlib import Path

from drainsim.evidence import stored
from tests.evidence import constant_effects, sensitivity, twin
from tests.second_opinion import generate, weather_years

DATA = Path(stored.__file__).parent / "data"


def main(names: list[str]) -> None:
    """Write what was asked for."""
    for name in names or ["twin", "sensitivity", "weather", "constants"]:
        if name == "twin":
            twin.write_results(DATA / "twin.json", twin.twin_experiment())
        elif name == "sensitivity":
            sensitivity.write_results(DATA / "sensitivity.json", sensitivity.influences())
        elif name == "weather":
            text = json.dumps(weather_years.compare(), indent=1, ensure_ascii=False)
            (DATA / "weather.json").write_text(text + "\n", encoding="utf-8")
        elif name == "constants":
            constant_effects.write_results(DATA / "constants.json")
        elif name == "libraries":
            generate.write_all()
        else:
            raise SystemExit(f"{name}: use twin, sensitivity, weather, constants or libraries")


if __name__ == "__main__":
    main(sys.argv[1:])
