"""What candidates of a stand rest at before any reading: as far apart as published curves."""

import numpy as np
import pytest

from drainsim.answers.readings.history.nights import Nights
from drainsim.answers.readings.posterior.course import StandCourse
from drainsim.answers.readings.posterior.learned import SIZE, nothing_learned
from drainsim.answers.readings.posterior.likelihood import Candidates, Likelihood
from drainsim.vehicle.case import resolve
from tests.answers.readings.fleet import vehicle

# Sample spread between published and measured curves of a type at full, three quarters and half
# of charge [V], as the profiles name their tables: 7 flooded, 14 AGM.
PUBLISHED_V = {"flooded_calcium": (0.055, 0.057, 0.10), "agm": (0.14, 0.12, 0.12)}


@pytest.mark.parametrize("profile", PUBLISHED_V)
def test_candidates_rest_apart_as_published_curves_do(
    profile: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At each charge candidates differ by half to all of what tables of makes differ by.

    Half, since tables mix fills, roundings and rests; never more, or a voltage would tell less
    of the charge than a table of any make does.
    """
    case = resolve(vehicle(profile=profile))
    nothing = np.zeros(0)
    nights = Nights(
        rested_h=nothing, voltage_v=nothing, temperature_c=nothing, step_v=0.01, scatter_v=0.0,
        voltmeter_h=nothing, voltmeter_v=nothing, crossed_h=nothing, crossed_v=nothing,
    )  # fmt: skip
    learned = nothing_learned(case.battery.profile, unit_offset=(0.0, 0.06))
    likely = Likelihood(case, np.full(48, 20.0), nights, 1.0, nothing, learned)
    count = 4000
    x = np.random.default_rng(1).standard_normal((count, SIZE))
    candidates = Candidates(x, np.zeros(count), np.zeros(count))
    for charge, published_v in zip((1.0, 0.75, 0.5), PUBLISHED_V[profile], strict=True):
        at_charge = np.full((count, 1), charge)
        monkeypatch.setattr(StandCourse, "charge", lambda *_, q=at_charge: q)
        curve_v = likely.course_of(candidates)[1][:, 0]
        battery_sd_v = np.hypot(curve_v.std(), np.sqrt(learned.covariance[SIZE, SIZE]))
        assert 0.5 * published_v < battery_sd_v < 1.02 * published_v
