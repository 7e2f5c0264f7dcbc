"""A deliberately wrong constant makes named checks fail: the checks can fail."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from drainsim.evidence.registry import all_checks
from drainsim.files.profile import BatteryProfile
from drainsim.physics import (
    acceptance,
    alternator,
    ambient,
    capacity,
    charging,
    cranking,
    electrolyte,
    load,
    oil,
    solar,
    wiring,
)
from drainsim.vehicle import kind
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Parameter
from drainsim.vehicle.vehicle import VEHICLE

Patch = pytest.MonkeyPatch
Mutation = Callable[[Patch], None]
CHECKS = {check.key: check for check in all_checks()}


def _number(name: str, change: Callable[[float], float]) -> Mutation:
    """Change a scalar figure of every battery profile."""

    def mutate(patch: Patch) -> None:
        plain = BatteryProfile.number
        patch.setattr(
            BatteryProfile,
            "number",
            lambda self, asked: change(plain(self, asked)) if asked == name else plain(self, asked),
        )

    return mutate


def _curve(name: str, change: Callable[[np.ndarray], np.ndarray]) -> Mutation:
    """Change a curve of every battery profile."""

    def mutate(patch: Patch) -> None:
        plain = BatteryProfile.curve
        patch.setattr(
            BatteryProfile,
            "curve",
            lambda self, asked: (
                change(plain(self, asked).copy()) if asked == name else plain(self, asked)
            ),
        )

    return mutate


def _constant(module: object, name: str, change: Callable[[object], object]) -> Mutation:
    """Change a module's constant."""

    def mutate(patch: Patch) -> None:
        patch.setattr(module, name, change(getattr(module, name)))

    return mutate


def _default(parameter: Parameter, value: float) -> Mutation:
    """Change what is taken where a key is not given."""

    def mutate(patch: Patch) -> None:
        plain = Ledger.take_with_origin

        def take(self: Ledger, asked: Parameter, *more: object) -> tuple[object, str]:
            found, origin = plain(self, asked, *more)
            return (value if asked == parameter and origin == "default" else found), origin

        patch.setattr(Ledger, "take_with_origin", take)

    return mutate


def _together(*mutations: Mutation) -> Mutation:
    def mutate(patch: Patch) -> None:
        for one in mutations:
            one(patch)

    return mutate


def _add(column: int, amount: float) -> Callable[[np.ndarray], np.ndarray]:
    def change(points: np.ndarray) -> np.ndarray:
        moved = np.array(points, dtype=float)
        moved[:, column] += amount
        return moved

    return change


def _one_row_down(points: np.ndarray) -> np.ndarray:
    """Give every temperature the share of the row above it."""
    moved = points.copy()
    moved[:-1, 1] = points[1:, 1]
    return moved


def _as_before(points: np.ndarray) -> np.ndarray:
    """Go straight down through 20 % at -28.9 °C."""
    moved = points.copy()
    moved[:2, 1] = [0.001, 0.20]
    return moved


def _oil_limits(kelvins: float) -> Mutation:
    """Move the temperature of every grade's cranking test."""

    def mutate(patch: Patch) -> None:
        moved = {
            key: (limit_c + kelvins, limit) for key, (limit_c, limit) in oil._CRANKING_LIMIT.items()
        }
        patch.setattr(oil, "_CRANKING_LIMIT", moved)
        patch.setattr(oil, "_walther", oil._walther.__wrapped__)

    return mutate


def _peukert(patch: Patch) -> None:
    """Extrapolate the power law, exponent 1.2, instead of saturating."""
    patch.setattr(
        capacity,
        "capacity_at_runtime_ah",
        lambda hours, two_wells: (
            two_wells.low_rate_capacity_ah / 1.05 * (np.asarray(hours) / 20.0) ** (0.2 / 1.2)
        ),
    )
    patch.setattr(
        capacity,
        "runtime_h",
        lambda current_a, two_wells: (
            20.0 * (two_wells.low_rate_capacity_ah / 1.05 / 20.0 / current_a) ** 1.2
        ),
    )


def _resistance(factor: float) -> Mutation:
    """Raise the battery's resistance: less current at every voltage."""

    def mutate(patch: Patch) -> None:
        plain = cranking.available_current_a
        patch.setattr(
            cranking, "available_current_a", lambda *args, **kw: plain(*args, **kw) / factor
        )

    return mutate


MUTATIONS: dict[str, tuple[Mutation, tuple[str, ...]]] = {
    "internal resistance x 1.5": (
        _resistance(1.5),
        ("label-sae-7.2v-30s", "crank-load-test-18c"),
    ),
    "cold cranking current per Ah / 1.5": (
        _number("cold_cranking_a_per_ah", lambda value: value / 1.5),
        ("crank-usual-4cyl", "crank-usual-6cyl"),
    ),
    "voltage drop 10 s into a crank x 1.5": (
        _constant(cranking, "_TEN_SECOND_SHARE", lambda value: 1.5 * value),
        ("label-en-7.5v-10s",),
    ),
    "self-discharge x 3": (
        _number("self_discharge_per_day", lambda value: 3.0 * value),
        ("loss-antimony-10c", "loss-agm-handbook-20c", "loss-16-weeks-faq", "loss-agm-standby"),
    ),
    "self-discharge doubles per 20 K": (
        _number("self_discharge_doubling_k", lambda value: 2.0 * value),
        ("loss-law-seller", "loss-antimony-10c"),
    ),
    "Peukert extrapolated": (
        _peukert,
        (
            "rate-c2000-physics-library",
            "rate-c2000-kinetic-library",
            "rate-measured-slow-end",
        ),
    ),
    "low-rate gain 0.5": (
        _number("low_rate_gain", lambda value: 0.5),
        ("label-capacity-rc120-bulletin", "rate-c2000-physics-library"),
    ),
    "viscous part of cranking x 1.5": (
        _constant(oil, "_VISCOUS_SHARE", lambda value: 1.5 * value),
        ("crank-need-18c", "crank-limit-5w"),
    ),
    "cranking torque with the cube root of viscosity": (
        _constant(oil, "_EXPONENT", lambda value: 1.0 / 3.0),
        ("crank-need-29c", "crank-oil-six"),
    ),
    "cranking limits 10 K too warm": (
        _oil_limits(10.0),
        ("crank-limit-5w", "crank-limit-5w-owner"),
    ),
    "no power at -40 °C, 20 % at -29": (
        _curve("cranking_share_by_temperature", _as_before),
        ("crank-limit-5w", "crank-limit-5w-owner"),
    ),
    "motorcycle demand x 2": (
        _together(
            _constant(kind, "_MOTORCYCLE_BASE_A", lambda value: 2.0 * value),
            _constant(kind, "_MOTORCYCLE_A_PER_LITRE", lambda value: 2.0 * value),
        ),
        ("motorcycle-starter", "motorcycle-starter-small"),
    ),
    "contactor demand x 4": (
        _constant(
            kind,
            "KINDS",
            lambda value: {**value, "electric": replace(value["electric"], demand_a=80.0)},
        ),
        ("contactor-current",),
    ),
    "engine demand x 2": (
        _together(
            _constant(cranking, "_PETROL_BASE_A", lambda value: 2.0 * value),
            _constant(cranking, "_PETROL_A_PER_LITRE", lambda value: 2.0 * value),
        ),
        ("crank-current-blog", "crank-current-diesel", "stand-truck-three-weeks"),
    ),
    "diesel factor 1": (
        _constant(cranking, "_DIESEL_FACTOR", lambda value: 1.0),
        ("crank-current-diesel",),
    ),
    "freezing table 5 K too cold": (
        _constant(electrolyte, "_FREEZING", _add(1, -5.0)),
        ("freeze-1150-course", "freeze-1220-traction", "freeze-flat-manual"),
    ),
    "acid too dense when flat": (
        _curve("specific_gravity", _add(1, 0.03)),
        ("freeze-flat-manual",),
    ),
    "resting voltage + 0.15 V": (
        _curve("open_circuit_v", _add(1, 0.15)),
        ("ocv-flooded-full-bands", "ocv-theory-half", "ocv-12.4v-is-75-percent"),
    ),
    "resting voltage 3 mV/K": (
        _number("open_circuit_v_per_k", lambda value: 0.003),
        ("ocv-per-k-measured",),
    ),
    "cranking share table one row off": (
        _curve("cranking_share_by_temperature", _one_row_down),
        ("crank-power-18c", "crank-power-qa", "crank-power-automotive"),
    ),
    "cranking power keeps up as charge falls": (
        _curve(
            "cranking_share_by_charge",
            lambda points: np.column_stack([points[:, 0], np.sqrt(points[:, 1])]),
        ),
        ("crank-charge-50",),
    ),
    "voltage knee 2 V": (
        _number("cranking_knee_v", lambda value: 2.0),
        ("label-din-over-en", "crank-resistance-warm"),
    ),
    "reserve exponent 1.25": (
        _number("reserve_minutes_exponent", lambda value: 1.25),
        ("label-reserve-55ah-textbook", "label-capacity-rc120-charger"),
    ),
    "capacity in the cold + 0.15": (
        _curve("capacity_share_by_temperature", _add(1, 0.15)),
        ("capacity-0c-traction", "capacity-10c-core", "capacity-40c-agm"),
    ),
    "service life halves per 20 K": (
        _number("service_life_halving_k", lambda value: 20.0),
        ("life-25c", "life-30c"),
    ),
    "default quiescent current x 3": (
        _default(VEHICLE.quiescent_a, 0.12),
        ("vehicle-default-press", "vehicle-default-training"),
    ),
    "copper resistivity x 1.1": (
        _constant(wiring, "COPPER_OHM_MM2_PER_M", lambda value: 1.1 * value),
        ("wire-awg-18", "cable-class5-1.0", "cable-towing-1.5"),
    ),
    "copper temperature coefficient x 2": (
        _constant(wiring, "COPPER_PER_K", lambda value: 2.0 * value),
        ("copper-90c",),
    ),
    "wire gauge ratio 100": (
        _constant(wiring, "_AWG_RATIO", lambda value: 100.0),
        ("wire-awg-12", "wire-awg-4-0-diameter"),
    ),
    "fuse carries its rating for good": (
        _constant(wiring, "CONTINUOUS_SHARE", lambda value: 1.0),
        ("fuse-continuous",),
    ),
    "alternator gives half": (
        _constant(alternator, "_OUTPUT", lambda value: value * [1.0, 0.5]),
        ("alternator-2500",),
    ),
    "nothing lost while charging": (
        _constant(acceptance, "FLOODED", lambda v: v._replace(efficiency_full=0.95)),
        ("charge-return-factor", "charge-efficiency-mean"),
    ),
    "cold batteries take a quarter": (
        _constant(acceptance, "_COLD_LOG", lambda value: value + np.log(4.0)),
        ("acceptance-cold-federal",),
    ),
    "alternator gives half while driving": (
        _constant(alternator, "DRIVING_SHARE", lambda value: 0.5 * value),
        ("alternator-driving",),
    ),
    "sunshine + 40 %": (
        _constant(solar, "SOLAR_CONSTANT_KW_M2", lambda value: 1.4 * value),
        ("sun-temperate-december", "sun-temperate-march", "sun-temperate-june"),
    ),
    "regulated voltage flat": (
        _constant(charging, "SLOPE_V_PER_K", lambda value: 0.0),
        ("regulated-slope-marine", "regulated-car-80c"),
    ),
    "regulated voltage + 1 V": (
        _constant(charging, "MIDDLE_V", lambda value: 15.15),
        ("regulated-lift-41c", "regulated-paver"),
    ),
    "AGM takes charge as flooded does": (
        _constant(acceptance, "AGM", lambda value: acceptance.FLOODED),
        ("acceptance-agm-hour", "acceptance-agm-kept"),
    ),
    "AGM curve + 0.2 V": (
        _curve("open_circuit_v", _add(1, 0.2)),
        ("ocv-agm-12.2v-is-40-percent", "ocv-agm-half-owner"),
    ),
    "climate two months late": (
        _constant(ambient, "_MID_MONTH", lambda value: np.asarray(value) + 60.0),
        ("climate-continental-july", "climate-temperate-march"),
    ),
    "hour of 360 s in the unit's mean current": (
        _constant(load, "SECONDS_PER_HOUR", lambda value: 360.0),
        ("unit-lte-heartbeat", "unit-2g-slot"),
    ),
}


@pytest.mark.parametrize("name", MUTATIONS)
def test_a_wrong_constant_fails_named_checks(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each named check passes with the constant as it is and fails with the wrong one."""
    mutate, keys = MUTATIONS[name]
    for key in keys:
        assert CHECKS[key].run().passed, f"{key} must pass before the change"
    mutate(monkeypatch)
    unmoved = [key for key in keys if CHECKS[key].run().passed]
    assert not unmoved


def test_enough_constants_are_mutated() -> None:
    """At least twelve different constants are shown to matter."""
    assert len(MUTATIONS) >= 12
