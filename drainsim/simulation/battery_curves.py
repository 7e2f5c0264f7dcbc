"""A battery type's characteristic curves as fine tables, looked up at every step."""

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np

from drainsim.files.profile import BatteryProfile
from drainsim.physics.capacity import rate_deficit_ah
from drainsim.physics.contactors import contactor_share
from drainsim.physics.cranking import (
    COLDEST_C,
    RATING_C,
    WARMEST_C,
    cold_fall_log,
    cranking_share,
    headroom_share,
    published_range_c,
)
from drainsim.physics.electrolyte import freezing_c
from drainsim.physics.oil import REFERENCE_OIL, WARM_C, turning_factor
from drainsim.physics.open_circuit import open_circuit_v
from drainsim.physics.tables import FloatArray, interpolate
from drainsim.simulation.lookup import Even, even
from drainsim.vehicle.case import Case

# Steps of charge: the fewest on which all knots of a profile's curves lie; the last for a profile
# with knots between all of them, whose kinks are then moved by at most 5e-5 of the charge.
_CHARGE_STEPS: Final = (400, 1000, 2000, 4000, 10_000)
_ON_A_STEP: Final = 1e-9
_TEMPERATURE_POINTS: Final = 401
_OIL_C: Final = (-70.0, 60.0)  # a lane's oil may be thicker or thinner than its grade's middle
NEVER_FREEZES_C: Final = -1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BatteryCurves:
    """Look-up tables of one profile at one minimum cranking voltage.

    The start margin splits into cranking by charge × temperature factor ÷ demand ratio, the
    warm cranking demand over the battery's 30 s cold cranking current at its age: the same
    numbers as `physics.cranking.available_current_a` ÷ (demand × `physics.oil.turning_factor`).
    The factor is the battery's power ÷ the engine's demand. Two things differ from lane to lane:
    by how many kelvins its oil is thicker than the grade's middle, and how fast power falls below
    -18 °C.
    """

    charge: FloatArray
    cranking_by_charge: FloatArray
    resting_v: FloatArray
    freezing_c: FloatArray
    temperature_c: FloatArray
    power: FloatArray  # of the battery over that at -18 °C
    fall: FloatArray  # `cold_fall_log` there
    oil_c: FloatArray
    turning: FloatArray  # current over warm; ones where no engine is turned
    resting_reference_c: float
    resting_per_k: float
    low_rate_gain: float
    published_c: tuple[float, float]
    lowest_charge: float = 0.0  # where a built-in protection disconnects
    block_heater_k: float = 0.0
    turns_engine: bool = True
    _cranking_by_charge: Even = field(init=False, repr=False)
    resting_lines: Even = field(init=False, repr=False)  # at the reference temperature
    _freezing: Even = field(init=False, repr=False)
    _power: Even = field(init=False, repr=False)
    _fall: Even = field(init=False, repr=False)
    _turning: Even = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Prepare the tables for being looked up."""
        prepared = {
            "_cranking_by_charge": even(self.charge, self.cranking_by_charge),
            "resting_lines": even(self.charge, self.resting_v),
            "_freezing": even(self.charge, self.freezing_c),
            "_power": even(self.temperature_c, self.power),
            "_fall": even(self.temperature_c, self.fall),
            "_turning": even(self.oil_c, self.turning),
        }
        for name, value in prepared.items():
            object.__setattr__(self, name, value)

    def resting_at_v(self, charge: FloatArray, temperature_c: FloatArray) -> FloatArray:
        """Return the resting voltage."""
        at_reference = self.resting_lines.at(charge)
        return at_reference + self.resting_per_k * (temperature_c - self.resting_reference_c)

    def charge_at_v(self, resting_v: FloatArray, temperature_c: FloatArray) -> FloatArray:
        """Return the charge at which a resting voltage is reached; -1 where below empty."""
        wanted = resting_v - self.resting_per_k * (temperature_c - self.resting_reference_c)
        return np.interp(wanted, self.resting_v, self.charge, left=-1.0)

    def cranking_by_charge_at(self, charge: FloatArray) -> FloatArray:
        """Return the part of the start margin that depends on charge."""
        return self._cranking_by_charge.at(charge)

    def power_at(
        self, temperature_c: FloatArray, cold_fall: FloatArray | float = 1.0
    ) -> FloatArray:
        """Return the battery's power over that at -18 °C."""
        power = self._power.at(temperature_c)
        if np.min(temperature_c, initial=RATING_C) >= RATING_C:
            return power
        fall = self._fall.at(temperature_c)
        return power * np.exp((cold_fall - 1.0) * fall)

    def turning_at(self, temperature_c: FloatArray, oil_k: FloatArray | float = 0.0) -> FloatArray:
        """Return the current a start takes over that of the warm engine."""
        if not self.turns_engine:
            return np.ones_like(temperature_c)
        oil_c = np.minimum(temperature_c + self.block_heater_k, WARM_C) - oil_k
        return self._turning.at(oil_c)

    def temperature_factor_at(
        self,
        temperature_c: FloatArray,
        oil_k: FloatArray | float = 0.0,
        cold_fall: FloatArray | float = 1.0,
    ) -> FloatArray:
        """Return the part of the start margin that depends on temperature.

        Parameters
        ----------
        temperature_c : shape (...)
            Battery and oil temperature. [°C]
        oil_k : shape (...)
            By how many kelvins the oil is thicker than the grade's middle. [K]
        cold_fall : shape (...)
            How fast power falls below -18 °C, 1 as tabulated.

        Notes
        -----
        Whatever they are, colder is never easier.
        """
        power = self.power_at(temperature_c, cold_fall)
        return power / self.turning_at(temperature_c, oil_k) if self.turns_engine else power

    def margin(
        self,
        charge: FloatArray,
        temperature_c: FloatArray,
        demand_ratio: FloatArray,
        oil_k: FloatArray | float = 0.0,
        cold_fall: FloatArray | float = 1.0,
    ) -> FloatArray:
        """Return the start margin: current available over current demanded.

        Parameters
        ----------
        charge : shape (...)
            Charge a crank can use, from `usable_charge`.
        temperature_c, oil_k, cold_fall : shape (...)
            As in `temperature_factor_at`.
        demand_ratio : shape (...)
            Warm cranking demand over the 30 s cold cranking current.
        """
        return (
            self.cranking_by_charge_at(charge)
            * self.temperature_factor_at(temperature_c, oil_k, cold_fall)
            / demand_ratio
        )

    def usable_charge(
        self,
        charge: FloatArray,
        *,
        drawn_a: FloatArray,
        full_ah: FloatArray,
        low_charge_shift: FloatArray,
        deficit: FloatArray | float = 1.0,
    ) -> FloatArray:
        """Return the charge a crank can reach: less the rate deficit and a lane's shift.

        Parameters
        ----------
        charge : shape (...)
            Share of full.
        drawn_a : shape (...)
            Steady current while standing. [A]
        full_ah : shape (...)
            Full charge. [Ah]
        low_charge_shift : shape (...)
            s below.
        deficit : shape (...)
            Share of the rate deficit that this current has come to, from `deficit_share`.

        Notes
        -----
        The shift s moves the charge at which cranking collapses: reach = c − s (1 − c), full
        staying full. Nothing is in reach where a built-in protection has disconnected.
        """
        behind_ah = rate_deficit_ah(np.maximum(drawn_a, 0.0), low_rate_gain=self.low_rate_gain)
        near = charge - deficit * behind_ah / full_ah
        usable_charge = np.clip(near - low_charge_shift * (1.0 - near), 0.0, 1.0)
        return np.where(charge > self.lowest_charge, usable_charge, 0.0)

    @property
    def monotone(self) -> bool:
        """Whether more charge never cranks worse and never freezes sooner.

        Below 7.2 V the share of the rated current that the headroom leaves falls with charge.
        """
        return bool(
            (np.diff(self.cranking_by_charge) >= 0.0).all()
            and (np.diff(self.freezing_c) <= 0.0).all()
        )

    def charge_that_cranks(self, wanted: FloatArray) -> FloatArray:
        """Return the charge from which `cranking_by_charge_at` reaches a value, if monotone.

        -1 where even an empty battery does, 2 where a full one does not.
        """
        by_charge, charge = self.cranking_by_charge, self.charge
        above = np.searchsorted(by_charge, wanted, side="left")
        inside = np.clip(above, 1, len(charge) - 1)
        rise = by_charge[inside] - by_charge[inside - 1]
        share = (wanted - by_charge[inside - 1]) / np.where(rise > 0.0, rise, 1.0)
        found = charge[inside - 1] + share * (charge[inside] - charge[inside - 1])
        return np.select([above == 0, above == len(charge)], [-1.0, 2.0], found)

    def lowest_resting_v(self) -> float:
        """Return a resting voltage below any this battery can show."""
        coldest = self.resting_per_k * (COLDEST_C - self.resting_reference_c)
        warmest = self.resting_per_k * (WARMEST_C - self.resting_reference_c)
        return float(self.resting_v[0]) + min(coldest, warmest)

    def freezes_at_c(self, charge: FloatArray) -> FloatArray:
        """Return the temperature at which the electrolyte begins to freeze."""
        return self._freezing.at(charge)


def curves_of(case: Case) -> BatteryCurves:
    """Return the look-up tables of a case."""
    vehicle = case.vehicle
    return tabulate_curves(
        case.battery.profile,
        minimum_v=vehicle.minimum_cranking_v,
        turns_engine=vehicle.turns_engine,
        oil=vehicle.oil or REFERENCE_OIL,
        block_heater_k=vehicle.block_heater_k,
        battery_heater_k=vehicle.battery_heater_k,
    )


@lru_cache(maxsize=64)
def tabulate_curves(
    profile: BatteryProfile,
    *,
    minimum_v: float,
    turns_engine: bool = True,
    oil: str = REFERENCE_OIL,
    block_heater_k: float = 0.0,
    battery_heater_k: float = 0.0,
) -> BatteryCurves:
    """Return the look-up tables of a profile.

    Parameters
    ----------
    profile : BatteryProfile
    minimum_v : float
        Voltage that must be left while cranking. [V]
    turns_engine : bool
        False where a start only closes contactors.
    oil : str
        Grade of the engine oil.
    block_heater_k, battery_heater_k : float
        How much warmer a heater keeps the oil, and the battery. [K]

    Notes
    -----
    Contactors do not care for cold oil, and their current is far too small to exhaust the acid in
    the plates: they are judged by the voltage under load alone. Heaters warm what a start needs,
    not the electrolyte's freezing or self-discharge: they may be plugged in for the start only.
    """
    knots = np.concatenate(
        [profile.curve("cranking_share_by_charge")[:, 0], profile.curve("open_circuit_v")[:, 0]]
    )
    charge = _even_charge(knots)
    curve = profile.curve("open_circuit_v")
    reference_c = profile.number("open_circuit_temperature_c")
    per_k = profile.number("open_circuit_v_per_k")

    def resting(temperature_c: float) -> FloatArray:
        return open_circuit_v(
            charge, temperature_c, curve=curve, curve_temperature_c=reference_c, per_k=per_k
        )

    by_charge = (
        interpolate(
            charge, profile.curve("cranking_share_by_charge"), name="state_of_charge", unit=""
        )
        if turns_engine
        else contactor_share(charge)
    )
    headroom = headroom_share(
        resting(RATING_C), minimum_v=minimum_v, knee_v=profile.number("cranking_knee_v")
    )
    by_temperature = profile.curve("cranking_share_by_temperature")
    temperature = np.linspace(COLDEST_C, WARMEST_C, _TEMPERATURE_POINTS)
    heated = np.minimum(temperature + battery_heater_k, WARMEST_C)
    power = cranking_share(heated, curve=by_temperature) / cranking_share(
        RATING_C, curve=by_temperature
    )
    oil_c = np.linspace(*_OIL_C, _TEMPERATURE_POINTS)
    held = np.minimum(oil_c, WARM_C)
    if profile.has("specific_gravity"):
        gravity = interpolate(
            charge, profile.curve("specific_gravity"), name="state_of_charge", unit=""
        )
        freezing = freezing_c(gravity)
    else:
        freezing = np.full_like(charge, NEVER_FREEZES_C)
    return BatteryCurves(
        charge=charge,
        cranking_by_charge=by_charge * headroom,
        resting_v=resting(reference_c),
        freezing_c=freezing,
        temperature_c=temperature,
        power=power,
        fall=cold_fall_log(heated, curve=by_temperature),
        oil_c=oil_c,
        turning=turning_factor(held, grade=oil, thicker_k=held - oil_c),
        resting_reference_c=reference_c,
        resting_per_k=per_k,
        low_rate_gain=profile.number("low_rate_gain"),
        published_c=published_range_c(by_temperature),
        lowest_charge=_lowest_charge(profile),
        block_heater_k=block_heater_k,
        turns_engine=turns_engine,
    )


def _even_charge(knots: FloatArray) -> FloatArray:
    """Return charges from empty to full in equal steps, on which the knots of the curves lie."""
    steps = next(
        (n for n in _CHARGE_STEPS if np.abs(knots * n - np.rint(knots * n)).max() <= _ON_A_STEP),
        _CHARGE_STEPS[-1],
    )
    return np.linspace(0.0, 1.0, steps + 1)


def _lowest_charge(profile: BatteryProfile) -> float:
    """Return the charge at which a built-in protection disconnects the battery; 0 without."""
    if not profile.has("protection_cutoff_v"):
        return 0.0
    curve = profile.curve("open_circuit_v")
    return float(np.interp(profile.number("protection_cutoff_v"), curve[:, 1], curve[:, 0]))
