"""Draws of one vehicle that agree with its readings.

A night voltage is curve(charge, temperature), steeper or flatter by make, plus the offsets of
battery and unit plus errors. Offsets and errors are Gaussian and are integrated out in closed
form; what is left (charge, capacity, drain, self-discharge, slope, an extra drain and when it
began) is sampled in the standard normal space of the ordinary draws. Three hypotheses are
sampled apart and weighed by how well each explains the nights: no extra drain, one since parking,
one that began on the way.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np

from drainsim.answers.readings.history.nights import Nights
from drainsim.answers.readings.posterior.learned import INPUTS, SIZE, Learned
from drainsim.answers.readings.posterior.likelihood import Candidates, Likelihood, root
from drainsim.answers.readings.posterior.sampling import ROUNDS, explore, resample
from drainsim.physics.tables import FloatArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.draws import INPUTS as ALL_INPUTS
from drainsim.simulation.draws import normal_probability, standard_draws, with_common_ageing
from drainsim.simulation.lanes import Lanes, lanes_from_draws
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.case import Case

# An extra drain: how likely when a vehicle is parked and on each day after, and its size, evenly
# spread in its logarithm. From a lamp to a control unit that stays awake: common practice, no
# source. The chances keep false accusations of 30-day stands below one in a hundred.
_FAULT_PARKED: Final = 0.15
_FAULT_PER_DAY: Final = 0.002
_FAULT_KEPT: Final = 0.8  # of a probability found at the stand before
_FAULT_A: Final = (0.03, 0.6)
_MOST_LATER: Final = 0.2
_LEAST_DAYS: Final = 1.5  # of a stand in which a drain can begin on the way
_LEAST_MARGIN: Final = 1e-4
_FARTHEST: Final = 7.0  # deviations beyond which draws are equally wrong
_CHARGES: Final = 41  # points of a chance to start against charge
_NEEDS: Final = 200  # engines behind it
_FAILED_UNSEEN: Final = 0.05  # a drive after a start that failed: somebody helped
_COUNTS: Final = 1e-7  # share of the weight below which a candidate says nothing
_OFTEN: Final = 4  # candidates kept for each draw before cranking dips choose among them
# A margin read from a dip: what all dips of a vehicle share, and each one's own. The need is known
# to about ± 12 % from dips (common practice, no source).
_DIP_SHARED: Final = 0.12
_DIP_OWN: Final = 0.10


@dataclass(frozen=True, slots=True, kw_only=True)
class Crank:
    """A start before this stand, with its margin where the dip of the voltage was seen."""

    log_margin: float  # NaN: it started, no more
    temperature_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """Draws that agree with the readings; arrays have shape (draws,).

    `z` holds the ordinary inputs, `steeper` the factor on the curve's fall; the extra drain is 0
    in draws without one. `ahead_v`, shape (draws, moments), is what the unit would show at the
    moments asked for, each night's noise included.
    """

    z: dict[str, FloatArray]
    lanes: Lanes
    extra_a: FloatArray
    begins_h: FloatArray  # after parking
    fault: float  # P(extra drain)
    charge: FloatArray  # now, share of full
    ahead_v: FloatArray
    learned: Learned
    surprise: float  # of the offsets, in standard deviations of what was known before
    starts: float  # P(a start succeeds now), as the voltages alone say


def condition(
    case: Case,
    battery_c: FloatArray,
    nights: Nights,
    *,
    now_h: float,
    learned: Learned,
    draws: int,
    seed: list[int],
    ahead_h: FloatArray | None = None,
    cranks: tuple[Crank, ...] = (),
    started_at_c: float | None = None,
    curves: BatteryCurves,
    rounds: tuple[int, ...] = ROUNDS,
) -> Posterior:
    """Return draws that agree with a stand's readings.

    Parameters
    ----------
    case : Case
        Of the vehicle; its day of parking and horizon do not matter.
    battery_c : shape (hours,)
        Battery temperature every hour from parking until the last moment asked for. [°C]
    nights : Nights
        At most those up to now; none at all gives the draws of what was learned before.
    now_h : float
        Since parking. [h]
    learned : Learned
        From earlier stands.
    draws : int
    seed : list of int
        Same seed, same draws.
    ahead_h : array, optional
        Moments after parking for which voltages are foretold. [h]
    cranks : tuple of Crank
        Dips of earlier starts.
    started_at_c : float, optional
        Battery temperature at which a start succeeded now: a charge that hardly ever starts is
        then hardly there. [°C]
    curves : BatteryCurves
        Of the case.
    rounds : tuple of int
        Candidates, as in `sampling.explore`.
    """
    rng = np.random.default_rng(seed)
    ahead_h = np.zeros(0) if ahead_h is None else ahead_h
    likely = Likelihood(case, battery_c, nights, now_h, ahead_h, learned)
    parts, log_weights, evidences = [], [], []
    for hypothesis in _hypotheses(likely):
        log = partial(_log, likely, hypothesis)
        sample = explore(log, hypothesis.dims, rng, rounds=rounds)
        parts.append(hypothesis.candidates(sample.u))
        log_weights.append(sample.log_weight + hypothesis.log_prior)
        evidences.append(sample.log_evidence + hypothesis.log_prior)
    joint = Candidates(
        np.concatenate([part.x for part in parts]),
        np.concatenate([part.extra_a for part in parts]),
        np.concatenate([part.begins_h for part in parts]),
    )
    log_weight = np.concatenate(log_weights)
    weight = np.exp(log_weight - log_weight.max())
    starts = _start_chance(likely, joint, weight, started_at_c, curves)
    if started_at_c is not None:
        weight = weight * np.maximum(starts, _FAILED_UNSEEN)
    fault = -math.expm1(evidences[0] - float(np.logaddexp.reduce(evidences)))
    found = joint.take(resample(weight, _OFTEN * draws if cranks else draws, rng))
    z = _all_inputs(found.x, rng)
    if cranks:
        chosen = resample(_dip_weight(likely.case, z, cranks, curves), draws, rng)
        found, z = found.take(chosen), {name: values[chosen] for name, values in z.items()}
    order = rng.permutation(draws)  # neighbours share a weather
    found, z = found.take(order), {name: values[order] for name, values in z.items()}
    charge, volts = likely.course_of(found)
    residual = likely.residual_v(found, volts)
    told, left = likely.offsets_given(residual)
    told = told + rng.standard_normal((draws, 2)) @ root(left).T
    offsets = likely.offsets(found.x) + told
    sd_v = case.spreads.open_circuit_offset_sd_v
    if sd_v > 0.0:
        z["open_circuit_offset"] = (offsets[:, 0] - case.battery.start.offset_v) / sd_v
    return Posterior(
        z=z,
        lanes=lanes_from_draws(likely.case, z),
        extra_a=found.extra_a,
        begins_h=found.begins_h,
        fault=fault,
        charge=charge[:, -1],
        ahead_v=likely.ahead_v(volts, residual - told @ likely.sees.T, offsets, rng),
        learned=_moments(likely, joint, weight, fault),
        surprise=_surprise(likely, offsets),
        starts=float(np.average(starts, weights=np.exp(log_weight - log_weight.max()))),
    )


@dataclass(frozen=True, slots=True)
class _Hypothesis:
    """A way the nights may have come about: its chance, and candidates of independent normals."""

    log_prior: float
    dims: int
    candidates: Callable[[FloatArray], Candidates]


def _log(likely: Likelihood, hypothesis: _Hypothesis, u: FloatArray) -> FloatArray:
    return likely.log(hypothesis.candidates(u))


def _hypotheses(likely: Likelihood) -> list[_Hypothesis]:
    """Return: no extra drain, one since parking, and one that began on the way."""
    days = likely.last_h / HOURS_PER_DAY
    parked = max(_FAULT_PARKED, _FAULT_KEPT * likely.learned.fault)
    later = min(_FAULT_PER_DAY * days, _MOST_LATER) if days > _LEAST_DAYS else 0.0

    def none(u: FloatArray) -> Candidates:
        return Candidates(likely.inputs(u), np.zeros(len(u)), np.zeros(len(u)))

    def size_a(u: FloatArray) -> FloatArray:
        low, high = np.log(_FAULT_A)
        return np.asarray(np.exp(low + (high - low) * normal_probability(u[:, SIZE])))

    def since_parking(u: FloatArray) -> Candidates:
        return Candidates(likely.inputs(u), size_a(u), np.zeros(len(u)))

    def on_the_way(u: FloatArray) -> Candidates:
        begins_h = likely.last_h * normal_probability(u[:, SIZE + 1])
        return Candidates(likely.inputs(u), size_a(u), begins_h)

    found = [
        _Hypothesis(math.log1p(-parked - later), SIZE, none),
        _Hypothesis(math.log(parked), SIZE + 1, since_parking),
    ]
    if later > 0.0:
        found.append(_Hypothesis(math.log(later), SIZE + 2, on_the_way))
    return found


def _all_inputs(x: FloatArray, rng: np.random.Generator) -> dict[str, FloatArray]:
    """Return the ordinary inputs: those the voltages speak of, the others as they come."""
    own = {name: rng.standard_normal(len(x)) for name in ALL_INPUTS}
    return with_common_ageing({**own, **dict(zip(INPUTS, x.T, strict=False))})


def _dip_weight(
    case: Case, z: dict[str, FloatArray], cranks: tuple[Crank, ...], curves: BatteryCurves
) -> FloatArray:
    """Return how well draws agree with starts before this stand: that they were, and their dips."""
    lanes = lanes_from_draws(case, z)
    usable = curves.usable_charge(
        lanes.start_ah / lanes.full_ah,
        drawn_a=lanes.quiescent_a,
        full_ah=lanes.full_ah,
        low_charge_shift=lanes.low_charge_shift,
    )

    def log_margin(crank: Crank) -> FloatArray:
        at_c = np.full(len(lanes), crank.temperature_c)
        margin = curves.margin(usable, at_c, lanes.demand_ratio, lanes.oil_k, lanes.cold_fall)
        return np.log(np.maximum(margin, _LEAST_MARGIN))

    coldest = min(cranks, key=lambda crank: crank.temperature_c)
    started = log_margin(coldest) > -_DIP_SHARED
    weight = np.where(started, 1.0, _FAILED_UNSEEN)
    seen = [crank for crank in cranks if math.isfinite(crank.log_margin)]
    if seen:
        apart = np.mean([log_margin(crank) - crank.log_margin for crank in seen], axis=0)
        sd = math.hypot(_DIP_SHARED, _DIP_OWN / math.sqrt(len(seen)))
        weight = weight * np.exp(-0.5 * np.minimum(apart / sd, _FARTHEST) ** 2)
    return np.asarray(weight)


def _start_chance(
    likely: Likelihood,
    joint: Candidates,
    weight: FloatArray,
    at_c: float | None,
    curves: BatteryCurves,
) -> FloatArray:
    """Return P(a start succeeds) at each candidate's charge now, the engine's need unknown."""
    if at_c is None:
        return np.ones(len(weight))
    charge = np.linspace(0.0, 1.0, _CHARGES)
    z = standard_draws(_NEEDS, 1)
    lanes = lanes_from_draws(likely.case, z)
    demand, shift = lanes.demand_ratio[:, None], lanes.low_charge_shift[:, None]
    usable = curves.usable_charge(
        charge[None, :],
        drawn_a=lanes.quiescent_a[:, None],
        full_ah=lanes.full_ah[:, None],
        low_charge_shift=shift,
    )
    margin = curves.margin(
        usable,
        np.full((_NEEDS, 1), at_c),
        demand,
        lanes.oil_k[:, None],
        lanes.cold_fall[:, None],
    )
    now = likely.course_of(joint)[0][:, -1]
    return np.asarray(np.interp(now, charge, (margin >= 1.0).mean(axis=0)))


def _moments(likely: Likelihood, joint: Candidates, weight: FloatArray, fault: float) -> Learned:
    """Return mean and covariance of inputs and offsets over all weighted candidates."""
    counts = np.flatnonzero(weight > _COUNTS * weight.sum())
    share = weight[counts] / weight[counts].sum()
    found = joint.take(counts)
    residual = likely.residual_v(found, likely.course_of(found)[1])
    told, left = likely.offsets_given(residual)
    both = np.concatenate([found.x, likely.offsets(found.x) + told], axis=1)
    mean = share @ both
    covariance = (both - mean).T @ (share[:, None] * (both - mean))
    covariance[SIZE:, SIZE:] += left
    return Learned(mean, covariance, likely.learned.stands + 1, fault)


def _surprise(likely: Likelihood, offsets: FloatArray) -> float:
    """Return how far the offsets' sum lies from what was known before, in its deviations."""
    before = likely.learned
    sd_v = math.sqrt(float(before.covariance[SIZE:, SIZE:].sum()))
    return float(abs(offsets.sum(axis=1).mean() - before.mean[SIZE:].sum()) / sd_v)
