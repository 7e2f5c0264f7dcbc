"""The search for the last value that holds: right for every rising risk, and sparing."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainsim.answers.storage.searching.bracket import last_holding
from drainsim.physics.tables import FloatArray
from drainsim.simulation.draws import normal_probability


def search(
    exact: FloatArray, limit: float, *, rough: FloatArray | None
) -> tuple[int | None, set[int], int]:
    """Return what the search finds, the candidates run exactly, and the number of rounds."""
    asking = last_holding(len(exact), limit, rough=rough is not None)
    ask, rounds, run = next(asking), 0, set()
    while True:
        rounds += 1
        risks = exact if rough is None or not ask.rough else rough
        if not ask.rough:
            run |= set(ask.numbers)
        assert set(ask.numbers) <= set(range(len(exact)))
        try:
            ask = asking.send({n: float(risks[n]) for n in ask.numbers})
        except StopIteration as done:
            return done.value, run, rounds


def plain(exact: FloatArray, limit: float) -> int | None:
    """Return the last that holds by looking at every one."""
    holding = np.flatnonzero(exact <= limit)
    return int(holding[-1]) if len(holding) else None


@settings(max_examples=300)
@given(
    count=st.integers(1, 4000),
    middle=st.floats(-0.3, 1.3),
    width=st.floats(0.0005, 0.5),
    limit=st.sampled_from([0.001, 0.05, 0.2, 0.5]),
    noise=st.one_of(st.none(), st.floats(0.0, 0.4)),
    refused=st.one_of(st.none(), st.integers(1, 4000)),
    seed=st.integers(0, 1000),
)
def test_finds_what_looking_at_every_value_finds(
    count: int,
    middle: float,
    width: float,
    limit: float,
    noise: float | None,
    refused: int | None,
    seed: int,
) -> None:
    """However steep the risk, however wrong the rough one: the same candidate, both sides run."""
    at = np.linspace(0.0, 1.0, count)
    exact = np.round(normal_probability((at - middle) / width) * 200) / 200  # of 200 draws
    rough = None
    if noise is not None:
        off = np.random.default_rng(seed).normal(0.0, noise, count)
        rough = np.clip(exact + off, 0.0, 1.0)
    if refused is not None:
        exact[refused:] = np.inf
    found, run, rounds = search(exact, limit, rough=rough)
    assert found == plain(exact, limit)
    last = -1 if found is None else found
    assert {last, last + 1} & set(range(count)) <= run
    assert rounds < 40


def test_runs_few_candidates_where_the_rough_risk_is_right() -> None:
    """Of 3300 currents a dozen are run, and none far beyond the limit, which would be slow."""
    at = np.linspace(0.0, 1.0, 3300)
    exact = np.round(normal_probability((at - 0.4) / 0.05) * 1000) / 1000
    rough = np.round(normal_probability((at - 0.41) / 0.05) * 100) / 100
    found, run, rounds = search(exact, 0.05, rough=rough)
    assert found == plain(exact, 0.05)
    assert len(run) <= 16  # plain bisection: 12 and the two ends
    assert rounds <= 7
    assert max(run) < 0.6 * 3300


def test_where_nothing_holds_only_the_easiest_is_run() -> None:
    """One exact run shows that nothing within reach works."""
    exact = np.linspace(0.2, 1.0, 500)
    found, run, _rounds = search(exact, 0.05, rough=exact)
    assert found is None
    assert run == {0}


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_few_candidates_need_no_grid(count: int) -> None:
    """Down to a single candidate."""
    for holding in range(count + 1):
        exact = np.where(np.arange(count) < holding, 0.0, 1.0)
        assert search(exact, 0.05, rough=None)[0] == (holding - 1 if holding else None)


@pytest.mark.parametrize("plateau", [0.0, 0.002, 0.026])
def test_a_risk_that_hardly_moves_takes_few_rounds(plateau: float) -> None:
    """A plateau at nothing or just above the limit, where no line says how far it is."""
    exact = np.full(3000, plateau)
    exact[2700:] = np.linspace(plateau, 0.4, 300)
    found, _run, rounds = search(exact, 0.001, rough=np.where(exact < 0.03, 0.0, exact))
    assert found == plain(exact, 0.001)
    assert rounds <= 14


def test_a_risk_that_stays_at_the_limit_is_halved() -> None:
    """A plateau of exactly the limit: no walk by single candidates to its end."""
    exact = np.full(3000, 0.049)
    exact[10:2990] = 0.05
    exact[2990:] = 0.06
    found, _run, rounds = search(exact, 0.05, rough=None)
    assert found == 2989
    assert rounds <= 12
