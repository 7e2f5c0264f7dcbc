"""Any meter's CSV reads to the same log; what cannot be read is one sentence."""

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import RecordError
from drainsim.files.current_log.reader import CurrentLog, log_from_bytes, read_current_log
from tests.synthetic_log import parked_log

TIME, CURRENT = parked_log(hours=2.0, step_s=5.0)
BEGIN = dt.datetime(2026, 12, 1, 22, 30)

Row = Callable[[float, float], str]


def text(heading: str, row: Row, *, end: str = "\n") -> str:
    """Return a file's text with one row a sample."""
    pairs = zip(TIME.tolist(), CURRENT.tolist(), strict=True)
    return heading + end + end.join(row(t, i) for t, i in pairs) + end


def stamp(seconds: float) -> dt.datetime:
    """Return the clock time of a sample."""
    return BEGIN + dt.timedelta(seconds=seconds)


def plain(t: float, i: float) -> str:
    """Return the plainest row."""
    return f"{t:g},{i:.3f}"


FORMATS: dict[str, str | bytes] = {
    "seconds, A": text("time_s,current_a", plain),
    "mA": text("Time (s),Current (mA)", lambda t, i: f"{t:g},{1000 * i:.0f}"),
    "decimal comma": text(
        "Zeit;Strom [mA]",
        lambda t, i: f"{stamp(t):%d.%m.%Y %H:%M:%S};" + f"{1000 * i:.1f}".replace(".", ","),
    ),
    "ISO, discharge negative": text(
        "timestamp,amps", lambda t, i: f"{stamp(t).isoformat()},{-i:.3f}"
    ),
    "ISO with zone": text("timestamp,amps", lambda t, i: f"{stamp(t).isoformat()}+01:00,{i:.3f}"),
    "date and time, unit column": text(
        "Date,Time,Value,Unit",
        lambda t, i: f"{stamp(t):%m/%d/%Y},{stamp(t):%I:%M:%S %p},{1000 * i:.1f},mA",
    ),
    "clock past midnight": text("time\tcurrent_a", lambda t, i: f"{stamp(t):%H:%M:%S}\t{i:.3f}"),
    "lines before the heading": "Logger;X\nSerial;12345\n\n"
    + text("t;I (A);U", lambda t, i: f"{t:g};{i:.3f};12.6".replace(".", ",")),
    "UTF-16": text("time_s,current_ma", lambda t, i: f"{t:g},{1000 * i:.0f}").encode("utf-16"),
    "Western": text("time_s;current µA", lambda t, i: f"{t:g};{1e6 * i:.0f}").encode("cp1252"),
    "unit in the cell": text("time_s,current", lambda t, i: f"{t:g},{1000 * i:.0f} mA"),
    "no heading": text("", plain).removeprefix("\n"),
    "carriage returns": text("time_s,current_a", plain, end="\r\n"),
    "epoch": text("time,current_a", lambda t, i: f"{1.7e9 + t:.0f},{i:.3f}"),
    "epoch ms": text("time_ms,current_a", lambda t, i: f"{1.7e12 + 1000 * t:.0f},{i:.3f}"),
    "minutes": text("elapsed_min,current_a", lambda t, i: f"{t / 60:.5f},{i:.3f}"),
    "trailing commas": text("time_s,current_a", lambda t, i: f"{t:g},{i:.3f},"),
}


def read(content: str | bytes, **mapping: str) -> CurrentLog:
    """Return the log in a content."""
    raw = content if isinstance(content, bytes) else content.encode()
    return log_from_bytes(raw, where="log.csv", **mapping)


@pytest.mark.parametrize("name", FORMATS)
def test_every_way_of_writing_gives_the_same_log(name: str) -> None:
    """Delimiter, decimal mark, unit, sign, time format and encoding do not matter."""
    log = read(FORMATS[name])
    assert_allclose(log.time_s, TIME, atol=0.01)  # minutes printed to five digits
    assert_allclose(log.current_a, CURRENT, atol=1e-9)


def test_minute_stamps_are_spread() -> None:
    """Twelve samples that carry the same minute stand five seconds apart."""
    log = read(text("time,current_a", lambda t, i: f"{stamp(t):%Y-%m-%d %H:%M},{i:.3f}"))
    assert_allclose(log.time_s, TIME, atol=0.1)


@pytest.mark.parametrize("jump_s", [-3600, -90, 3600])
def test_clock_jumps_are_taken_out_and_told(jump_s: int) -> None:
    """A clock set back, or forward by summer time, does not move later samples."""
    log = read(
        text("time,current_a", lambda t, i: f"{stamp(t + (jump_s if t >= 4000 else 0))},{i:.3f}")
    )
    assert_allclose(log.time_s, TIME, atol=5.0)
    assert any("clock jumps" in note and "row 802" in note for note in log.notes)


def test_gaps_and_overload_are_told_and_keep_the_time() -> None:
    """Samples without a number are left out and counted; the clock runs on from key off."""
    log = read(text("time_s,current_a", lambda t, i: plain(t, i) if i < 2.5 else f"{t:g},OL"))
    assert log.time_s[0] == 300.0
    assert any("60 of 1440 samples" in note and "row 2" in note for note in log.notes)
    kept = text("time_s,current_a", lambda t, i: "" if 3000 <= t < 3500 else plain(t, i))
    assert any("1 gap" in note and "505 s" in note for note in read(kept).notes)


def test_mapping_decides_where_the_heading_does_not() -> None:
    """Two columns of current are refused until one is named; so is an unclear unit."""
    content = text("time_s,current_a,current_b", lambda t, i: f"{t:g},{i:.3f},1.0")
    with pytest.raises(RecordError, match=r"current_a and current_b.*--current-column"):
        read(content)
    assert_allclose(read(content, current_column="current_a").current_a, CURRENT)
    bare = text("x,y", lambda t, i: f"{t:g},{i * 33:.3f}")
    with pytest.raises(RecordError, match="--current-column"):
        read(bare)
    with pytest.raises(RecordError, match="--unit A or --unit mA"):
        read(text("time_s,current", lambda t, i: f"{t:g},{18 * i:.3f}"))
    log = read(bare, current_column="y", time_column="x", unit="mA", time_unit="min")
    assert_allclose(log.time_s, 60.0 * TIME)
    assert_allclose(log.current_a, 0.033 * CURRENT, atol=1e-5)


BAD: dict[str, tuple[str | bytes, str]] = {
    "empty": ("", "empty"),
    "binary": (bytes(range(256)) * 20, "not a text file"),
    "words": ("hello world\n" * 30, "no columns"),
    "heading only": ("time_s,current_a\n", "no rows"),
    "too few": ("time_s,current_a\n1,2\n2,3\n", "at least 20"),
    "text in a row": (
        text("time_s,current_a", lambda t, i: plain(t, i) if t != 500 else "500,abc"),
        "row 102, column 'current_a': 'abc' is not a number",
    ),
    "infinite": (
        text("time_s,current_a", lambda t, i: plain(t, i) if t != 500 else "500,inf"),
        "row 102.*'inf'",
    ),
    "bad time": (
        text("time,current_a", lambda t, i: f"{stamp(t)},{i}" if t != 500 else "noon,1"),
        "row 102, column 'time': 'noon'",
    ),
    "no time": (
        text("time_s,current_a", lambda t, i: plain(t, i) if t != 500 else ",1"),
        "row 102, column 'time_s': the time is missing",
    ),
    "ragged": (
        text("time_s,current_a", lambda t, i: plain(t, i) if t != 500 else "500,1,2,3"),
        "row 102 has 4 fields",
    ),
    "comma twice": (
        text("time_s,current_a", lambda t, i: plain(t, i).replace(".", ",")),
        "decimal comma needs semicolons",
    ),
    "open quote": (
        text("time_s,current_a", lambda t, i: plain(t, i) if t != 500 else '500,"1'),
        "quote",
    ),
    "impossible": (
        text("time_s,current_a", lambda t, i: f"{t:g},{1e6 * i:.1f}"),
        "row 2.*beyond any vehicle",
    ),
    "day numbers": (
        text("time,current_a", lambda t, i: f"{45000 + t / 86400:.7f},{i}"),
        "--time-unit d",
    ),
    "backwards": (
        text("time_s,current_a", lambda t, i: plain(7200 - t, i)),
        "sort the rows",
    ),
    "standing still": (text("time_s,current_a", lambda t, i: plain(7, i)), "never moves on"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_files_are_one_sentence(name: str) -> None:
    """The message names the file, and row and column where there is one."""
    content, words = BAD[name]
    with pytest.raises(RecordError, match=words) as caught:
        read(content)
    message = str(caught.value)
    assert message.startswith("log.csv: ")
    assert "\n" not in message
    assert len(message) < 300


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    """A folder and a missing file are sentences too."""
    with pytest.raises(RecordError, match="folder"):
        read_current_log(tmp_path)
    with pytest.raises(RecordError, match="no such file"):
        read_current_log(tmp_path / "none.csv")
    (tmp_path / "log.csv").write_text(text("time_s,current_a", plain))
    assert np.isfinite(read_current_log(tmp_path / "log.csv").current_a).all()
