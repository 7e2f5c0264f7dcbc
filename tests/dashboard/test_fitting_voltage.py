"""A unit's voltages belong to the battery they were set at: 12 V settings protect nothing at 24."""

import pytest

from drainsim.dashboard.what_if.what_if import also_changed, changed
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict

RUNG = {"below_v": 12.2, "report_interval_h": 12.0}


def at(system: str, volts: float = 12.2) -> Scenario:
    """Return a scenario with a ladder and a cut-off of its own."""
    unit = {
        "sleep_a": 0.004,
        "ladder": [{**RUNG, "below_v": volts}],
        "cutoff_v": volts - 0.7,
        "resume_v": volts + 0.1,
    }
    return scenario_from_dict({"battery": {"system": system}, "unit": unit})


@pytest.mark.parametrize(("before", "volts", "after"), [("12V", 12.2, "24V"), ("24V", 24.4, "12V")])
def test_another_voltage_takes_the_units_thresholds_out_and_says_so(
    before: str, volts: float, after: str
) -> None:
    """Ladder, cut-off and resume voltage go, each named; the rest of the unit stays."""
    base = at(before, volts)
    found = changed(base, {"system": after})
    assert found.tables["unit"] == {"sleep_a": 0.004}
    assert len(resolve(found).unit.modes) == 1
    gone = " ".join(also_changed(base, {"system": after}))
    assert gone.count("no longer given") == 3
    assert "ladder" in gone


@pytest.mark.parametrize("choice", [{"climate": "continental"}, {"system": "12V"}])
def test_what_leaves_the_voltage_alone_leaves_the_thresholds(choice: dict[str, object]) -> None:
    """Nothing else takes them out."""
    assert changed(at("12V"), choice).tables["unit"]["ladder"] == [RUNG]
