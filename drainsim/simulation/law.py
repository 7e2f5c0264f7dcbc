"""A battery type's behaviour as fine tables, looked up at every step."""

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from drainsim.files.profile import BatteryProfile
from drainsim.physics.capacity import rate_deficit_ah
from drainsim.physics.cranking import (
    COLDEST_C,
    RATING_C,
    WARMEST_C,
    cranking_share,
    demand_factor,
    headroom_share,
    published_range_c,
)
from drainsim.physics.electrolyte import freezing_c
from drainsim.physics.open_circuit import open_circuit_v
from drainsim.physics.tables import FloatArray, interpolate
from drainsim.simulation.lookup import Axis, Lines, axis, lines, look_up
from drainsim.vehicle.case import Case

_CHARGE_POINTS: Final = 401
_TEMPERATURE_POINTS: Final = 401
NEVER_FREEZES_C: Final = -1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BatteryLaw:
    """Look-up tables of one profile at one minimum cranking voltage.

    The start margin splits into strength(charge) × ease(temperature) ÷ need, where need is the
    warm cranking demand over the battery's 30 s cold cranking current at its age: the same
    numbers as `physics.cranking.available_current_a` ÷ (demand × `demand_factor`).
    """

    charge: FloatArray
    strength: FloatArray
    resting_v: FloatArray
    freezing_c: FloatArray
    temperature_c: FloatArray
    ease: FloatArray
    resting_reference_c: float
    resting_per_k: float
    low_rate_gain: float
    doubling_k: float
    published_c: tuple[float, float]
    lowest_charge: float = 0.0  # where a built-in protection disconnects
    _by_charge: Axis = field(init=False, repr=False)
    _by_temperature: Axis = field(init=False, repr=False)
    _strength: Lines = field(init=False, repr=False)
    _resting: Lines = field(init=False, repr=False)
    _freezing: Lines = field(init=False, repr=False)
    _ease: Lines = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Prepare the tables for being looked up."""
        prepared = {
            "_by_charge": axis(self.charge),
            "_by_temperature": axis(self.temperature_c),
            "_strength": lines(self.charge, self.strength),
            "_resting": lines(self.charge, self.resting_v),
            "_freezing": lines(self.charge, self.freezing_c),
            "_ease": lines(self.temperature_c, self.ease),
        }
        for name, value in prepared.items():
            object.__setattr__(self, name, value)

    def resting_at_v(self, charge: FloatArray, temperature_c: FloatArray) -> FloatArray:
        """Return the resting voltage."""
        at_reference = look_up(charge, self._by_charge, self._resting)
        return at_reference + self.resting_per_k * (temperature_c - self.resting_reference_c)

    def charge_at_v(self, resting_v: FloatArray, temperature_c: FloatArray) -> FloatArray:
        """Return the charge at which a resting voltage is reached; -1 where below empty."""
        wanted = resting_v - self.resting_per_k * (temperature_c - self.resting_reference_c)
        return np.interp(wanted, self.resting_v, self.charge, left=-1.0)

    def strength_at(self, charge: FloatArray) -> FloatArray:
        """Return the part of the start margin that depends on charge."""
        return look_up(charge, self._by_charge, self._strength)

    def ease_at(self, temperature_c: FloatArray) -> FloatArray:
        """Return the part of the start margin that depends on temperature."""
        return look_up(temperature_c, self._by_temperature, self._ease)

    def margin(self, charge: FloatArray, temperature_c: FloatArray, need: FloatArray) -> FloatArray:
        """Return the start margin: current available over current demanded."""
        return self.strength_at(charge) * self.ease_at(temperature_c) / need

    def reach(
        self,
        charge: FloatArray,
        *,
        drawn_a: FloatArray,
        full_ah: FloatArray,
        low_charge_shift: FloatArray,
    ) -> FloatArray:
        """Return the charge a crank can reach: less the rate deficit and a lane's shift.

        The shift s moves the charge at which cranking collapses: reach = c − s (1 − c), full
        staying full. Nothing is in reach where a built-in protection has disconnected.
        """
        behind_ah = rate_deficit_ah(np.maximum(drawn_a, 0.0), low_rate_gain=self.low_rate_gain)
        near = charge - behind_ah / full_ah
        reach = np.clip(near - low_charge_shift * (1.0 - near), 0.0, 1.0)
        return np.where(charge > self.lowest_charge, reach, 0.0)

    def lowest_resting_v(self) -> float:
        """Return a resting voltage below any this battery can show."""
        coldest = self.resting_per_k * (COLDEST_C - self.resting_reference_c)
        warmest = self.resting_per_k * (WARMEST_C - self.resting_reference_c)
        return float(self.resting_v[0]) + min(coldest, warmest)

    def freezes_at_c(self, charge: FloatArray) -> FloatArray:
        """Return the temperature at which the electrolyte begins to freeze."""
        return look_up(charge, self._by_charge, self._freezing)


def law_of(case: Case) -> BatteryLaw:
    """Return the look-up tables of a case."""
    vehicle = case.vehicle
    return battery_law(
        case.battery.profile,
        minimum_v=vehicle.minimum_cranking_v,
        turns_engine=vehicle.turns_engine,
    )


def battery_law(
    profile: BatteryProfile, *, minimum_v: float, turns_engine: bool = True
) -> BatteryLaw:
    """Return the look-up tables of a profile; contactors do not care for cold oil."""
    knots = np.concatenate(
        [profile.curve("cranking_share_by_charge")[:, 0], profile.curve("open_circuit_v")[:, 0]]
    )
    charge = np.union1d(np.linspace(0.0, 1.0, _CHARGE_POINTS), knots)
    curve = profile.curve("open_circuit_v")
    reference_c = profile.number("open_circuit_temperature_c")
    per_k = profile.number("open_circuit_v_per_k")

    def resting(temperature_c: float) -> FloatArray:
        return open_circuit_v(
            charge, temperature_c, curve=curve, curve_temperature_c=reference_c, per_k=per_k
        )

    by_charge = interpolate(
        charge, profile.curve("cranking_share_by_charge"), name="state_of_charge", unit=""
    )
    headroom = headroom_share(
        resting(RATING_C), minimum_v=minimum_v, knee_v=profile.number("cranking_knee_v")
    )
    by_temperature = profile.curve("cranking_share_by_temperature")
    temperature = np.linspace(COLDEST_C, WARMEST_C, _TEMPERATURE_POINTS)
    share = cranking_share(temperature, curve=by_temperature) / cranking_share(
        RATING_C, curve=by_temperature
    )
    if profile.has("specific_gravity"):
        gravity = interpolate(
            charge, profile.curve("specific_gravity"), name="state_of_charge", unit=""
        )
        freezing = freezing_c(gravity)
    else:
        freezing = np.full_like(charge, NEVER_FREEZES_C)
    return BatteryLaw(
        charge=charge,
        strength=by_charge * headroom,
        resting_v=resting(reference_c),
        freezing_c=freezing,
        temperature_c=temperature,
        ease=share / demand_factor(temperature) if turns_engine else share,
        resting_reference_c=reference_c,
        resting_per_k=per_k,
        low_rate_gain=profile.number("low_rate_gain"),
        doubling_k=profile.number("self_discharge_doubling_k"),
        published_c=published_range_c(by_temperature),
        lowest_charge=_lowest_charge(profile),
    )


def _lowest_charge(profile: BatteryProfile) -> float:
    """Return the charge at which a built-in protection disconnects the battery; 0 without."""
    if not profile.has("protection_cutoff_v"):
        return 0.0
    curve = profile.curve("open_circuit_v")
    return float(np.interp(profile.number("protection_cutoff_v"), curve[:, 1], curve[:, 0]))
