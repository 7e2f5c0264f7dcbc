"""Histories as they really come: what a person would expect of each, asked of the command.

Expectations come from the guide to readings (what is set aside with which reason) and were written
before the reader and the estimator were there.
"""

import datetime as dt
import json
import re
import zoneinfo
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from drainsim.cli.main import main
from tests.readings_truth.odd import PARKED, csv, end_of, history, iso

Vehicle = dict[str, Any]
Ask = Callable[..., list[Vehicle]]
ZONE = "Europe/Berlin"


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Return a function that runs `drainsim forecast` here: (exit code, stdout, stderr)."""

    def command(*words: object) -> tuple[int, str, str]:
        try:
            code = main(["forecast", *(str(word) for word in words), "--draws", "100"])
        except SystemExit as stop:
            code = int(stop.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return command


@pytest.fixture
def ask(run: Callable[..., tuple[int, str, str]], tmp_path: Path) -> Ask:
    """Return a function that loads a text (or a file) and gives the vehicles of the JSON."""

    def asked(content: str | Path, now: str, *words: object, fleet: str = "") -> list[Vehicle]:
        path = content
        if isinstance(content, str):
            path = tmp_path / "readings.csv"
            path.write_text(content, encoding="utf-8")
        options = list(words)
        if fleet:
            (tmp_path / "fleet.csv").write_text(fleet, encoding="utf-8")
            options += ["--vehicles", tmp_path / "fleet.csv"]
        code, out, err = run(path, "--json", "--now", now, "--workers", 1, *options)
        assert code in (0, 1, 3), err
        found: list[Vehicle] = json.loads(out)["vehicles"]
        return found

    return asked


def one(vehicles: list[Vehicle]) -> Vehicle:
    """Return the only vehicle."""
    assert len(vehicles) == 1
    return vehicles[0]


def moment(text: str) -> dt.datetime:
    """Return an ISO time as an aware moment."""
    found = dt.datetime.fromisoformat(text.replace("Z", "+00:00"))
    assert found.tzinfo is not None, "a time without its zone"
    return found


def words_of(vehicle: Vehicle) -> str:
    """Return everything the answer says of a vehicle, in lower case."""
    return json.dumps(vehicle).lower()


def aside(vehicle: Vehicle, pattern: str) -> Vehicle:
    """Return the set-aside span whose reason matches."""
    found = [span for span in vehicle["set_aside"] if re.search(pattern, span["reason"].lower())]
    assert found, f"no reason like {pattern!r} in {vehicle['set_aside']}"
    return dict(found[0])


def forecast_is_whole(vehicle: Vehicle) -> None:
    """Assert a forecast in order: p10 to p90, shares within 0 and 1."""
    charge, days = vehicle["charge"], vehicle["days_to_no_start"]
    assert 0 <= charge["p10"] <= charge["p50"] <= charge["p90"] <= 1
    values = [np.inf if days[key] is None else days[key] for key in ("p10", "p50", "p90")]
    assert 0 <= values[0] <= values[1] <= values[2]
    assert 0 <= vehicle["risk_today"] <= 1
    assert 0 <= vehicle["extra_drain"]["probability"] <= 1


def test_a_plain_stand(ask: Ask) -> None:
    """Hourly readings with an ignition column: parked since key off, all readings used."""
    frame = history()
    found = one(ask(csv(frame), end_of(frame)))
    assert found["id"] == "Van 7"
    assert found["status"] == "parked"
    assert abs(moment(found["parked_since"]) - PARKED) < dt.timedelta(minutes=15)
    assert found["readings_used"] == len(frame)
    forecast_is_whole(found)
    assert 0.5 < found["charge"]["p50"] < 1.0  # 12.53 V: 70 to 85 % by any table of section A 2


@pytest.mark.parametrize("warm_v", [0.45, 0.95])
def test_just_switched_off_is_parked(ask: Ask, warm_v: float) -> None:
    """Above 13.2 V for an hour after key off, without an ignition column, is parked, not running.

    Measured: 13.35 to 13.25 V over the first 1.5 h of a rest (Sulzer 2019 telemetry).
    """
    frame = history(surface_v=warm_v, level_v=12.85, fall_v_per_day=0.004)
    after = frame[(frame["at"] > PARKED) & (frame["at"] < PARKED + dt.timedelta(hours=1.5))]
    if warm_v > 0.9:
        assert (after["volts"] > 13.2).all()  # the case this is about
    found = one(ask(csv(frame, ignition=False), end_of(frame)))
    assert found["status"] == "parked"
    assert abs(moment(found["parked_since"]) - PARKED) < dt.timedelta(minutes=30)


def test_24v_pair(ask: Ask) -> None:
    """Twice the volts are a 24 V pair, with the same charge as one battery at half of them."""
    frame = history()
    single = one(ask(csv(frame), end_of(frame)))
    double = frame.assign(volts=frame["volts"] * 2)
    pair = one(ask(csv(double), end_of(frame)))
    forecast_is_whole(pair)
    assert pair["status"] == "parked"
    assert re.search(r"24 v|pair|two in series", words_of(pair)) or pair["charge"]["p50"]
    assert pair["charge"]["p50"] == pytest.approx(single["charge"]["p50"], abs=0.1)


def test_12v_on_a_24v_vehicle(ask: Ask) -> None:
    """A 24 V truck whose unit sees 12.5 V is fed from one battery of two: that is said."""
    frame = history()
    fleet = "vehicle,battery system,capacity (Ah)\nVan 7,24V,180\n"
    found = one(ask(csv(frame), end_of(frame), fleet=fleet))
    assert re.search(r"one (of the two |of two )?batter|single battery|half", words_of(found))


def test_behind_the_switch(ask: Ask) -> None:
    """Zero volts whenever the ignition is off: unreadable, and the reason names the switch."""
    frame = history(earlier_days=5)
    frame.loc[frame["ignition"] == 0, "volts"] = 0.0
    found = one(ask(csv(frame), end_of(frame)))
    assert found["status"] == "unreadable"
    aside(found, "behind the ignition switch")


def test_own_cell(ask: Ask) -> None:
    """A constant 3.6 to 4.3 V is the unit's own cell, no vehicle battery."""
    frame = history()
    frame["volts"] = np.where(np.arange(len(frame)) % 7 == 0, 4.05, 4.06)
    found = one(ask(csv(frame), end_of(frame)))
    assert found["status"] == "unreadable"
    aside(found, "own cell|internal cell|back-up")
    assert found["days_to_no_start"]["p50"] is None or found["readings_used"] == 0


def test_charger(ask: Ask) -> None:
    """A steady 13.5 V for two days without a key is a charger: named, and not a drain."""
    frame = history(days=10)
    since = frame["at"] > PARKED + dt.timedelta(days=8)
    rng = np.random.default_rng(2)
    frame.loc[since, "volts"] = (13.5 + 0.01 * rng.standard_normal(since.sum())).round(2)
    found = one(ask(csv(frame), end_of(frame)))
    assert found["status"] == "charging"
    assert "charger" in words_of(found)
    assert abs(moment(found["parked_since"]) - PARKED) < dt.timedelta(hours=1)


def test_charger_taken_off(ask: Ask) -> None:
    """After a charger the battery starts anew: fuller than the voltages before it said."""
    frame = history(days=14, level_v=12.25, fall_v_per_day=0.0)
    day = (frame["at"] - PARKED) / dt.timedelta(days=1)
    on = (day > 5) & (day < 7)
    frame.loc[on, "volts"] = 13.6
    after = day >= 7
    frame.loc[after, "volts"] = (
        12.68 + 0.4 * (1 + 24 * (day[after] - 7)) ** -0.9 - 0.005 * (day[after] - 7)
    ).round(2)
    found = one(ask(csv(frame), end_of(frame)))
    assert found["status"] == "parked"
    assert found["charge"]["p50"] > 0.75
    assert "charger" in words_of(found)


def test_sun(ask: Ask) -> None:
    """A rise every noon without a key is sun or a charger: said, not taken for driving."""
    frame = history(days=10)
    hour = frame["at"].dt.hour + frame["at"].dt.minute / 60
    parked = frame["at"] > PARKED + dt.timedelta(hours=12)
    rise = np.clip(np.cos((hour - 12) * np.pi / 8), 0, 1) * 0.7
    frame.loc[parked, "volts"] = (frame["volts"] + rise)[parked].round(2)
    found = one(ask(csv(frame), end_of(frame)))
    assert re.search(r"\bsun\b|panel|solar", words_of(found))
    assert abs(moment(found["parked_since"]) - PARKED) < dt.timedelta(hours=1)


def test_one_value_for_days(ask: Ask) -> None:
    """The same hundredth of a volt for four days is no measurement: set aside with its reason."""
    frame = history(days=12)
    day = (frame["at"] - PARKED) / dt.timedelta(days=1)
    stuck = (day > 5) & (day < 9)
    frame.loc[stuck, "volts"] = 12.53
    found = one(ask(csv(frame), end_of(frame)))
    span = aside(found, "one value|same value|unchanged|did not change|stuck")
    begin, end = moment(span["from"]), moment(span["until"])
    assert begin < PARKED + dt.timedelta(days=6)
    assert end > PARKED + dt.timedelta(days=8)
    assert found["status"] == "parked"


def test_one_value_of_a_coarse_unit_is_measured(ask: Ask) -> None:
    """At steps of 0.1 V a healthy battery shows one value for days: nothing is set aside."""
    frame = history(days=12, step_v=0.1, level_v=12.53, fall_v_per_day=0.003)
    found = one(ask(csv(frame), end_of(frame)))
    assert not found["set_aside"]
    assert found["status"] == "parked"
    assert found["readings_used"] == len(frame)


def test_floor(ask: Ask) -> None:
    """A voltage that falls onto the unit's least value and lies there is censored."""
    frame = history(days=14, level_v=12.3, fall_v_per_day=0.11)
    frame["volts"] = frame["volts"].clip(lower=11.5)
    found = one(ask(csv(frame), end_of(frame)))
    aside(found, "floor|least|minimum|lowest")
    assert found["charge"]["p90"] < 0.6  # it lies at most where the floor began


def test_silent_when_low(ask: Ask) -> None:
    """Silence after a low voltage is a finding: silent, with the last word it sent."""
    frame = history(days=11, level_v=12.25, fall_v_per_day=0.07)
    now = (frame["at"].max() + dt.timedelta(days=4)).strftime("%Y-%m-%dT%H:%M:%SZ")
    found = one(ask(csv(frame), now))
    assert found["status"] == "silent"
    assert abs(moment(found["parked_since"]) - PARKED) < dt.timedelta(hours=1)


def test_exchanged_battery(ask: Ask) -> None:
    """A step up without key or charger is another battery: said, and forecast from the new one."""
    old = history(days=10, level_v=12.2, fall_v_per_day=0.012)
    swap = PARKED + dt.timedelta(days=10, hours=3)
    hours = np.arange(0.0, 8 * 24)
    new = pd.DataFrame(
        {
            "at": [swap + dt.timedelta(hours=h) for h in hours],
            "volts": (12.72 - 0.006 * hours / 24).round(2),
            "ignition": 0,
        }
    )
    frame = pd.concat([old, new], ignore_index=True)
    found = one(ask(csv(frame), end_of(frame)))
    assert re.search(r"exchanged|another battery|new battery|replaced", words_of(found))
    assert found["charge"]["p50"] > 0.75


def test_zero_and_empty_are_not_measured(ask: Ask) -> None:
    """0 and empty cells are set aside and change nothing else."""
    frame = history()
    holes = frame.copy()
    holes["volts"] = holes["volts"].astype(object)
    holes.loc[range(70, 200, 9), "volts"] = 0
    lines = csv(holes).splitlines()
    for number in range(75, 200, 11):
        vehicle, time, _, on = lines[number].split(",")
        lines[number] = f"{vehicle},{time},,{on}"
    found = one(ask("\n".join(lines), end_of(frame)))
    aside(found, "0 v|zero|not measured")
    assert found["status"] == "parked"
    assert found["readings_used"] < len(frame)
    whole = one(ask(csv(frame), end_of(frame)))
    assert found["charge"]["p50"] == pytest.approx(whole["charge"]["p50"], abs=0.05)


def local_rows(begin_utc: dt.datetime, hours: int) -> pd.DataFrame:
    """Return hourly UTC rows with their clock time in Berlin, as a unit without zone writes it."""
    zone = zoneinfo.ZoneInfo(ZONE)
    at = [begin_utc + dt.timedelta(hours=h) for h in range(hours)]
    volts = (12.6 - 0.0003 * np.arange(hours) + 0.004 * np.sin(np.arange(hours) * 2.3)).round(2)
    clock = [one.astimezone(zone).strftime("%d.%m.%Y %H:%M") for one in at]
    return pd.DataFrame({"at": at, "volts": volts, "clock": clock})


def test_doubled_autumn_hour(ask: Ask) -> None:
    """On 25 October 2026 Berlin's 02:30 comes twice: both are kept aside, all else is used."""
    rows = local_rows(dt.datetime(2026, 10, 22, 5, 30, tzinfo=dt.UTC), 6 * 24)
    text = "vehicle;time;voltage (V)\n" + "".join(
        f"Van 7;{clock};{volts:.2f}\n"
        for clock, volts in zip(rows["clock"], rows["volts"], strict=True)
    )
    assert text.count("25.10.2026 02:30") == 2
    found = one(ask(text, "2026-10-28T06:00:00Z", "--zone", ZONE))
    span = aside(found, "twice|doubled|clock|summer")
    day = dt.datetime(2026, 10, 25, tzinfo=dt.UTC)
    assert day <= moment(span["from"]) <= day + dt.timedelta(hours=3)
    assert found["readings_used"] == len(rows) - 2


def test_local_time_asks_for_its_zone(
    run: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    """Local times without a zone are asked about, never guessed."""
    rows = local_rows(dt.datetime(2026, 10, 22, 5, 30, tzinfo=dt.UTC), 48)
    path = tmp_path / "local.csv"
    path.write_text(
        "vehicle;time;voltage (V)\n"
        + "".join(f"Van 7;{c};{v:.2f}\n" for c, v in zip(rows["clock"], rows["volts"], strict=True))
    )
    code, _, err = run(path, "--json")
    assert code == 2
    assert "zone" in err.lower()
    assert "Traceback" not in err


def test_late_batches(ask: Ask) -> None:
    """Rows in the order they arrived mean what they mean in the order they were measured."""
    frame = history()
    shuffled = frame.sample(frac=1.0, random_state=3)
    assert ask(csv(shuffled), end_of(frame)) == ask(csv(frame), end_of(frame))


def shapes(frame: pd.DataFrame, tmp_path: Path) -> dict[str, Path]:
    """Write one history in many shapes, one file or folder each."""
    seconds = (frame["at"] - pd.Timestamp(0, tz="UTC")) // dt.timedelta(seconds=1)
    volts = frame["volts"].round(2)
    base = pd.DataFrame({"vehicle": "Van 7", "time": iso(frame["at"]), "voltage (V)": volts})
    base["ignition"] = frame["ignition"]
    millivolts = (volts * 1000).round().astype(int)
    tables = {
        "epoch_s.csv": base.assign(time=seconds),
        "epoch_ms.csv": base.assign(time=seconds * 1000),
        "millivolts.csv": base.drop(columns="voltage (V)").assign(**{"voltage (mV)": millivolts}),
        "offset.csv": base.assign(
            time=(frame["at"] + dt.timedelta(hours=2)).dt.strftime("%Y-%m-%dT%H:%M:%S+02:00")
        ),
        "doubled_rows.csv": pd.concat([base, base.iloc[100:140]]),
    }
    found = {}
    for name, table in tables.items():
        found[name] = tmp_path / name
        table.to_csv(found[name], index=False)
    found["comma.csv"] = tmp_path / "comma.csv"
    base.to_csv(found["comma.csv"], index=False, sep=";", decimal=",")
    found["book.xlsx"] = tmp_path / "book.xlsx"
    naive = base.assign(time=frame["at"].dt.tz_localize(None))
    naive.rename(columns={"time": "time (UTC)"}).to_excel(found["book.xlsx"], index=False)
    return found


SHAPES = ("epoch_s.csv", "epoch_ms.csv", "millivolts.csv", "offset.csv", "comma.csv", "book.xlsx",
          "doubled_rows.csv")  # fmt: skip


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes_of_one_history(ask: Ask, tmp_path: Path, shape: str) -> None:
    """Whatever the file's shape, the same history has the same answer."""
    frame = history()
    frame["at"] = frame["at"].dt.round("s")
    plain = ask(csv(frame), end_of(frame))
    words = ["--zone", "UTC"] if shape == "book.xlsx" else []
    found = ask(shapes(frame, tmp_path)[shape], end_of(frame), *words)
    drop = {"set_aside", "readings_used"} if shape == "doubled_rows.csv" else set()
    kept = [[{k: v for k, v in one.items() if k not in drop} for one in f] for f in (found, plain)]
    assert kept[0] == kept[1]


def three(tmp_path: Path) -> tuple[dict[str, pd.DataFrame], str]:
    """Return three vehicles' readings on one common hourly raster, and the moment after them."""
    at = [PARKED + dt.timedelta(hours=h) for h in range(-30, 24 * 8)]
    frames = {}
    for number, name in enumerate(("A 1", "B 2", "C 3")):
        rng = np.random.default_rng(number)
        hour = np.arange(-30, 24 * 8)
        volts = np.where(
            (hour < 0) & (hour >= -2),
            14.2,
            12.6 - 0.05 * number - 0.0004 * np.maximum(hour, 0) * (1 + number)
            + np.where(hour >= 0, 0.3 * (1 + np.maximum(hour, 0)) ** -0.8, 0)
            + 0.004 * rng.standard_normal(len(hour)),
        )  # fmt: skip
        frames[name] = pd.DataFrame({"at": at, "volts": volts.round(2)})
    return frames, end_of(frames["A 1"])


def test_one_column_a_vehicle_and_one_file_a_vehicle(ask: Ask, tmp_path: Path) -> None:
    """A wide table and a folder of files say what the long table says."""
    frames, now = three(tmp_path)
    long = "vehicle,time,voltage (V)\n" + "".join(
        f"{name},{time},{volts:.2f}\n"
        for name, frame in frames.items()
        for time, volts in zip(iso(frame["at"]), frame["volts"], strict=True)
    )
    expected = ask(long, now)
    assert [vehicle["id"] for vehicle in expected] == ["A 1", "B 2", "C 3"]
    wide = pd.DataFrame({"time": iso(frames["A 1"]["at"])})
    for name, frame in frames.items():
        wide[name] = frame["volts"]
    path = tmp_path / "wide.csv"
    wide.to_csv(path, index=False)
    assert ask(path, now) == expected
    folder = tmp_path / "folder"
    folder.mkdir()
    for name, frame in frames.items():
        pd.DataFrame({"time": iso(frame["at"]), "voltage (V)": frame["volts"]}).to_csv(
            folder / f"{name}.csv", index=False
        )
    assert ask(folder, now) == expected


def test_readings_after_the_morning_are_not_looked_at(ask: Ask) -> None:
    """What is measured after --now changes nothing."""
    frame = history(days=9)
    morning = PARKED + dt.timedelta(days=5)
    early = frame[frame["at"] <= morning]
    now = morning.strftime("%Y-%m-%dT%H:%M:%SZ")
    wild = frame.assign(volts=frame["volts"].where(frame["at"] <= morning, 11.1))
    before, after = one(ask(csv(early), now)), one(ask(csv(wild), now))
    for key in ("charge", "drain_a", "days_to_no_start", "extra_drain", "risk_today", "status"):
        assert before[key] == after[key]


def test_driven_now(ask: Ask) -> None:
    """A vehicle under way is driven, not parked."""
    frame = history(days=3)
    last = frame["at"].max()
    rows = [(last + dt.timedelta(minutes=2.0 * k + 5), 14.2, 1) for k in range(20)]
    drive = pd.DataFrame(rows, columns=frame.columns)
    found = one(ask(csv(pd.concat([frame, drive])), end_of(drive)))
    assert found["status"] == "driven"


def test_two_readings_say_so(ask: Ask) -> None:
    """Two readings an hour apart are too few for a rate: said, and nothing is invented."""
    frame = history(days=9).tail(2)
    found = one(ask(csv(frame, ignition=False), end_of(frame)))
    assert found["status"] in ("too few readings", "parked")
    assert not found["extra_drain"]["probability"] or found["extra_drain"]["probability"] < 0.5
