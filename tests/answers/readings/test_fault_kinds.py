"""The kind of an extra drain, as far as hourly voltages show it: steady, stepped, after drives."""

import numpy as np
import pytest

from drainsim.answers.readings.morning import morning
from drainsim.answers.readings.results import AFTER_DRIVES, STEADY, STEPPED, ExtraDrain
from drainsim.files.readings.history import History
from tests.answers.readings.fleet import BEGIN, DAY_S, history, resting_v, vehicle


def extra_drain(found: History, day: float) -> ExtraDrain:
    """Return what is told of an extra drain so many days after the first parking."""
    (one,) = morning(
        [found], {"A": vehicle()}, now_s=BEGIN + day * DAY_S, draws=100, workers=1
    ).vehicles
    return one.extra_drain


@pytest.mark.parametrize(
    ("dip_v", "every_h", "from_day", "kind"),
    [(0.05, 3, 10, STEPPED), (0.05, 24, 10, STEADY), (0.0, 3, 10, STEADY),
     (0.05, 3, 0, STEADY)],
)  # fmt: skip
def test_readings_that_dip_since_it_began_are_steps(
    dip_v: float, every_h: int, from_day: int, kind: str
) -> None:
    """A control unit awake takes 50 mV (20 to 50 were seen): steps if it began with the drain.

    Dips once a day, as before the drain, or none at all are a consumer that stays on.
    """
    volts = resting_v(14, extra_a=0.12, extra_from_day=10)
    hours = np.arange(1, len(volts) + 1)
    volts = volts - dip_v * ((hours % every_h == 0) & (hours > 24 * from_day))
    found = extra_drain(history(volts), 13.6)
    assert found.probability is not None
    assert found.probability > 0.9
    assert found.kind == kind


@pytest.mark.parametrize(
    ("extra_a", "kind"),
    [((0.0, 0.15, 0.0), AFTER_DRIVES), ((0.15, 0.15, 0.15), STEADY),
     ((0.0, 0.0, 0.0), STEADY)],
)  # fmt: skip
def test_what_some_drives_leave_behind(extra_a: tuple[float, ...], kind: str) -> None:
    """A drain since parking that some earlier stands had and some had not follows drives.

    One that all had is always there; one that none had is new.
    """
    stands = [
        history(resting_v(6, extra_a=one, seed=seed), begin_s=BEGIN + 7 * seed * DAY_S)
        for seed, one in enumerate((*extra_a, 0.15))
    ]
    columns = ("time_s", "voltage_v", "ignition", "battery_temperature_c", "air_temperature_c",
               "cranking_minimum_v", "voltmeter_v")  # fmt: skip
    whole = (np.concatenate([getattr(one, name) for one in stands]) for name in columns)
    found = extra_drain(History("A", *whole, step_v=0.01, set_aside=()), 21 + 5.6)
    assert found.probability is not None
    assert found.probability > 0.5
    assert found.kind == kind
