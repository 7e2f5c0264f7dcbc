"""What the stands a vehicle has behind it teach, and how forecasts made in them came out."""

import math
import zlib
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from drainsim.answers.readings.history.nights import Nights
from drainsim.answers.readings.history.stands import Cut, Stand, nights_of
from drainsim.answers.readings.posterior.conditioning import Crank, Posterior, condition
from drainsim.answers.readings.posterior.learned import Learned, at_next_stand, nothing_learned
from drainsim.answers.readings.state import Memory
from drainsim.answers.readings.vehicle_case import VehicleCase
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.units import HOURS_PER_DAY, SECONDS_PER_DAY, SECONDS_PER_HOUR
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.run import RUN

LEAST_NIGHTS: Final = 2  # of a stand that teaches anything
_BEGIN_ANEW: Final = 4.0  # deviations by which an offset surprises: another battery or unit
AHEAD_NIGHTS: Final = 7  # of a back-test's forecast
_FIRST_TOLD: Final = 3  # nights before the first forecast that is tested
_NEAR_H: Final = 6.0  # of the night that was told
_TEST_DRAWS: Final = 200
_TEST_ROUNDS: Final = (600, 400, 400)
_LAST_CRANKS: Final = 20
_RECENT_S: Final = 3.0 * SECONDS_PER_DAY
_SHARED_CHARGE_V: Final = 0.03  # 4 % of charge that a whole fleet may be wrong about
# Of units that cut a voltage off at a step instead of rounding it: common practice, no source.
_CUT_SHARE: Final = 0.3
_CUT_SD: Final = 0.23  # standard deviation of what cutting takes off, in steps
_USUAL_REST_V: Final = 12.5  # before a crank whose resting voltage was not reported
# What a list is read with on a morning, and no past stand depends on.
_OF_A_MORNING: Final[dict[str, Any]] = dict.fromkeys(
    (SITE.parked_from, RUN.horizon_days, RUN.draws)
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What a vehicle's past stands came to."""

    learned: Learned  # for the next stand
    faults: tuple[float, ...]  # P(extra drain) in each stand
    voltages_inside: int
    voltages: int
    starts_expected: float
    starts: int
    begun_anew_s: float | None  # when another battery or unit was recognised


@dataclass(frozen=True, slots=True, kw_only=True)
class Learner:
    """One vehicle while its stands are gone through."""

    vehicle: VehicleCase
    found: Cut
    shift_s: float
    curves: BatteryCurves
    memory: Memory

    @property
    def id_code(self) -> int:
        """A number of the vehicle's name."""
        return zlib.crc32(self.found.history.vehicle_id.encode())

    def nights(self, stand: Stand, until_s: float = math.inf) -> Nights:
        """Return a stand's nights up to a moment."""
        return nights_of(
            self.found,
            stand,
            start_hour=self.vehicle.now.site.start_hour,
            shift_s=self.shift_s,
            until_s=until_s,
        )

    def posterior(
        self,
        stand: Stand,
        nights: Nights,
        *,
        now_h: float,
        learned: Learned,
        draws: int = _TEST_DRAWS,
        **how: Any,
    ) -> Posterior:
        """Return draws that agree with the nights of a stand; `how` as in `condition`."""
        return condition(
            self.vehicle.over,
            self.vehicle.battery_c(stand.start_s),
            nights,
            now_h=now_h,
            learned=learned,
            draws=draws,
            seed=[self.id_code, int(stand.start_s), len(nights)],
            curves=self.curves,
            **how,
        )

    def known(self, stand: Stand, nights: Nights, learned: Learned) -> list[Any]:
        """Return what draws of a stand depend on."""
        arrays = [
            getattr(nights, name)
            for name in nights.__slots__
            if isinstance(getattr(nights, name), np.ndarray)
        ]
        return [
            *arrays,
            nights.step_v,
            nights.scatter_v,
            stand.start_s,
            learned.mean,
            learned.covariance,
            learned.fault,
            self.vehicle.past.with_values(_OF_A_MORNING).tables,
            self.vehicle.over.battery.start,
        ]


def past_of(learner: Learner, fresh: Learned) -> Past:
    """Return what all stands but the one going on taught, and how all forecasts came out.

    Parameters
    ----------
    learner : Learner
    fresh : Learned
        Of a vehicle nothing is known of.
    """
    learned, anew_s = fresh, None
    faults: list[float] = []
    inside, told, expected, starts = 0, 0, 0.0, 0
    for stand in learner.found.stands:
        if stand.start_s < learner.vehicle.begin_s:
            continue
        nights = learner.nights(stand)
        if stand.anew:
            learned, anew_s = fresh, stand.start_s
        tests = _back_tests(learner, stand, nights, learned)
        inside, told = inside + sum(tests), told + len(tests)
        if not math.isfinite(stand.end_s):
            break
        if len(nights) < LEAST_NIGHTS:
            continue
        came = _closed(learner, stand, nights, learned)
        if came["surprise"] > _BEGIN_ANEW and learned.stands:
            learned, anew_s = fresh, stand.start_s
            came = _closed(learner, stand, nights, learned)
        if stand.started:
            expected, starts = expected + came["starts"], starts + 1
        faults.append(came["fault"])
        learned = at_next_stand(Learned.from_dict(came["learned"]), fresh)
    return Past(
        learned=learned,
        faults=tuple(faults),
        voltages_inside=inside,
        voltages=told,
        starts_expected=expected,
        starts=starts,
        begun_anew_s=anew_s,
    )


def _closed(learner: Learner, stand: Stand, nights: Nights, learned: Learned) -> dict[str, Any]:
    """Return what a stand that has ended came to."""

    def work() -> dict[str, Any]:
        now_h = (stand.end_s - stand.start_s) / SECONDS_PER_HOUR
        end_c = float(learner.vehicle.battery_c(stand.end_s)[0])
        found = learner.posterior(
            stand,
            nights,
            now_h=now_h,
            learned=learned,
            started_at_c=end_c if stand.started else None,
        )
        return {
            "learned": found.learned.as_dict(),
            "fault": found.fault,
            "surprise": found.surprise,
            "starts": found.starts,
        }

    found: dict[str, Any] = learner.memory.recall(
        [*learner.known(stand, nights, learned), stand.end_s, stand.started], work
    )
    return found


def _back_tests(learner: Learner, stand: Stand, nights: Nights, learned: Learned) -> list[bool]:
    """Return for nights a week after a forecast whether they lie in its 80 % band."""
    tests = []
    for first in range(_FIRST_TOLD, len(nights) - 1, AHEAD_NIGHTS):
        told_h = float(nights.rested_h[first - 1])
        target_h = told_h + AHEAD_NIGHTS * HOURS_PER_DAY
        place = int(np.argmin(np.abs(nights.rested_h - target_h)))
        if abs(nights.rested_h[place] - target_h) > _NEAR_H:
            continue
        tests.append(_test(learner, stand, nights, learned, told_h=told_h, place=place))
    return tests


def _test(
    learner: Learner, stand: Stand, nights: Nights, learned: Learned, *, told_h: float, place: int
) -> bool:
    until_s = stand.start_s + (told_h + _NEAR_H) * SECONDS_PER_HOUR
    known = learner.nights(stand, until_s)
    ahead_h = nights.rested_h[place : place + 1]

    def work() -> list[float]:
        found = learner.posterior(
            stand, known, now_h=told_h, learned=learned, ahead_h=ahead_h, rounds=_TEST_ROUNDS
        )
        return [float(v) for v in np.quantile(found.ahead_v[:, 0], [0.1, 0.9])]

    low, high = learner.memory.recall([*learner.known(stand, known, learned), ahead_h], work)
    return bool(low <= nights.voltage_v[place] <= high)


def cranks_before(learner: Learner, until_s: float) -> tuple[Crank, ...]:
    """Return the last starts before a stand, with the margins that their dips showed.

    Notes
    -----
    Ohm's law between resting and minimum: what the battery could give down to the voltage a start
    needs, over what this start took, is the ratio of the two sags. Of starts without a dip those
    of the last days count: the charge then was much as at parking.
    """
    found, history = learner.found, learner.found.history
    read = np.isfinite(history.cranking_minimum_v) & (history.time_s <= until_s)
    places = np.flatnonzero(read)[-_LAST_CRANKS:]
    minimum_v = learner.vehicle.now.vehicle.minimum_cranking_v
    half = 2.0 if found.pair else 1.0
    cranks = [
        Crank(
            log_margin=math.nan,
            temperature_c=float(learner.vehicle.battery_c(stand.end_s)[0]),
        )
        for stand in found.stands
        if stand.started and 0.0 <= until_s - stand.end_s < _RECENT_S
    ]
    for place in places:
        dip_v = float(history.cranking_minimum_v[place]) / half
        rest_v = _rest_before_v(found, int(place))
        if not minimum_v * 0.5 < dip_v < rest_v - 0.1:
            continue
        log_margin = math.log((rest_v - minimum_v) / (rest_v - dip_v))
        moment_c = float(history.battery_temperature_c[place])
        if not math.isfinite(moment_c):
            moment_c = float(learner.vehicle.battery_c(float(history.time_s[place]))[0])
        cranks.append(Crank(log_margin=log_margin, temperature_c=moment_c))
    return tuple(cranks)


def _rest_before_v(found: Cut, place: int) -> float:
    """Return the lowest voltage of the hours before a crank: at rest, if any was."""
    since = found.history.time_s[place] - found.history.time_s[:place] < SECONDS_PER_DAY
    volts = found.voltage_v[:place][since]
    volts = volts[np.isfinite(volts)]
    return float(np.quantile(volts, 0.25)) if len(volts) >= 3 else _USUAL_REST_V


def fresh_of(vehicle: VehicleCase, found: Cut, unit_offset: tuple[float, float]) -> Learned:
    """Return what is known of a vehicle before any stand; some firmware cuts, some rounds."""
    step_v = found.history.step_v if math.isfinite(found.history.step_v) else 0.0
    offset = (
        unit_offset[0] - _CUT_SHARE * step_v / 2.0,
        math.hypot(unit_offset[1], _CUT_SD * step_v),
    )
    return nothing_learned(vehicle.now.battery.profile, unit_offset=offset)


def with_unit_offset(
    learned: Learned, before: tuple[float, float], now: tuple[float, float]
) -> Learned:
    """Return what was learned under one prior of the unit's offset, under another.

    Parameters
    ----------
    learned : Learned
    before, now : (float, float)
        Mean and standard deviation of the unit's offset. [V]
    """
    more = 1.0 / now[1] ** 2 - 1.0 / before[1] ** 2
    if more <= 0.0:
        return learned
    told = (now[0] / now[1] ** 2 - before[0] / before[1] ** 2) / more
    column = learned.covariance[:, -1]
    gain = column / (column[-1] + 1.0 / more)
    return replace(
        learned,
        mean=learned.mean + gain * (told - learned.mean[-1]),
        covariance=learned.covariance - np.outer(gain, column),
    )


def unit_model_offset(
    offsets: list[tuple[float, float]], prior: tuple[float, float], shared_sd_v: float
) -> tuple[float, float]:
    """Return mean and spread of the offset of a further unit of a model.

    Parameters
    ----------
    offsets : list of (float, float)
        Posterior mean and standard deviation of each vehicle's unit offset. [V]
    prior : (float, float)
        Mean and spread under which they were found. [V]
    shared_sd_v : float
        Part of the spread that units of one model share. [V]

    Notes
    -----
    Normal means of two levels. A charge that a whole fleet is wrong about would look like an
    offset of all units: 30 mV of it (4 % of charge) are never learned away.
    """
    own = prior[1] ** 2 - shared_sd_v**2
    precision, weighted = 0.0, 0.0
    for mean, sd in offsets:
        seen = 1.0 / sd**2 - 1.0 / prior[1] ** 2
        if seen <= 0.0:
            continue
        value = (mean / sd**2 - prior[0] / prior[1] ** 2) / seen
        weight = 1.0 / (own + 1.0 / seen)
        precision, weighted = precision + weight, weighted + weight * value
    if precision == 0.0:
        return prior
    noise = 1.0 / precision + _SHARED_CHARGE_V**2
    trust = shared_sd_v**2 / (shared_sd_v**2 + noise)
    mean = prior[0] + trust * (weighted / precision - prior[0])
    return mean, math.sqrt(own + shared_sd_v**2 * (1.0 - trust))
