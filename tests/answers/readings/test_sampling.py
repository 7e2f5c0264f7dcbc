"""The sampler against posteriors known in closed form, and what coarse steps and fleets say."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.readings.history.nights import crossings
from drainsim.answers.readings.posterior.learned import Learned
from drainsim.answers.readings.posterior.learning import unit_model_offset, with_unit_offset
from drainsim.answers.readings.posterior.sampling import effective, explore, resample
from drainsim.physics.tables import FloatArray


@pytest.mark.parametrize(("at", "sd"), [(0.5, 1.0), (2.0, 0.2), (3.5, 0.05)])
def test_a_normal_likelihood_gives_its_conjugate_posterior(at: float, sd: float) -> None:
    """Mean, variance and evidence are those of a normal prior times a normal likelihood.

    Posterior of N(0, 1) and one reading: mean y/(1 + s²), variance s²/(1 + s²), evidence
    N(y; 0, 1 + s²); any textbook. The last reading lies where one prior draw in 4,000 does.
    """

    def log_likelihood(u: FloatArray) -> FloatArray:
        return np.asarray(-0.5 * ((u[:, 0] - at) / sd) ** 2 - np.log(sd))

    found = explore(log_likelihood, 3, np.random.default_rng(4))
    weight = np.exp(found.log_weight - found.log_weight.max())
    mean = np.average(found.u, axis=0, weights=weight)
    variance = np.average((found.u - mean) ** 2, axis=0, weights=weight)
    assert_allclose(mean, [at / (1 + sd**2), 0.0, 0.0], atol=0.1)
    assert_allclose(variance, [sd**2 / (1 + sd**2), 1.0, 1.0], rtol=0.2)
    log_evidence = -0.5 * (at**2 / (1 + sd**2) + np.log(1 + sd**2))
    assert found.log_evidence == pytest.approx(log_evidence, abs=0.1)
    assert effective(weight) > 300.0


def test_resampling_keeps_proportions() -> None:
    """Each candidate comes as often as its share says, to one."""
    weight = np.array([1.0, 2.0, 5.0, 0.0])
    counts = np.bincount(resample(weight, 800, np.random.default_rng(1)), minlength=4)
    assert np.abs(counts - [100, 200, 500, 0]).max() <= 1


def test_coarse_steps_tell_when_they_are_crossed() -> None:
    """A line read in steps of 0.1 V is crossed where it truly is, noise or not."""
    hours = np.arange(0.0, 400.0)
    line = 12.62 - 0.001 * hours
    for noise_v in (0.0, 0.01):
        noise = noise_v * np.random.default_rng(3).standard_normal(len(hours))
        shown = np.round((line + noise) / 0.1) * 0.1  # 10 mV of noise are ten hours of the line
        at_h, volts = crossings(hours, shown, 0.1)
        assert_allclose(volts, [12.55, 12.45, 12.35, 12.25][: len(volts)], atol=1e-9)
        assert len(volts) == 4
        assert_allclose(at_h, (12.62 - volts) / 0.001, atol=10.0)
    assert len(crossings(hours, np.round(line, 2), 0.01)[0]) == 0


def test_units_of_one_model_teach_each_other() -> None:
    """Many units that read 60 mV high make a further one of the model expected so, never surely."""
    prior, shared = (0.0, 0.06), 0.04
    few = unit_model_offset([(0.03, 0.04)] * 5, prior, shared)
    many = unit_model_offset([(0.03, 0.04)] * 500, prior, shared)
    assert 0.0 < few[0] < many[0] < 0.06
    own = np.sqrt(prior[1] ** 2 - shared**2)
    assert own < many[1] < few[1] < prior[1]
    assert unit_model_offset([], prior, shared) == prior


def test_a_model_offset_moves_what_one_vehicle_learned() -> None:
    """The same as having known it from the start: normal prior, normal reading."""
    before, now, reading_sd = (0.0, 0.06), (0.03, 0.05), 0.04

    def learned(prior: tuple[float, float]) -> Learned:
        gain = prior[1] ** 2 / (prior[1] ** 2 + reading_sd**2)
        mean, covariance = np.zeros(8), np.eye(8)
        mean[-1] = prior[0] + gain * (0.1 - prior[0])
        covariance[-1, -1] = prior[1] ** 2 * (1 - gain)
        return Learned(mean, covariance, 1)

    moved, meant = with_unit_offset(learned(before), before, now), learned(now)
    assert_allclose(moved.mean, meant.mean)
    assert_allclose(moved.covariance, meant.covariance)
