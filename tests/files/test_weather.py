"""Temperature files: what is read, what is refused, and how a year wraps round."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.errors import WeatherError
from drainsim.files.weather import read_epw, read_hourly_csv

START = dt.datetime(2026, 12, 1)


def csv_file(tmp_path: Path, text: str) -> Path:
    """Write a CSV file."""
    path = tmp_path / "air.csv"
    path.write_text(text, encoding="utf-8")
    return path


def rows(hours: int, *, heading: str = "time,temperature_c", separator: str = ",") -> list[str]:
    """Return a heading and one row an hour, the temperature counting up by tenths."""
    lines = [heading]
    for hour in range(hours):
        when = (START + dt.timedelta(hours=hour)).isoformat(sep=" ", timespec="minutes")
        lines.append(f"{when}{separator}{hour / 10:.1f}")
    return lines


def epw_text(temperatures: np.ndarray) -> str:
    """Return a synthetic EPW file: eight header lines, then rows with dry bulb in field 7."""
    header = [
        "LOCATION,Invented,-,-,-,0,50.0,10.0,1.0,100.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,-",
        "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
    ]
    for hour, value in enumerate(temperatures):
        when = dt.datetime(2001, 1, 1) + dt.timedelta(hours=hour)
        header.append(
            f"2001,{when.month},{when.day},{when.hour + 1},60,?9?9,{value:.1f},-5.0,80,101300"
        )
    return "\n".join(header) + "\n"


def test_hours_are_read_in_order(tmp_path: Path) -> None:
    """A file with times gives its temperatures for a window inside it."""
    record = read_hourly_csv(csv_file(tmp_path, "\n".join(rows(72))))
    assert record.first == START
    window = record.window_c(START + dt.timedelta(hours=10), 48)
    assert_allclose(window, np.arange(10, 58) / 10)


def test_a_file_is_read_again_only_after_it_changed(tmp_path: Path) -> None:
    """One visitor's move asks for it many times; what is given again cannot be written to."""
    path = csv_file(tmp_path, "\n".join(rows(48)))
    first = read_hourly_csv(path)
    assert read_hourly_csv(path) is first
    with pytest.raises(ValueError, match="read-only"):
        first.air_c[0] = 0.0
    csv_file(tmp_path, "\n".join(rows(72)))
    assert len(read_hourly_csv(path).air_c) == 72
    path.unlink()
    with pytest.raises(WeatherError, match="no such file"):
        read_hourly_csv(path)


def test_semicolons_and_decimal_commas_are_understood(tmp_path: Path) -> None:
    """The spreadsheet form of half of Europe reads the same."""
    plain = read_hourly_csv(csv_file(tmp_path, "\n".join(rows(48)))).air_c
    lines = [line.replace(".", ",") for line in rows(48, separator=";")]
    lines[0] = "time;temperature_c"
    assert_array_equal(read_hourly_csv(csv_file(tmp_path, "\n".join(lines))).air_c, plain)


def test_fahrenheit_columns_are_converted(tmp_path: Path) -> None:
    """32 °F is 0 °C, 5 °F is -15 °C."""
    text = "temperature_f\n" + "32\n5\n" * 24
    assert_allclose(read_hourly_csv(csv_file(tmp_path, text)).air_c[:2], [0.0, -15.0])


def test_byte_order_marks_blank_lines_and_other_columns_do_no_harm(tmp_path: Path) -> None:
    """Extra columns and empty lines are passed over; headings in any case."""
    text = "\ufeffStation, Temperature_C ,note\n" + "x, 1.5 ,\n\n" * 48
    record = read_hourly_csv(csv_file(tmp_path, text))
    assert record.first is None
    assert_allclose(record.air_c, 1.5)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda lines: [*lines[:20], *lines[21:]], r"row 21, column time: .* by one hour"),
        (lambda lines: [*lines[:20], lines[19], *lines[20:]], r"row 21, column time"),
        (lambda lines: [*lines[:20], lines[20].split(",")[0] + ",", *lines[21:]], r"row 21, .*''"),
        (lambda lines: [*lines[:20], lines[20].split(",")[0], *lines[21:]], r"row 21, .*''"),
        (lambda lines: [*lines[:20], lines[20].split(",")[0] + ",nan", *lines[21:]], "'nan'"),
        (lambda lines: [*lines[:20], "yesterday,1", *lines[21:]], "'yesterday' is not a time"),
        (
            lambda lines: [*lines[:20], lines[20].split(",")[0] + ",281.5", *lines[21:]],
            "another unit",
        ),
        (lambda lines: lines[:40], "39 hourly values; at least 48"),
        (lambda lines: [], "found: nothing"),
        (lambda lines: ["time,air", *lines[1:]], "no column temperature_c .*found: time, air"),
    ],
)
def test_unusable_files_say_row_and_column(tmp_path: Path, change: object, says: str) -> None:
    """Gaps, missing values, wrong units and short files are errors, never filled in silence."""
    path = csv_file(tmp_path, "\n".join(change(rows(72))))
    with pytest.raises(WeatherError, match=says) as caught:
        read_hourly_csv(path)
    assert str(caught.value).startswith(str(path))
    assert "\n" not in str(caught.value)


def test_a_short_record_must_cover_the_stand(tmp_path: Path) -> None:
    """Less than a year that does not reach far enough says what it covers and what is needed."""
    record = read_hourly_csv(csv_file(tmp_path, "\n".join(rows(72))))
    with pytest.raises(WeatherError, match=r"covers 2026-12-01 to 2026-12-03; 2026-12-02 to"):
        record.window_c(START + dt.timedelta(days=1), 72)


def test_a_typical_year_wraps_round_new_year(tmp_path: Path) -> None:
    """8760 values without times serve any date: after 31 December comes 1 January."""
    text = "temperature_c\n" + "\n".join(f"{hour / 200:.3f}" for hour in range(8760))
    record = read_hourly_csv(csv_file(tmp_path, text))
    window = record.window_c(dt.datetime(2026, 12, 31, 20), 10)
    hours = np.array([8756, 8757, 8758, 8759, 0, 1, 2, 3, 4, 5])
    assert_allclose(window, hours / 200, atol=1e-3)
    assert_allclose(record.window_c(dt.datetime(2030, 3, 1), 1), (31 + 28) * 24 / 200, atol=1e-3)


def test_a_recorded_year_serves_another_date_of_the_year(tmp_path: Path) -> None:
    """A year recorded from July to June gives the same calendar hour to a later stand."""
    first = dt.datetime(2021, 7, 1)
    lines = ["time,temperature_c"]
    for hour in range(8760):
        when = first + dt.timedelta(hours=hour)
        lines.append(f"{when.isoformat()},{when.timetuple().tm_yday / 10:.1f}")
    record = read_hourly_csv(csv_file(tmp_path, "\n".join(lines)))
    for date in (dt.datetime(2026, 8, 10), dt.datetime(2026, 1, 15)):
        expected = date.timetuple().tm_yday / 10
        assert_allclose(record.window_c(date, 24), expected, atol=0.01)
    # inside the record itself the hours are those recorded
    assert_allclose(record.window_c(dt.datetime(2021, 7, 2), 24), 18.3)


def test_an_epw_year_gives_its_dry_bulb(tmp_path: Path) -> None:
    """Field 7 of the data rows is read, from 1 January on."""
    # EPW data dictionary (open simulation program's auxiliary manual): dry bulb is field 7.
    air = 10 * np.sin(2 * np.pi * np.arange(8760) / 8760)
    path = tmp_path / "year.epw"
    path.write_text(epw_text(air), encoding="utf-8")
    record = read_epw(path)
    assert_allclose(record.air_c, air, atol=0.051)
    assert record.first is None
    window = record.window_c(dt.datetime(2026, 12, 31, 22), 4)
    assert_allclose(window, air[[8758, 8759, 0, 1]], atol=0.051)


def test_broken_epw_files_are_refused(tmp_path: Path) -> None:
    """Other files, missing values (99.9) and short rows name file and row."""
    path = tmp_path / "year.epw"
    path.write_text("time,temperature_c\n1,2\n", encoding="utf-8")
    with pytest.raises(WeatherError, match=r"not an EPW file.*LOCATION"):
        read_epw(path)
    air = np.zeros(100)
    air[3] = 99.9
    path.write_text(epw_text(air), encoding="utf-8")
    with pytest.raises(WeatherError, match=r"row 12: dry bulb is missing"):
        read_epw(path)
    lines = epw_text(np.zeros(100)).splitlines()
    lines[20] = "2001,1,1"
    path.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(WeatherError, match=r"row 21, column dry bulb"):
        read_epw(path)


@pytest.mark.parametrize("reader", [read_epw, read_hourly_csv])
def test_files_that_are_not_text_or_not_there_are_refused(tmp_path: Path, reader: object) -> None:
    """A folder, a missing file, a huge one and a binary one are one sentence each."""
    with pytest.raises(WeatherError, match="this is a folder"):
        reader(tmp_path)
    with pytest.raises(WeatherError, match="no such file"):
        reader(tmp_path / "gone.csv")
    huge = tmp_path / "huge.csv"
    with huge.open("wb") as file:
        file.truncate(100_000_000)
    with pytest.raises(WeatherError, match="100 MB is too large; at most 20 MB"):
        reader(huge)
    binary = tmp_path / "binary.csv"
    binary.write_bytes(b"\x00\xfe\x00\x81")
    with pytest.raises(WeatherError, match="not UTF-8"):
        reader(binary)
