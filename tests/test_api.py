"""The public functions give the answers of the windows, from dictionaries, files and tables."""

import datetime as dt
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import plotly.graph_objects as go
import pytest

import drainsim
from drainsim import DrainsimError
from drainsim.answers.standing.park import park as park_case
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_text

_TOML = """
[battery]
capacity_ah = 60
[vehicle]
quiescent_a = 0.04
[site]
temperature_c = 5
parked_from = 2026-12-01
"""
_TABLES = {
    "battery": {"capacity_ah": 60},
    "vehicle": {"quiescent_a": 0.04},
    "site": {"temperature_c": 5, "parked_from": "2026-12-01"},
}


def test_public_names_are_these() -> None:
    """A new public name is a decision; an old one stays."""
    assert sorted(drainsim.__all__) == [
        "DrainsimError",
        "budget_figure",
        "course_figure",
        "fleet",
        "forecast",
        "known",
        "park",
        "risk_figure",
        "storage",
        "sweep",
        "swing_figure",
        "week",
    ]
    for name in drainsim.__all__:
        assert getattr(drainsim, name).__doc__


def test_dictionary_file_and_window_agree(tmp_path: Path) -> None:
    """The same scenario as a dictionary, as a file, and resolved by hand has the same days."""
    path = tmp_path / "s.toml"
    path.write_text(_TOML, "utf-8")
    by_hand = park_case(resolve(scenario_from_text(_TOML, where="text")))
    for answer in (drainsim.park(**_TABLES), drainsim.park(path), drainsim.park(str(path))):
        assert answer.days_to_no_start == by_hand.days_to_no_start
    changed = drainsim.park(path, vehicle={"quiescent_a": 0.08})
    assert (
        changed.days_to_no_start
        == drainsim.park(**{**_TABLES, "vehicle": {"quiescent_a": 0.08}}).days_to_no_start
    )
    assert changed.case.battery.capacity_ah == 60.0


def test_a_date_may_be_text_and_a_wrong_one_is_a_sentence() -> None:
    """A date as JSON writes it is one; anything else says how to write it."""
    answer = drainsim.park(**_TABLES)
    assert answer.case.site.parked_from == dt.date(2026, 12, 1)
    with pytest.raises(drainsim.DrainsimError, match="2026-12-01"):
        drainsim.park(site={"parked_from": "1 December"})


def test_answers_are_short_in_a_notebook_and_whole_in_a_frame() -> None:
    """A repr is one line with the answer; the frame has a row a day."""
    answer = drainsim.park(**_TABLES)
    assert len(repr(answer)) < 120
    assert f"{answer.days_to_no_start.p50:.0f} days" in repr(answer)
    assert "<table" in answer._repr_html_()
    frame = answer.to_frame()
    assert len(frame) == answer.case.horizon_days + 1
    assert frame.charge.iloc[0] > frame.charge.iloc[-1]
    assert len(repr(drainsim.storage(21, **_TABLES))) < 300
    driven = drainsim.week(**_TABLES, pattern={"trips_per_week": 5, "trip_minutes": 20})
    assert len(repr(driven)) < 120
    assert len(driven.to_frame()) == len(driven.day)


def test_sweep_gives_what_one_question_at_a_time_gives() -> None:
    """Every row of a sweep is the answer of `park` with those values."""
    values = {"vehicle.quiescent_a": [0.02, 0.06], "site.temperature_c": [-5.0, 15.0]}
    table = drainsim.sweep(values, {"battery": {"capacity_ah": 60}})
    assert list(table.columns[:2]) == list(values)
    assert len(table) == 4
    for row in table.to_dict("records"):
        answer = drainsim.park(
            battery={"capacity_ah": 60},
            vehicle={"quiescent_a": row["vehicle.quiescent_a"]},
            site={"temperature_c": row["site.temperature_c"]},
        )
        assert row["median_days"] == pytest.approx(answer.days_to_no_start.p50)
        assert row["p10_days"] == pytest.approx(answer.days_to_no_start.p10)
        assert row["safe_days"] == answer.days_at_risk


def test_fleet_takes_a_table_or_a_file(tmp_path: Path) -> None:
    """A DataFrame and the same list as a file give the same vehicles."""
    vehicles = pd.DataFrame(
        {"vehicle": ["A", "B"], "capacity_ah": [60, 80], "parked since": ["2026-11-01"] * 2}
    )
    path = tmp_path / "list.csv"
    vehicles.to_csv(path, index=False)
    answer = drainsim.fleet(vehicles, today="2026-11-25")
    assert answer.vehicles == drainsim.fleet(path, today=dt.date(2026, 11, 25)).vehicles
    frame = answer.to_frame()
    assert list(frame.index) == ["A", "B"]
    assert frame.days_left_p50["B"] > frame.days_left_p50["A"]
    assert "2 vehicles" in repr(answer)


def test_figures_need_no_palette() -> None:
    """A chart of an answer is one call."""
    answer = drainsim.park(**_TABLES)
    for draw in (
        drainsim.risk_figure,
        drainsim.course_figure,
        drainsim.swing_figure,
        drainsim.budget_figure,
    ):
        assert isinstance(draw(answer), go.Figure)


def test_importing_loads_no_heavy_library() -> None:
    """A notebook or script that only asks the version waits for neither pandas nor plotly."""
    ask = "import sys, drainsim; print(*({'pandas', 'plotly', 'numpy'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
    assert set(dir(drainsim)) == set(drainsim.__all__)
    with pytest.raises(AttributeError, match="numpy"):
        drainsim.numpy  # noqa: B018


def test_forecast_reads_files_and_a_list(tmp_path: Path) -> None:
    """Readings in a file with a table of vehicles give the forecast of those vehicles by id."""
    begin = dt.datetime(2026, 11, 2, 17, tzinfo=dt.UTC)
    hours = range(-3, 24 * 6)
    volts = [14.2 if h <= 0 else 12.6 - 0.0003 * h + 0.003 * (h % 3) for h in hours]
    readings = pd.DataFrame(
        {
            "vehicle": "A",
            "time": [(begin + dt.timedelta(hours=h)).isoformat() for h in hours],
            "voltage (V)": volts,
        }
    )
    path = tmp_path / "readings.csv"
    readings.to_csv(path, index=False)
    vehicles = pd.DataFrame({"vehicle": ["A"], "capacity_ah": [80], "quiescent mA": [20]})
    found = drainsim.forecast(path, vehicles, now="2026-11-08T06:00+00:00")
    assert not found.assumptions[0].startswith("nothing was said")
    (one,) = found.vehicles
    (alone,) = drainsim.forecast([path], now=dt.datetime(2026, 11, 8, 6)).vehicles
    assert one.id == alone.id == "A"
    assert one.status == "parked"
    assert one.parked_since_s == begin.timestamp()
    assert one.drain_a.p90 is not None
    assert alone.drain_a.p90 is not None
    assert one.drain_a.p90 < alone.drain_a.p90


def test_every_question_takes_what_readings_taught(tmp_path: Path) -> None:
    """A vehicle's readings stand in for a scenario file; its days are the morning's own."""
    begin = dt.datetime(2026, 11, 2, 17, tzinfo=dt.UTC)
    hours = np.arange(-3, 24 * 6)
    # 150 mA on 70 Ah, 8 mV per % ("A Rule-of-Thumb for Estimating Battery Charge", 2012)
    volts = np.where(hours <= 0, 14.2, 12.62 + 0.3 * (1.0 + np.maximum(hours, 0)) ** -0.9)
    volts = volts - np.maximum(hours, 0) * 0.150 / 70.0 * 0.8333
    times = [(begin + dt.timedelta(hours=int(h))).isoformat() for h in hours]
    path = tmp_path / "readings.csv"
    columns = {"vehicle": "A", "time": times, "voltage (V)": volts.round(2)}
    pd.DataFrame(columns).to_csv(path, index=False)
    (one,) = drainsim.forecast(path).vehicles
    vehicle = drainsim.known(path, "A")
    days = drainsim.park(vehicle).days_to_no_start
    assert one.days_to_no_start.p50 is not None
    assert days.p50 == pytest.approx(one.days_to_no_start.p50, abs=2.5)
    assert days.p90 < drainsim.park().days_to_no_start.p50
    assert not drainsim.storage(30, vehicle).holds.holds
    assert drainsim.park(vehicle, vehicle={"quiescent_a": 0.5}).days_to_no_start.p50 < days.p50
    with pytest.raises(DrainsimError, match="no vehicle 'B', but A"):
        drainsim.known(path, "B")
    with pytest.raises(DrainsimError, match="A: no night at rest yet"):
        drainsim.known(path, "A", now="2026-11-02T19:00")
