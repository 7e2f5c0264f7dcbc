"""What is taken where nobody says anything: usual values within the trade's bands, else nothing."""

import pytest

from drainsim.vehicle.keys.schema import PARAMETERS
from tests.build import case_of

# Usual values and the band each was chosen from. Where no source stands beside a line it is common
# practice, no source: the band is how far workshops' and fleets' usual figures lie apart.
BANDS = {
    "battery.age_years": (2.5, 3.5),  # batteries are replaced at five to seven
    "battery.state_of_charge": (0.8, 0.9),  # after ordinary driving; a maker's page: about 90 %
    "battery.resting_temperature_c": (15.0, 25.0),
    "battery.second_capacity_ah": (75.0, 100.0),  # leisure batteries
    "battery.second_charging_a": (15.0, 25.0),  # relay and a 4 mm² cable
    "battery.second_charging_drop_v": (0.3, 0.6),
    "unit.sleep_a": (0.003, 0.005),
    "unit.report_interval_h": (1.0, 1.0),
    "unit.report_charge_as": (5.0, 9.0),  # half a minute of 200 to 300 mA
    "unit.peak_a": (0.2, 0.3),
    "unit.rated_at_v": (12.0, 12.0),
    "unit.off_a": (0.00005, 0.00012),
    "unit.coverage": (1.0, 1.0),
    "unit.report.fix_hot_s": (1.0, 2.5),
    "unit.report.fix_warm_s": (23.0, 30.0),  # four receiver boards: 23 to 29 s
    "unit.report.fix_cold_s": (26.0, 40.0),  # the same boards: 26 to 40 s
    "unit.report.ephemeris_valid_h": (4.0, 4.0),  # satellite interface specification
    "vehicle.quiescent_a": (0.035, 0.05),  # trade rule 20 to 75 mA, newer cars 50 to 85 mA
    "vehicle.engine_litres": (1.6, 2.2),
    "vehicle.minimum_cranking_v": (7.2, 7.5),  # SAE J537; EN 50342-1
    "top_up.every_h": (24.0, 24.0),
    "top_up.current_a": (15.0, 25.0),
    "top_up.minutes": (10.0, 19.0),
    "top_up.monitor_a": (0.003, 0.006),
    "top_up.traction_kwh": (30.0, 50.0),
    "top_up.traction_state_of_charge": (0.5, 0.6),
    "top_up.traction_limit": (0.08, 0.12),
    "top_up.traction_loss_per_month": (0.01, 0.025),
    "solar.clear_share": (0.15, 0.22),  # below published German Decembers, 0.22 to 0.49
    "solar.efficiency": (0.55, 0.65),
    "maintainer.current_a": (0.8, 1.2),
    "maintainer.absorption_v": (14.4, 14.8),
    "maintainer.float_v": (13.5, 13.8),
    "maintainer.compensation_v_per_k": (-0.020, -0.017),  # charger table: -17 mV/K
    "maintainer.mains_efficiency": (0.7, 0.8),
    "maintainer.hours_per_day": (24.0, 24.0),
    "pattern.trips_per_week": (10.0, 10.0),  # to work and back
    "pattern.trip_minutes": (15.0, 25.0),
    "pattern.idle_share": (0.2, 0.3),
    "pattern.load_a": (20.0, 30.0),
    "pattern.alternator_a": (80.0, 110.0),
    "pattern.alternator_idle_share": (0.32, 0.5),  # published 0.2 to 0.86; a hot test: 0.32
    "pattern.regulated_v": (14.0, 14.4),  # middle of a workshop manual's band (2018)
    "pattern.smart_charge": (0.75, 0.85),
    "pattern.crank_s": (1.0, 1.9),  # published row: 1 to 2 s
    "pattern.weeks": (52.0, 61.0),  # a year, and two months to forget the start
    "pattern.target_charge": (0.8, 0.8),  # trade FAQ: below 80 % plates sulfate
    "site.start_hour": (6.0, 7.0),
    "site.battery_lag_h": (4.0, 7.0),
    "run.horizon_days": (180.0, 184.0),  # half a year
    "run.draws": (1000.0, 1000.0),
    "run.seed": (1.0, 1.0),
    # Spreads of what is known only so well.
    "uncertainty.cold_power_sigma": (0.4, 0.6),
    "uncertainty.low_charge_sd": (0.04, 0.06),
    "uncertainty.weather_correlation": (0.6, 0.8),  # day to day, of mid-latitude temperature
    "uncertainty.regulated_sd_v": (0.15, 0.25),  # printed bands are ±0.5 V: two and a half of it
    "uncertainty.acceptance_sigma": (0.3, 0.4),
    "uncertainty.trip_sigma": (0.1, 0.18),
    "uncertainty.charger_sigma": (0.15, 0.25),
    "uncertainty.cloud_sd": (0.4, 0.6),
}
BY_CASE = {
    "vehicle.quiescent_a": {"motorcycle": (0.001, 0.0025), "trailer": (0.0, 0.0)},
    "vehicle.engine_litres": {"motorcycle": (0.5, 0.7)},
    "vehicle.minimum_cranking_v": {"hybrid": (9.0, 10.0), "electric": (9.0, 10.0)},
    "top_up.traction_kwh": {"hybrid": (1.2, 1.9)},
    "pattern.load_a": {"24V": (12.0, 18.0), "motorcycle": (8.0, 12.0), "trailer": (0.0, 0.0)},
    "pattern.alternator_a": {
        "motorcycle": (20.0, 30.0),
        "hybrid": (100.0, 150.0),
        "electric": (100.0, 150.0),
        "trailer": (12.0, 18.0),
    },
    "pattern.alternator_idle_share": {"hybrid": (1.0, 1.0), "electric": (1.0, 1.0)},
    "pattern.regulated_v": {"trailer": (13.5, 13.8)},
}


def test_every_usual_value_lies_in_its_band() -> None:
    """Each number that stands in for something nobody said, and no other."""
    usual = {
        name: each.default
        for name, each in PARAMETERS.items()
        if isinstance(each.default, int | float) and each.default != 0
    }
    assert set(usual) == set(BANDS)
    for name, value in usual.items():
        low, high = BANDS[name]
        assert low <= value <= high, name


def test_usual_values_of_a_kind_or_system_lie_in_theirs() -> None:
    """A motorcycle, a trailer, a lorry and vehicles with a traction battery have their own."""
    own = {
        name: dict(each.usual_for)
        for name, each in PARAMETERS.items()
        if any(isinstance(value, int | float) for value in each.usual_for.values())
    }
    assert {name: set(values) for name, values in own.items()} == {
        name: set(bands) for name, bands in BY_CASE.items()
    }
    for name, bands in BY_CASE.items():
        for case, (low, high) in bands.items():
            assert low <= own[name][case] <= high, (name, case)


def test_what_nobody_mentions_is_not_there() -> None:
    """No heater, screen, shade, cell, self-test or sun unless someone says so."""
    case = case_of(
        {
            "battery": {},
            "unit": {"sleep_a": 0.002, "report_charge_as": 0.0},
            "maintainer": {},
            "solar": {"panel_w": 10},
            "pattern": {},
        }
    )
    assert case.unit.normal_current_a == 0.002
    assert case.unit.once_ah == 0.0
    assert (case.vehicle.block_heater_k, case.vehicle.battery_heater_k) == (0.0, 0.0)
    assert case.pattern is not None
    assert (case.pattern.heated_screens_a, case.pattern.warm_up_k) == (0.0, 0.0)
    assert case.maintainer is not None
    assert case.maintainer.charging_a[0] > 0.0
    said = case_of(
        {
            "battery": {},
            "unit": {"sleep_a": 0.002, "report": {"fix_a": 0.0}},
            "solar": {"panel_w": 10, "tilt_deg": 0, "shading": 0},
            "site": {"sun_soak_c": 0},
        }
    )
    assert said.unit.normal_current_a == pytest.approx(0.002)
    assert said.solar is not None
    assert case.solar is not None
    assert (said.solar.charging_a == case.solar.charging_a).all()
    assert (said.site.battery_c == case.site.battery_c).all()
