"""`drainsim quote`: a list in, one sheet a vehicle out, and a cover that agrees with each."""

import csv
import datetime as dt
import json
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import openpyxl
import pytest

from drainsim.answers.fleet.done import as_of_today
from drainsim.answers.storage.answer import storage
from drainsim.answers.storage.risk import StandQuestion
from drainsim.cli.main import main
from tests.fleet_build import SETTINGS, TODAY, answer_to, fleet_of, workbook

LIST = """\
id;depot;capacity_ah;state_of_charge;quiescent_a;unit;temperature_c;parked_from;planned_return
van 1;north;60;0,9;0,03;hourly;5;2026-11-20;2026-12-24
../van/<2>;north;95;0,95;0,01;none;5;2026-11-20;2026-12-01
c;south;60;0,9;0,03;hourly;5;2026-11-20;
"""

_SETTINGS = replace(SETTINGS, days_ahead=180)


@pytest.fixture
def given(tmp_path: Path) -> Path:
    """Write the list to a file."""
    path = tmp_path / "list.csv"
    path.write_text(LIST, encoding="utf-8")
    return path


class _Links(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "a":
            self.links += [unquote(value or "") for name, value in attrs if name == "href"]


def test_a_list_gives_a_sheet_each_and_a_cover(given: Path, tmp_path: Path) -> None:
    """Every row is on the cover or kept aside; every sheet named there is there, none outside."""
    out = tmp_path / "out"
    assert main(["quote", str(given), "--out", str(out), "--draws", "100", "--lang", "de"]) == 3
    text = (out / "cover.csv").read_text("utf-8-sig")
    heading, *rows = list(csv.reader(text.splitlines(), delimiter=";"))
    assert heading[0] == "Fahrzeug"
    assert [row[0] for row in rows] == ["van 1", "../van/<2>"]
    assert all("," in row[5] or row[5] in {"0", "1", "0,0", "1,0"} for row in rows)
    links = _Links((out / "cover.html").read_text("utf-8")).links
    assert links == [row[-1] for row in rows]
    assert all((out / link).is_file() and "/" not in link for link in links)
    assert "stehen bleiben" in (out / links[0]).read_text("utf-8")
    assert not (tmp_path / "van").exists()


def test_each_answer_is_the_storage_answer(given: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same risk and verdict as one question asked about that vehicle."""
    assert main(["quote", str(given), "--draws", "100", "--json"]) == 3
    document = json.loads(capsys.readouterr().out)
    settings_draws = {"run.draws": 100}
    for one in document["vehicles"]:
        today = as_of_today(fleet_of(LIST, settings=_SETTINGS), _SETTINGS, workers=1)
        (vehicle,) = (v for v in today.vehicles if v.id == one["id"])
        scenario = vehicle.scenario.with_values(settings_draws)
        days = (vehicle.planned_return - TODAY).days
        alone = storage(StandQuestion(scenario=scenario, days=days), inverse=False)
        assert one["days"] == days
        assert one["verdict"] == alone.verdict
        assert one["stand"]["risk"] == alone.holds.risk
    assert "no planned return to come" in document["to_correct"][0]["what_is_wrong"]


def test_days_for_all_and_a_workbook_comes_back_as_one(tmp_path: Path) -> None:
    """`--days` needs no return; an XLSX list gets an XLSX cover."""
    path = tmp_path / "list.xlsx"
    path.write_bytes(workbook([["id", "capacity_ah"], ["a", 60], ["b", 95]]))
    out = tmp_path / "out"
    words = ["quote", str(path), "--days", "5", "--draws", "100", "--out", str(out)]
    assert main(words) == 0
    sheet = openpyxl.load_workbook(out / "cover.xlsx").active
    assert sheet is not None
    assert [row[0].value for row in sheet.iter_rows(min_row=2)] == ["a", "b"]
    assert [row[3].value for row in sheet.iter_rows(min_row=2)] == [5, 5]
    assert not (out / "cover.csv").exists()


def test_prices_add_up(given: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The price of all is the sum of what each needs; without a price there is none."""
    words = ["quote", str(given), "--days", "60", "--draws", "100", "--json"]
    assert main([*words, "--price", "maintainer=40"]) == 0
    document = json.loads(capsys.readouterr().out)
    needing = [v for v in document["vehicles"] if v["verdict"] != "yes"]
    assert needing
    assert document["price"] == 40.0 * len(needing)
    assert main(words) == 0
    assert json.loads(capsys.readouterr().out)["price"] is None


def test_a_vehicle_that_stands_already_is_asked_from_today_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Thirty days parked and 21 to come end 21 days from today, as the fleet's answer has them.

    60 Ah at 85 % less 30 days of 0.03 A (21.6 Ah) is about half: no stand that is over is told a
    yes, and nothing is advised for a day that has gone.
    """
    text = "id;capacity_ah;quiescent_a;parked_from\nlong;60;0,03;2026-10-26\nnew;60;0,03;\n"
    path = tmp_path / "list.csv"
    path.write_text(text, encoding="utf-8")
    assert main(["quote", str(path), "--days", "21", "--draws", "100", "--json"]) == 0
    long, new = json.loads(capsys.readouterr().out)["vehicles"]
    until = TODAY + dt.timedelta(days=21)
    by_fleet = {v.id: v for v in answer_to(text, dates=(until,)).vehicles}
    assert long["stand"]["risk"] == pytest.approx(by_fleet["long"].risk_on_dates[0], abs=0.1)
    assert long["stand"]["risk"] > new["stand"]["risk"] + 0.3
    out = tmp_path / "out"
    assert main(["quote", str(path), "--days", "21", "--draws", "100", "--out", str(out)]) == 0
    (sheet,) = out.glob("*long.html")
    assert "before parking" not in sheet.read_text("utf-8")
    told = capsys.readouterr().out.split("new until")
    assert f"long until {until}" in told[0]
    assert "before parking" not in told[0]
