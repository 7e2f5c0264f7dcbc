"""The second model against published values it was not fitted to, before it judges anything."""

import numpy as np
import pytest

from tests.second_opinion.second_model import (
    available_share,
    days_until_no_start,
    sun_hours,
    warm_demand_a,
)

_CAR = {
    "type": "flooded", "ah": 60, "cca": 540, "age": 0, "charge": 1.0, "litres": 2.0,
    "fuel": "petrol", "oil_w": 5, "quiescent_a": 0.03, "unit_a": 0.0, "lows": [25.0] * 12,
    "highs": [25.0] * 12, "weather_sd_c": 0.0, "day_of_year": 335, "start_hour": 7, "lag_h": 6,
    "panel_w": 0, "clear_share": 0.3, "latitude": 50,
}  # fmt: skip


def test_stands_between_the_makers_rule_and_three_times_as_long() -> None:
    """Vehicle maker's bulletin: RC 70 min, 30 mA, 23 days; tests on cars two to three times it."""
    capacity_ah = (70 / 0.83) ** (1 / 1.17)  # battery maker: RC = 0.83 C20^1.17
    days = days_until_no_start(_CAR | {"ah": capacity_ah, "cca": 9 * capacity_ah})
    assert 23 < days[1] < 3 * 23


@pytest.mark.parametrize(
    ("oil_w", "starts_c", "fails_c"),
    [(0, -25, -38), (5, -20, -32), (10, -18, -30), (15, -15, -26)],
    # Textbook lesson: cars start down to -18 to -25 °C. SAE J300: 0W ends at -35, 5W at -30, 10W at
    # -25, 15W at -20 °C; a battery and engine of common size cannot be far better than its oil.
)
def test_a_full_battery_ends_where_textbook_and_oil_grade_end(
    oil_w: int, starts_c: float, fails_c: float
) -> None:
    """A start at the warm end of the published range, none beyond what the oil allows."""
    for air_c, fails in ((starts_c, False), (fails_c, True)):
        cold = _CAR | {"oil_w": oil_w, "lows": [air_c] * 12, "highs": [air_c] * 12}
        assert bool(days_until_no_start(cold, horizon=1)[1] == 0) == fails


def test_the_usual_battery_starts_full_at_minus_18_and_not_at_40_percent() -> None:
    """Retailer's usual rating for four cylinders, 600 A, at the rating's own temperature."""
    full, low = 600 * available_share(np.array([-17.8, -17.8]), np.array([1.0, 0.4]))
    assert low < 2.1 * warm_demand_a(2.0, "petrol") < full


def test_the_sun_above_the_air_is_the_textbooks() -> None:
    """Solar engineering handbook, from memory: 40° north about 4.0 in December, 11.6 in June."""
    assert sun_hours(np.array([344.0, 162.0]), 40.0) == pytest.approx([4.0, 11.6], rel=0.05)
