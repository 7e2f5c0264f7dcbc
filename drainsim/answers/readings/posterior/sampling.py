"""Importance sampling that learns where to look: a prior, then proposals fitted to what was found.

Weighting a prior's draws alone fails where readings say most. Population Monte Carlo (Cappé,
Guillin, Marin & Robert 2004) with all rounds weighed together ("deterministic mixture", Owen &
Zhou 2000) keeps prior draws in, so that what was overlooked keeps its weight.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.physics.tables import FloatArray, IndexArray

BLOCK: Final = 200  # candidates come in blocks
ROUNDS: Final = (600, 400, 400, 400, 400)  # candidates: of the prior, then of fitted proposals
_FEWEST: Final = 60.0  # effective candidates a proposal is fitted to
_WIDER: Final = 1.3  # a proposal's covariance over that of what was found
_FREEDOM: Final = 6.0  # of the t distribution: heavier tails than what is looked for
_FLOOR: Final = 1e-6  # least variance of a proposal


@dataclass(frozen=True, slots=True)
class Sample:
    """Candidates, shape (n, dims), their log weights, and the log of what they integrate to."""

    u: FloatArray
    log_weight: FloatArray
    log_evidence: float


def explore(
    log_likelihood: Callable[[FloatArray], FloatArray],
    dims: int,
    rng: np.random.Generator,
    *,
    rounds: tuple[int, ...] = ROUNDS,
) -> Sample:
    """Return weighted candidates of a posterior whose prior is standard normal.

    Parameters
    ----------
    log_likelihood : callable
        Of candidates, shape (n, dims); returns shape (n,).
    dims : int
    rng : Generator
    rounds : tuple of int
        Candidates of the prior, then of each fitted proposal.
    """
    u = rng.standard_normal((rounds[0], dims))
    log_like = log_likelihood(u)
    proposals: list[tuple[int, FloatArray, FloatArray]] = []
    for count in rounds[1:]:
        log_weight = log_like + _against_mixture(u, rounds[0], proposals)
        weight = _tempered(log_weight)
        mean = weight @ u
        apart = u - mean
        covariance = _WIDER * (apart.T @ (weight[:, None] * apart)) + _FLOOR * np.eye(dims)
        lower = np.asarray(np.linalg.cholesky(covariance), dtype=float)
        stretch = np.sqrt(_FREEDOM / rng.chisquare(_FREEDOM, count))
        fresh = mean + (rng.standard_normal((count, dims)) @ lower.T) * stretch[:, None]
        proposals.append((count, mean, lower))
        u = np.concatenate([u, fresh])
        log_like = np.concatenate([log_like, log_likelihood(fresh)])
    log_weight = log_like + _against_mixture(u, rounds[0], proposals)
    top = float(log_weight.max())
    total = float(np.exp(log_weight - top).sum())
    return Sample(u, log_weight, top + np.log(total))


def resample(weight: FloatArray, count: int, rng: np.random.Generator) -> IndexArray:
    """Return numbers of candidates in proportion to their weights, by equal steps."""
    edges = np.cumsum(weight / weight.sum())
    places = (np.arange(count) + rng.random()) / count
    return np.minimum(np.searchsorted(edges, places), len(weight) - 1).astype(np.intp)


def effective(weight: FloatArray) -> float:
    """Return how many equal draws weighted ones are worth (Kish)."""
    return float(weight.sum() ** 2 / np.sum(weight**2))


def _tempered(log_weight: FloatArray) -> FloatArray:
    """Return normalised weights, flattened until enough candidates count."""
    power = 1.0
    for _ in range(12):
        weight = np.exp(power * (log_weight - log_weight.max()))
        if effective(weight) >= _FEWEST:
            break
        power *= 0.6
    return np.asarray(weight / weight.sum())


def _against_mixture(
    u: FloatArray, of_prior: int, proposals: list[tuple[int, FloatArray, FloatArray]]
) -> FloatArray:
    """Return log(prior ÷ sum of n·q over the rounds); both lack (2π)^(-d/2)."""
    dims = u.shape[1]
    log_prior = -0.5 * np.einsum("nd,nd->n", u, u)
    parts = [np.log(of_prior) + log_prior]
    for count, mean, lower in proposals:
        scaled = np.linalg.solve(lower, (u - mean).T)
        square = np.einsum("dn,dn->n", scaled, scaled)
        log_t = _log_t_constant(dims) - np.log(np.diagonal(lower)).sum()
        parts.append(np.log(count) + log_t - 0.5 * (_FREEDOM + dims) * np.log1p(square / _FREEDOM))
    return np.asarray(log_prior - np.logaddexp.reduce(parts, axis=0))


def _log_t_constant(dims: int) -> float:
    """Return the log factor of a t density over that of a normal one, (2π)^(-d/2) left out."""
    half, more = 0.5 * _FREEDOM, 0.5 * (_FREEDOM + dims)
    return math.lgamma(more) - math.lgamma(half) - 0.5 * dims * math.log(half)
