"""The morning is asked before or after the start hour: today's risk is of the same start."""

from drainsim.answers.readings.morning import morning
from drainsim.answers.readings.results import VehicleForecast
from tests.answers.readings.fleet import BEGIN, DAY_S, history, resting_v, vehicle

_HOUR_S = 3600.0
_SEVEN_S = BEGIN - 10 * _HOUR_S  # of the day the stand begins


def asked(day: int, hours: float) -> VehicleForecast:
    """Return the forecast some hours from the start hour of a day of the stand."""
    draining = history(resting_v(6.9, extra_a=0.3))
    (found,) = morning(
        [draining],
        {"A": vehicle()},
        now_s=_SEVEN_S + day * DAY_S + hours * _HOUR_S,
        workers=1,
    ).vehicles
    return found


def test_before_and_after_the_start_hour_todays_risk_is_of_the_same_start() -> None:
    """Asked at 6 and at 8 for the start at 7; a vehicle loses an eighth of its charge a day."""
    apart = []
    for day in (4, 5, 6):
        early, late, before = asked(day, -1.0), asked(day, 1.0), asked(day - 1, 1.0)
        assert early.risk_today is not None
        assert late.risk_today is not None
        assert before.risk_today is not None
        assert abs(early.risk_today - late.risk_today) < 0.2
        apart.append(late.risk_today - before.risk_today)
    assert max(apart) > 0.2  # a day later it is another matter
