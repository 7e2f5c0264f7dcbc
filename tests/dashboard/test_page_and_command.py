"""The same question on a page and on the command line: one answer, whatever is left unsaid."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from drainsim.answers.driving.week import week
from drainsim.answers.driving.week_words import more_driving_words, week_verdict
from drainsim.cli.main import build_parser, main
from drainsim.dashboard.parts.plain_text import plain
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import read_scenario

_ROOT = Path(__file__).resolve().parents[2]
_PAGES = _ROOT / "drainsim" / "dashboard" / "pages"
_VAN = '[battery]\nsystem = "auxiliary"\n[unit]\npreset = "hourly"\nfed_from = "auxiliary"\n'
# As the sliders of the page stand.
_DRIVEN = """[pattern]
trips_per_week = 10
trip_minutes = 15.0
heated_screens_a = 20.0
load_a = 25.0
idle_share = 0.25
alternator_a = 90.0
"""


def _opened(page: str, **query: str) -> AppTest:
    app = AppTest.from_file(str(_ROOT / "app.py"), default_timeout=240.0)
    for name, value in query.items():
        app.query_params[name] = value
    return app.run().switch_page(str(_PAGES / page)).run()


def test_an_unsaid_catalogue_is_the_same_on_both() -> None:
    """Climates and seasons that nobody chose."""
    app, options = _opened("catalogue_page.py"), build_parser().parse_args(["catalogue"])
    for name in ("climates", "seasons"):
        chosen = app.multiselect(key=f"catalogue_{name}").value
        assert chosen == getattr(options, name).split(",")


def test_a_short_look_ahead_asks_for_no_longer_stand(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both take what is looked ahead for the days to last; a longer wish is refused, not cut."""
    listed = tmp_path / "fleet.csv"
    listed.write_text("id,battery age years\na,9\n", "utf-8")
    asked = ["fleet", str(listed), "--ahead", "14", "--draws", "100"]
    assert main(asked) == 0
    assert main([*asked, "--until", "60"]) == 2
    assert "until = 60 days must be between 1 and 14" in capsys.readouterr().err
    app = _opened("fleet_page.py")
    app.number_input(key="fleet_days").set_value(14).run()
    until = app.number_input(key="fleet_until")
    assert (until.value, until.max) == (14, 14)
    assert not app.exception
    assert not app.error


def test_a_list_of_batteries_begins_with_its_verdict_on_both(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command says the sentence over the page's table."""
    listed = tmp_path / "fleet.csv"
    listed.write_text("id,climate,battery age years\nold,temperate,9\n", "utf-8")
    assert main(["age", str(listed), "--winters", "3"]) == 0
    assert "1 of 1 batteries should be replaced before the coming winter" in (
        capsys.readouterr().out.replace("\n", " ")
    )


def test_the_auxiliary_battery_is_driven_on_both(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the command says of it stands on the page."""
    asked = tmp_path / "van.toml"
    asked.write_text(_VAN + _DRIVEN, "utf-8")
    assert main(["week", str(asked)]) == 0
    answer = week(resolve(read_scenario(asked))).auxiliary
    assert answer is not None
    told = f"Auxiliary battery. {week_verdict(answer)}"
    assert told in capsys.readouterr().out
    app = _opened("week_page.py", system="auxiliary", fed_from="auxiliary")
    assert not app.exception
    shown = [part.value for part in app.markdown]
    assert plain(told) in shown
    assert plain(f"Charge when parked: {100 * answer.parked_charge:.0f} %") in shown
    assert plain(f"Drive more: {more_driving_words(answer)}.") in shown


def test_a_stand_that_is_over_the_risk_at_once_is_none() -> None:
    """The page does not say 0 days where not even parking holds."""
    app = _opened("storage_page.py", charge_percent="20", climate="continental")
    assert not app.exception
    assert any("no stand at all" in str(part.value) for part in app.header)
