"""How likely a stand's voltages are under candidates of what a vehicle draws and holds."""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from drainsim.answers.readings.history.nights import Nights, observed
from drainsim.answers.readings.posterior.course import stand_course
from drainsim.answers.readings.posterior.learned import INPUTS, SIZE, Learned
from drainsim.answers.readings.posterior.sampling import BLOCK
from drainsim.answers.readings.posterior.voltage_errors import (
    error_covariance_v2,
    error_mean_v,
)
from drainsim.physics.tables import FloatArray, IndexArray
from drainsim.simulation.draws import INPUTS as ALL_INPUTS
from drainsim.simulation.draws import normal_probability
from drainsim.simulation.lanes import lanes_from_draws
from drainsim.vehicle.case import Case

# How much steeper or flatter than its type's curve a battery falls. Seven flooded tables differ by
# 0.10 V in their fall to half charge, a quarter of it, about twice as much as batteries of a type
# (evidence on open circuit); 14 AGM curves by 0.13 V of 0.60, and makes do differ.
_SLOPE_SD: Final = {"agm": 0.22, "gel": 0.22}
_SLOPE_SD_ELSE: Final = 0.13
_LEAST_STEEPNESS: Final = 0.3
_FALL_SD_V: Final = 0.015  # of a fall between two nights read in coarse steps
_MOST_UNLIKELY: Final = -20.0  # log chance of a fall nothing explains: some reading was wrong
_JITTER: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Candidates:
    """Inputs, shape (n, 6), extra drain and its beginning."""

    x: FloatArray
    extra_a: FloatArray
    begins_h: FloatArray

    def take(self, index: IndexArray) -> "Candidates":
        """Return the candidates at an index."""
        return Candidates(self.x[index], self.extra_a[index], self.begins_h[index])


class Likelihood:
    """How likely a stand's observed voltages are under candidates, offsets integrated out."""

    def __init__(
        self,
        case: Case,
        battery_c: FloatArray,
        nights: Nights,
        now_h: float,
        ahead_h: FloatArray,
        learned: Learned,
    ) -> None:
        self.case, self.learned = _charge_apart(case), learned
        self.seen = observed(nights)
        self.count = len(self.seen.voltage_v)
        falls = np.array([moment for fall in self.seen.falls for moment in fall])
        at_h = np.concatenate([self.seen.rested_h, falls, ahead_h, [now_h]])
        self.ahead = slice(self.count + len(falls), len(at_h) - 1)
        self.course = stand_course(case, battery_c, at_h, nights=nights)
        self.slope_sd = _SLOPE_SD.get(case.battery.profile.chemistry, _SLOPE_SD_ELSE)
        inputs = learned.covariance[:SIZE, :SIZE] + _JITTER * np.eye(SIZE)
        self.root = np.linalg.cholesky(inputs)
        # Offsets given the inputs: mean + regression (x - mean), and the covariance left.
        across = learned.covariance[SIZE:, :SIZE]
        self.regression = np.linalg.solve(inputs, across.T).T
        self.offset_left = learned.covariance[SIZE:, SIZE:] - self.regression @ across.T
        self.sees = np.stack([np.ones(self.count), self.seen.by_unit.astype(float)], axis=1)
        self.error = error_covariance_v2(self.seen.rested_h) + np.diag(self.seen.noise_v**2)
        covariance = self.error + self.sees @ self.offset_left @ self.sees.T
        self.whiten = np.linalg.inv(np.linalg.cholesky(covariance))
        self.last_h = float(self.seen.rested_h.max(initial=0.0))

    def inputs(self, u: FloatArray) -> FloatArray:
        """Return inputs (standard deviations of the draws) of independent normal candidates."""
        return np.asarray(self.learned.mean[:SIZE] + u[:, :SIZE] @ self.root.T)

    def offsets(self, x: FloatArray) -> FloatArray:
        """Return the offsets expected with some inputs before this stand, shape (n, 2). [V]."""
        return np.asarray(
            self.learned.mean[SIZE:] + (x - self.learned.mean[:SIZE]) @ self.regression.T
        )

    def course_of(self, found: Candidates) -> tuple[FloatArray, FloatArray]:
        """Return charge and resting voltage at all moments, shape (n, moments)."""
        z = dict.fromkeys(ALL_INPUTS, np.zeros(len(found.x)))
        lanes = lanes_from_draws(self.case, {**z, **dict(zip(INPUTS, found.x.T, strict=False))})
        steeper = np.maximum(1.0 + self.slope_sd * found.x[:, SIZE - 1], _LEAST_STEEPNESS)
        charge = self.course.charge(lanes, found.extra_a, found.begins_h)
        return charge, self.course.resting_v(charge, steeper)

    def residual_v(self, found: Candidates, volts: FloatArray) -> FloatArray:
        """Return measured less expected voltages, shape (n, observed)."""
        expected = volts[:, : self.count] + error_mean_v(self.seen.rested_h)
        return np.asarray(self.seen.voltage_v - expected - self.offsets(found.x) @ self.sees.T)

    def log(self, found: Candidates) -> FloatArray:
        """Return the log likelihood of candidates, up to a constant of the stand."""
        _, volts = self.course_of(found)
        # In blocks below the size at which libraries of linear algebra wake further threads.
        residual = self.residual_v(found, volts)
        in_blocks = residual.reshape(len(residual) // BLOCK, BLOCK, self.count)
        white = (in_blocks @ self.whiten.T).reshape(residual.shape)
        total = -0.5 * np.einsum("nd,nd->n", white, white)
        for number in range(len(self.seen.falls)):
            column = self.count + 2 * number
            total += self._log_fall(volts[:, column] - volts[:, column + 1])
        return np.asarray(total)

    def _log_fall(self, fall_v: FloatArray) -> FloatArray:
        """Return the log chance that a voltage fell by less than a step, of one within a run."""
        within = normal_probability((self.seen.step_v - fall_v) / _FALL_SD_V)
        return np.log(np.maximum(within, math.exp(_MOST_UNLIKELY)))

    def offsets_given(self, residual: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return what residuals say of the offsets, shape (n, 2), and the covariance left."""
        gain = self.offset_left @ self.sees.T @ self.whiten.T @ self.whiten
        left = self.offset_left - gain @ self.sees @ self.offset_left
        return residual @ gain.T, left

    def ahead_v(
        self, volts: FloatArray, residual: FloatArray, offsets: FloatArray, rng: np.random.Generator
    ) -> FloatArray:
        """Return what the unit would show at the moments ahead, shape (n, ahead). [V].

        Parameters
        ----------
        volts : shape (n, moments)
            Resting voltage.
        residual : shape (n, observed)
            Of what was measured, offsets taken off.
        offsets : shape (n, 2)
            Of battery and unit.
        rng : Generator
        """
        at_h = self.course.rested_h[self.ahead]
        if not len(at_h):
            return np.zeros((len(volts), 0))
        across = error_covariance_v2(at_h, self.seen.rested_h)
        gain = np.linalg.solve(self.error, across.T).T if self.count else across
        noise = self.seen.night_v**2 * np.eye(len(at_h))
        left = error_covariance_v2(at_h) - gain @ across.T + noise
        errors = residual @ gain.T + rng.standard_normal((len(volts), len(at_h))) @ root(left).T
        return np.asarray(
            volts[:, self.ahead] + error_mean_v(at_h) + offsets.sum(axis=1)[:, None] + errors
        )


def _charge_apart(case: Case) -> Case:
    """Return the case with its charge as a number, not as a voltage read once more."""
    start = case.battery.start
    if start.reading is None:
        return case
    known = start.known_as(start.charge)
    return replace(
        case,
        battery=replace(case.battery, start=known),
        spreads=replace(case.spreads, state_of_charge_sd=known.charge_sd),
    )


def root(covariance: FloatArray) -> FloatArray:
    """Return a square root of a small covariance that rounding may have made indefinite."""
    values, vectors = np.linalg.eigh(0.5 * (covariance + covariance.T))
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
