"""A long run of several stages tells how far it is and what its present stage may still take."""

import pytest

from drainsim.answers.fleet.stages import Stages


class _Told:
    """What was shown, with a clock that is set by hand."""

    def __init__(self) -> None:
        self.shares: list[float] = []
        self.words: list[str] = []
        self.now_s = 0.0

    def __call__(self, share: float, words: str) -> None:
        self.shares.append(share)
        self.words.append(words)

    def clock(self) -> float:
        return self.now_s


@pytest.fixture
def told() -> _Told:
    """Return an empty record."""
    return _Told()


def test_the_time_left_is_that_of_the_present_stage(told: _Told) -> None:
    """Ten seconds for a quarter leave thirty; a slow first stage says nothing of the second."""
    stages = Stages(2, told, clock=told.clock)
    first = stages.next("vehicles answered")
    told.now_s = 10.0
    first(250, 1000)
    assert told.words[-1].startswith("Part 1 of 2, vehicles answered: 250 of 1,000")
    assert "up to 30 s left" in told.words[-1]
    second = stages.next("actions tried")
    told.now_s = 11.0
    second(50, 100)
    assert told.words[-1].startswith("Part 2 of 2, actions tried: 50 of 100")
    assert "up to 1 s left" in told.words[-1]


def test_the_share_only_grows_and_ends_whole(told: _Told) -> None:
    """From nothing to all of it over the stages, however long each is, an empty one included."""
    stages = Stages(3, told, clock=told.clock)
    for lengths in ([1, 2, 3], [0], [500, 1000]):
        report = stages.next("done")
        for done in lengths:
            report(done, lengths[-1])
    assert told.shares == sorted(told.shares)
    assert told.shares[0] == 0.0
    assert told.shares[-1] == 1.0


def test_a_stage_is_named_before_its_first_report(told: _Told) -> None:
    """Whoever waits for the first part of the work knows which stage it is."""
    Stages(2, told, clock=told.clock).next("vehicles answered")
    assert told.words == ["Part 1 of 2, vehicles answered"]
