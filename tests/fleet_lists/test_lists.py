"""Fleet lists by fresh eyes: nothing may be read wrongly in silence."""

import contextlib
import csv
import datetime as dt
import io
import json
import re
import shutil
import tempfile
from pathlib import Path
from typing import Any

import pytest
from openpyxl.utils import column_index_from_string

from drainsim.cli import main
from tests.fleet_lists.written import LISTS, load, place, write

TODAY = dt.date(2026, 11, 25)
NOTHING: dict[str, list[str]] = {"silent": [], "unused": [], "needless": [], "not aside": []}


def understood(path: Path, *answers: str) -> dict[str, Any]:
    """Return what drainsim says it understood of a list: the only place that knows its output.

    `answers` are the options it offered with its questions, as they stand after --column.

    `vehicles`: {(row, name): {key: (value, origin)}}; `doubts`: [(row, column number, question)];
    `aside`: {row: reason}; `rejected`: {row: reasons};
    `columns`: {column number: (heading, key or None, used)};
    `answers`: the options offered with the questions;
    `refused`: the sentence with which the whole list was refused, or None.
    """
    out = path.parent / f"{path.stem}-out-{len(answers)}"
    shutil.rmtree(out, ignore_errors=True)
    said = io.StringIO()
    arguments = ["fleet", str(path), "--out", str(out), "--today", str(TODAY), "--draws", "100"]
    arguments += [part for answer in answers for part in ("--column", answer)]
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            code = main([*arguments, "--no-actions", "--workers", "1"])
        except SystemExit as end:
            code = end.code
    if not (out / "understood.csv").exists():
        assert code == 2, said.getvalue()
        assert "Traceback" not in said.getvalue()
        return {
            "vehicles": {}, "doubts": [], "aside": {}, "rejected": {}, "columns": {},
            "answers": set(), "refused": said.getvalue(),
        }  # fmt: skip
    vehicles: dict[tuple[int, str], dict[str, tuple[str, str]]] = {}
    with (out / "understood.csv").open(encoding="utf-8-sig", newline="") as file:
        for line in csv.DictReader(file):
            values = vehicles.setdefault((int(line["row"]), line["vehicle"]), {})
            values[line["key"]] = (line["value"], line["origin"])
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    summary = summary.get("list", summary)
    return {
        "vehicles": vehicles,
        "doubts": [
            (doubt["where"].get("row"), doubt["where"].get("column_number"), doubt["question"])
            for doubt in summary["doubts"]
        ],
        "aside": {entry["row"]: entry["reason"] for entry in summary["not_vehicles"]},
        "rejected": {entry["row"]: " ".join(entry["reasons"]) for entry in summary["rejected"]},
        "columns": {
            c["column_number"]: (c["heading"], c["meaning"], c["used"]) for c in summary["columns"]
        },
        "answers": {
            answer
            for doubt in summary["doubts"]
            for answer in re.findall("--column '([^']+)'", doubt["option"] or "")
        },
        "refused": None,
    }


def judge(content: dict[str, Any], got: dict[str, Any]) -> dict[str, list[str]]:
    """Hold what was understood of a list against its expectation."""
    silent: list[str] = []
    unused: list[str] = []
    needless: list[str] = []
    asked = {(row, column) for row, column, _ in got["doubts"]}
    asked |= {(row, None) for row in got["rejected"]}
    if got["refused"]:
        asked.add((None, None))
    wanted = {place(entry) for entry in content.get("ask", [])}
    wanted |= {(entry["row"], None) for entry in content.get("rejected", [])}
    allowed = wanted | {place(entry) for entry in content.get("may_ask", [])}

    for entry in content.get("ask", []):
        whole = place(entry) == (None, None)
        found = asked if whole else any(_covers(each, place(entry)) for each in asked)
        if not (found or got["refused"] or entry.get("row") in got["aside"]):
            shown = not got["columns"].get(place(entry)[1] or 0, ("", None, True))[2]
            kind = unused if shown else silent
            kind.append(f"{_name(place(entry))}: not asked: {entry['about']}")
    for question in sorted(asked, key=str):
        if (None, None) in wanted:
            break  # the list as a whole is in doubt: any question will do
        if not any(_covers(question, may) for may in allowed) and not _follows(
            got["rejected"].get(question[0], "") if question[1] is None else "", got, allowed
        ):
            texts = [text for *at, text in got["doubts"] if tuple(at) == question]
            texts += [got["rejected"].get(question[0], "")] if question[1] is None else []
            needless.append(f"{_name(question)}: {texts or got['refused']}")
    for entry in content.get("rejected", []):
        reasons = got["rejected"].get(entry["row"])
        if reasons is None:
            if not any(row == entry["row"] for row, _ in asked):
                silent.append(f"row {entry['row']}: neither rejected nor asked")
        else:
            missing = [word for word in entry["about"] if word.lower() not in reasons.lower()]
            if missing:
                unused.append(f"row {entry['row']}: {missing} not told with {reasons!r}")

    extra_keys = set(content.get("may_use", []))
    spared = any(
        not used and heading not in content.get("unused", [])
        for heading, _, used in got["columns"].values()
    )
    left = dict(got["vehicles"])
    for line in content["vehicles"]:
        vehicle = dict(zip(content["keys"], line, strict=True))
        row, identity = vehicle.pop("row"), vehicle.pop("id")
        names = identity["any"] if isinstance(identity, dict) else [identity]
        read = next((left.pop((row, name)) for name in names if (row, name) in left), None)
        if read is None:
            if not any(at == row or (at, on) == (None, None) for at, on in asked):
                silent.append(f"row {row}: {identity} missing")
            continue
        for key, expected in vehicle.items():
            loud = _loud(key, row, vehicle, got["columns"], asked, allowed)
            loud |= any(
                not got["columns"].get(column_index_from_string(letter), ("", None, True))[2]
                for letter in content.get("may_unused", [])
            )
            differences = _differences(key, expected, read, vehicle, row, loud=loud)
            spoken = [
                text
                for text in differences
                if "assumed alike" in text or ("left out" in text and spared)
            ]
            unused += spoken
            silent += [text for text in differences if text not in spoken]
        for key, (value, origin) in read.items():
            known = {*vehicle, *extra_keys, "id"} | (
                {"battery_fitted", "battery_age_years"} if "fitted" in vehicle else set()
            )
            if origin == "cell" and key not in known:
                silent.append(f"row {row}: {key} = {value} from a cell that does not say so")
    silent += [f"row {row}: {identity!r} is no vehicle" for row, identity in left]

    aside = [
        f"row {entry['row']}: {entry['what']}"
        for entry in content.get("not_vehicles", [])
        if entry["row"] not in got["aside"] and not got["refused"]
    ]
    for heading in content.get("unused", []):
        shown = any(name == heading and not used for name, _, used in got["columns"].values())
        if not shown and not got["refused"]:
            silent.append(f"column {heading!r}: not shown as unused")
    return {"silent": silent, "unused": unused, "needless": needless, "not aside": aside}


def _follows(
    reasons: str, got: dict[str, Any], allowed: set[tuple[int | None, int | None]]
) -> bool:
    """Return whether a row is held back because a column of it is rightly in doubt."""
    doubted = [on for at, on, _ in got["doubts"] if any(_covers((at, on), may) for may in allowed)]
    headings = [got["columns"].get(on, ("",))[0] for on in doubted]
    return any(heading and heading in reasons for heading in headings)


def _covers(question: tuple[int | None, int | None], at: tuple[int | None, int | None]) -> bool:
    """Return whether a question about one place is one about the other: its row, column, cell."""
    if (None, None) in (question, at):
        return question == at
    pairs = [pair for pair in zip(question, at, strict=True) if None not in pair]
    return bool(pairs) and all(ours == theirs for ours, theirs in pairs)


def _name(at: tuple[int | None, int | None]) -> str:
    """Return a place in words."""
    return f"row {at[0] or '-'}, column {at[1] or '-'}"


def _loud(
    key: str,
    row: int,
    vehicle: dict[str, Any],
    columns: dict[int, tuple[str, str | None, bool]],
    asked: set[tuple[int | None, int | None]],
    allowed: set[tuple[int | None, int | None]],
) -> bool:
    """Return whether an open question may be the one about this value of this row."""
    own = {key, "battery_fitted"} if key == "fitted" else {key}
    others = {other for other in vehicle if other not in own}
    askable = {column for _, column in allowed}
    candidates = {
        number
        for number, (_, meaning, _) in columns.items()
        if meaning in own or meaning not in others or number in askable
    }
    return any(at in (row, None) and (on is None or on in candidates) for at, on in asked)


def _differences(
    key: str,
    expected: Any,
    read: dict[str, tuple[str, str]],
    vehicle: dict[str, Any],
    row: int,
    *,
    loud: bool,
) -> list[str]:
    """Return how one value as read differs from the one expected; an open question is none."""
    if key == "fitted":
        key, expected = "battery_age_years", _ages(expected, vehicle.get("parked_since"))
    value, origin = read.get(key, ("", "default"))
    taken = origin != "default" and value != ""
    readings = expected["any"] if isinstance(expected, dict) else [expected]
    if not taken:
        if None in readings or "?" in readings or loud:
            return []
        if any(_same(reading, value) for reading in readings):
            return [f"row {row}: {key} = {value} left out, though assumed alike"]
        return [f"row {row}: {key} = {expected} left out without a word"]
    if readings == [None] and origin == "derived":
        return []
    if any(_same(reading, value) for reading in readings):
        return []
    return [f"row {row}: {key} = {value} ({origin}), expected {expected}"]


def _ages(fitted: str | None, parked: str | None) -> Any:
    """Return the ages a year, month or day of fitting allows, today or when it was parked."""
    if fitted is None:
        return None
    year, month, day = (*map(int, fitted.split("-")), 0, 0)[:3]
    first = dt.date(year, month or 1, day or 1)
    last = dt.date(year, month or 12, day or 28)
    until = dt.date.fromisoformat(parked) if parked and parked != "?" else TODAY
    return [(until - last).days / 365.25 - 0.05, (TODAY - first).days / 365.25 + 0.05]


def _same(expected: Any, value: str) -> bool:
    """Return whether a reading says the same; numbers to a thousandth, a list is a range."""
    if expected in (None, "?"):
        return False
    if isinstance(expected, str):
        return expected.strip().casefold() == value.strip().casefold()
    try:
        number = float(value)
    except ValueError:
        return False
    if isinstance(expected, list):
        return bool(expected[0] <= number <= expected[1])
    return abs(number - expected) <= 1e-3 * max(abs(expected), 1e-9)


@pytest.mark.parametrize("name", LISTS)
def test_reads_a_list_as_a_careful_person_does(name: str) -> None:
    """Nothing wrongly in silence, nothing plain unused, no needless question, all else aside.

    Whoever follows an option offered with a question gets the other values as they were.
    """
    content = load(name)
    with tempfile.TemporaryDirectory() as folder:
        path = write(content, Path(folder) / name)
        got = understood(path)
        assert judge(content, got) == NOTHING
        for answer in sorted(got["answers"]):
            after = understood(path, answer)["vehicles"]
            altered = {
                (at, key): (value, after[at][key][0])
                for at, values in got["vehicles"].items()
                for key, (value, origin) in values.items()
                if origin == "cell" and at in after and after[at].get(key, (value,))[0] != value
            }
            assert altered == {}, answer


@pytest.mark.parametrize("name", LISTS)
def test_expectation_speaks_of_what_stands_in_the_list(name: str, tmp_path: Path) -> None:
    """Rows, names and places of questions are those of the written file."""
    content = load(name)
    tables = _rows(content)
    write(content, tmp_path / name)
    for line in content["vehicles"]:
        vehicle = dict(zip(content["keys"], line, strict=True))
        at = slice(vehicle["row"] - 1, vehicle["row"])
        name = vehicle["id"]["any"][0] if isinstance(vehicle["id"], dict) else vehicle["id"]
        assert any(name in cells for table in tables for cells in table[at]), vehicle
        if "?" in vehicle.values():
            asked = [place(entry)[0] for entry in content["ask"]]
            assert {vehicle["row"], None} & set(asked), vehicle
    for entry in [*content.get("ask", []), *content.get("may_ask", [])]:
        row, column = place(entry)
        if column is not None:
            chosen = [line for table in tables for line in (table[row - 1 : row] if row else table)]
            assert any("".join(line[column - 1 : column]) for line in chosen), entry


def _as_expected(content: dict[str, Any]) -> dict[str, Any]:
    """Return what a careful person would have understood of a list."""
    vehicles = {}
    for line in content["vehicles"]:
        values = dict(zip(content["keys"], line, strict=True))
        identity = values.pop("id")
        at = values.pop("row"), identity["any"][0] if isinstance(identity, dict) else identity
        if "fitted" in values:
            low, high = _ages(values.pop("fitted"), values.get("parked_since")) or (0, 0)
            values["battery_age_years"] = (low + high) / 2 or None
        firsts = {k: v["any"][0] if isinstance(v, dict) else v for k, v in values.items()}
        vehicles[at] = {
            k: ("", "default") if v in (None, "?") else (str(v), "cell") for k, v in firsts.items()
        }
    return {
        "vehicles": vehicles,
        "doubts": [(*place(entry), entry["about"]) for entry in content.get("ask", [])],
        "aside": {entry["row"]: entry["what"] for entry in content.get("not_vehicles", [])},
        "rejected": {each["row"]: " ".join(each["about"]) for each in content.get("rejected", [])},
        "columns": {n: (name, None, False) for n, name in enumerate(content.get("unused", []))},
        "refused": None,
    }  # fmt: skip


@pytest.mark.parametrize("name", LISTS)
def test_the_judge_finds_every_single_fault(name: str) -> None:
    """The careful person passes; with one value changed, one question or row less, nobody does."""
    content = load(name)
    assert judge(content, _as_expected(content)) == NOTHING
    for at, values in _as_expected(content)["vehicles"].items():
        for key, (value, origin) in values.items():
            faulty = _as_expected(content)
            wrong = "elsewhere" if key == "depot" else "987.6"
            faulty["vehicles"][at][key] = (wrong, "cell")
            held = (key, value, origin)
            assert judge(content, faulty)["silent"], (at, held)
        faulty = _as_expected(content)
        del faulty["vehicles"][at]
        if not content.get("ask"):
            assert judge(content, faulty)["silent"], at
    for kind, fault in (("doubts", "silent"), ("rejected", "silent"), ("aside", "not aside")):
        for entry in list(_as_expected(content)[kind]):
            faulty = _as_expected(content)
            faulty[kind].remove(entry) if kind == "doubts" else faulty[kind].pop(entry)
            assert judge(content, faulty)[fault], entry
    faulty = _as_expected(content)
    faulty["vehicles"][99, "Total"] = {}
    faulty["doubts"].append((99, 50, "why?"))
    assert judge(content, faulty)["silent"]
    assert judge(content, faulty)["needless"] or not content["vehicles"]


def _rows(content: dict[str, Any]) -> list[list[list[str]]]:
    """Return the cells of each visible sheet as text."""
    if "csv" in content:
        lines = content["csv"]["lines"]
        separator = max(";\t|,", key="\n".join(lines).count)
        return [list(csv.reader(lines, delimiter=separator))]
    return [
        [[_text(cell) for cell in row] for row in sheet["rows"]]
        for sheet in content["xlsx"]
        if not sheet.get("hidden")
    ]


def _text(cell: Any) -> str:
    """Return a workbook cell as shown, roughly."""
    if isinstance(cell, dict):
        cell = next(cell[k] for k in ("value", "date", "time", "formula") if k in cell)
    return "" if cell is None else str(cell).strip()


def test_covers_six_languages_and_the_encodings_people_use() -> None:
    """Ten lists a language or more, and every encoding of an office from old to new."""
    languages = [name[:2] for name in LISTS]
    assert min(map(languages.count, ("en", "de", "fr", "es", "it", "nl"))) >= 10
    encodings = {load(name).get("csv", {}).get("encoding", "xlsx") for name in LISTS}
    assert encodings == {
        "utf-8", "utf-8-sig", "utf-16", "cp1252", "cp850", "mac_roman", "xlsx"
    }  # fmt: skip
