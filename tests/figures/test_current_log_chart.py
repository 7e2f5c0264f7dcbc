"""The log's chart shows the log, its stages and its wake-ups."""

import numpy as np
from numpy.testing import assert_allclose

from drainsim.answers.installer.current_log import current_log
from drainsim.figures.current_log import current_log_alt, current_log_figure, thinned
from drainsim.figures.style import DARK, LIGHT
from drainsim.files.current_log.reader import log_from_bytes
from tests.synthetic_log import as_csv, parked_log

LOG = log_from_bytes(as_csv(*parked_log()), where="log.csv")


def test_stages_and_wake_ups_stand_where_they_were_found() -> None:
    """Minutes and milliamperes of the answer, drawn with a dash and a mark, not colour alone."""
    answer = current_log(LOG)
    for palette in (LIGHT, DARK):
        reading, stages, wakes = current_log_figure(answer, LOG, palette).data
        starts = [stage.start_s / 60.0 for stage in answer.stages]
        assert_allclose(np.asarray(stages.x, dtype=float)[::2], starts)
        levels = [1000.0 * stage.current_a for stage in answer.stages]
        assert_allclose(np.asarray(stages.y, dtype=float)[::2], levels)
        assert stages.line.dash == "dash"
        assert answer.wake_ups is not None
        assert len(wakes.x) == answer.wake_ups.count
        assert len(reading.x) <= 2400
    assert "settled at" in current_log_alt(answer)


def test_thinning_keeps_the_peaks() -> None:
    """A single high sample in a million is still drawn."""
    time = np.arange(1e6)
    current = np.full(1_000_000, 0.03)
    current[123_456] = 9.0
    x, y = thinned(time, current)
    assert len(x) <= 2400
    assert 123_456 in x
    assert y.max() == 9.0
    assert (np.diff(x) >= 0.0).all()


def test_a_log_that_never_sleeps_says_so() -> None:
    """Too short a log has a chart too, with no sleep marked."""
    short = log_from_bytes(as_csv(*parked_log(hours=0.5)), where="log.csv")
    answer = current_log(short)
    figure = current_log_figure(answer, short, LIGHT)
    assert "keep measuring" in figure.layout.title.text
    assert not figure.layout.shapes


def test_the_scale_is_labelled_in_whole_numbers() -> None:
    """Every line of the logarithmic scale carries its own current, not its first digit."""
    axis = current_log_figure(current_log(LOG), LOG, LIGHT).layout.yaxis
    assert axis.type == "log"
    assert_allclose([float(text) for text in axis.ticktext], axis.tickvals)
    assert {20.0, 500.0, 1000.0} <= set(axis.tickvals)
