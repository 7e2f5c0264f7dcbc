"""The command line in another language: all of a text is said, JSON stays as it is."""

import gettext
import json
import re
from pathlib import Path
from typing import Final

import pytest

from drainsim import language
from drainsim.cli.main import main
from drainsim.files.examples import example_text
from drainsim.files.fleet.example import example_list
from drainsim.language import DOMAIN, SCREENS, Language, say
from tests.invented_readings import told_of
from tests.message_files import messages_in_use
from tests.synthetic_log import as_csv, parked_log

VAN: Final = """
[battery]
capacity_ah = 60
age_years = 5
resting_voltage_v = 12.4
[unit]
preset = "live"
[vehicle]
fuel = "diesel"
[solar]
panel_w = 5
latitude_deg = 50
[maintainer]
current_a = 0.1
hours_per_day = 2
[pattern]
trips_per_week = 4
trip_minutes = 10
[site]
climate = "subarctic"
parked_from = 2026-12-01
[run]
draws = 100
horizon_days = 60
"""
COMMANDS: Final = {
    "park": ["van.toml", "--verbose"],
    "storage": ["van.toml", "--days", "40", "--for-ever", "--by-month", "--verbose"],
    "week": ["van.toml", "--verbose"],
    "age": ["van.toml", "--verbose"],
    "fleet": ["fleet.csv", "--today", "2026-11-28", "--chargers", "Sunfield=1"],
    "quote": ["fleet.csv", "--days", "30", "--draws", "100"],
    "forecast": ["readings.csv", "--draws", "100"],
    "catalogue": ["hourly", "--vehicles", "small_petrol", "--climates", "marine", "--draws", "100"],
    "acceptance": ["job.json"],
    "circuits": ["circuits.csv"],
    "current-log": ["log.csv"],
    "profiles": [],
}
# What stays as it is typed or read in every language: keys with values and quoted sources, units.
_STATED: Final = re.compile(r"^  [a-z_]+\.[a-z_0-9]+(\[\d+\])? = .*$", re.M)
_SPREAD: Final = re.compile(r"\w+_(sd|sigma|correlation)\w*( [\d.]+)?( \w+)?")
_KEPT: Final = (
    r"[a-z_]+\.[a-z_0-9]+|[A-Z]{2}-\d+|Ah|mA|mV|mm|cm|min|[A-Z]{2,3}|live|hourly|[a-z_]+_[a-z_0-9]+"
)


class _Marked(gettext.NullTranslations):
    """A language whose every text of a catalogue is in letters that English does not have."""

    def gettext(self, message: str) -> str:
        return _wide(message) if _is_known(message) else message

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        text = msgid1 if n == 1 else msgid2
        return _wide(text) if _is_known((msgid1, msgid2)) else text


def _is_known(message: str | tuple[str, str]) -> bool:
    return any(message in messages_in_use(domain) for domain in (DOMAIN, SCREENS))


def _wide(text: str) -> str:
    """Return a text with wide letters; places for figures, one within another too, stay."""
    parts = re.split(r"(\{(?:[^{}]|\{[^}]*\})*\})", text)
    return "".join(
        part
        if part.startswith("{")
        else re.sub("[A-Za-z]", lambda letter: chr(ord(letter[0]) + 0xFEE0), part)
        for part in parts
    )


@pytest.fixture
def inputs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """Go to a folder with an input for every command, none of them in a language's words."""
    monkeypatch.chdir(tmp_path)
    texts = {
        "van.toml": VAN,
        "fleet.csv": "\n".join(example_list().decode("utf-8-sig").split("\n")[:6]),
        "readings.csv": told_of(),
        "job.json": example_text("job_record.json"),
        "circuits.csv": example_text("circuits.csv"),
        "log.csv": as_csv(*parked_log()).decode(),
    }
    for name, text in texts.items():
        (tmp_path / name).write_text(text, "utf-8")
    return texts


def _unsaid(text: str, own: str, arguments: list[str]) -> list[str]:
    """Return what of a text is still in English letters and is no unit, key or input."""
    text = _SPREAD.sub("", _STATED.sub("", text))
    cells = {cell.strip() for cell in re.split(r'[;,"\n]', own)} | set(arguments)
    for cell in sorted(cells, key=len, reverse=True):
        if re.search("[A-Za-z]{2}", cell):
            text = text.replace(cell, "")
    text = re.sub(rf"{_wide(' as ')}[a-z_]+\b", "", text)  # the list's own names of columns
    return re.findall(r".*[A-Za-z]{2,}.*", re.sub(rf"\b({_KEPT})\b", "", text))


@pytest.mark.parametrize("command", COMMANDS)
def test_all_of_a_text_is_said(
    command: str,
    inputs: dict[str, str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """No word is left in English but what a user wrote, units, keys and quoted sources; no °C.

    Reasons why rows of an input are not used are refusals, and stay English with them.
    """
    marked = _Marked()
    monkeypatch.setattr(
        language, "_messages", lambda code: marked if code == "de" else gettext.NullTranslations()
    )
    arguments = COMMANDS[command]
    assert main([command, *arguments, "--lang", "de", "--temperature", "F"]) in (0, 1, 3)
    said = capsys.readouterr().out
    assert "°C" not in _STATED.sub("", said)
    assert "\uff41" in said  # something was said at all
    own = "" if command == "profiles" else inputs.get(arguments[0], "")
    own = own if not arguments or arguments[0] != "van.toml" else ""
    if command == "profiles":  # the keys to choose by come first
        said = re.sub(r"^  \w+ ", "", said, flags=re.M)
    kept = _unsaid(said, own, arguments)
    if command == "forecast":
        aside = _wide("Set aside")
        kept = [line for line in kept if aside not in line and _wide("unreadable") not in line]
    assert kept == []


@pytest.mark.parametrize(
    "command",
    [
        "park",
        "age",
        *(pytest.param(one, marks=pytest.mark.nightly) for one in ("storage", "week", "fleet")),
    ],
)
def test_json_is_the_same_in_every_language(
    command: str, inputs: dict[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """A program reads the same whatever a person chose: also of temperatures."""
    arguments = [word for word in COMMANDS[command] if word != "--verbose"]
    found = []
    for spoken in ([], ["--lang", "de", "--temperature", "F"]):
        assert main([command, *arguments, "--json", *spoken]) in (0, 1, 3)
        found.append(capsys.readouterr().out)
    assert json.loads(found[0])
    assert found[0] == found[1]


@pytest.mark.parametrize(
    ("celsius", "shown"),
    # -18 °C of the cold cranking test is 0 °F (both scales of the SAE and EN tests), -40 both.
    [("-18", "0 °F"), ("-40", "-40 °F"), ("25", "77 °F"), ("0", "32 °F")],
)
def test_temperatures_are_in_the_unit_asked_for(
    celsius: str, shown: str, inputs: dict[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """What is set stays in °C, what is told is in °F."""
    del inputs
    for name in ("site.climate", "solar.panel_w"):
        text = Path("van.toml").read_text("utf-8")
        key = name.partition(".")[2]
        kept = [line for line in text.split("\n") if not line.startswith(f"{key} =")]
        Path("van.toml").write_text("\n".join(kept), "utf-8")
    Path("van.toml").write_text(
        Path("van.toml").read_text("utf-8").replace("[solar]", "").replace("latitude_deg = 50", ""),
        "utf-8",
    )
    asked = ["park", "van.toml", "--set", f"site.temperature_c={celsius}"]
    assert main([*asked, "--temperature", "F"]) == 0
    said = capsys.readouterr().out
    assert f"constant, {shown}" in said
    assert f"site.temperature_c = {celsius} °C" in said
    assert "°C" not in _STATED.sub("", said)


def test_english_until_told_otherwise(
    inputs: dict[str, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A machine's locale changes no script; DRAINSIM_LANG does, and an option before it."""
    del inputs
    asked = ["age", "van.toml"]

    def first_line(*more: str) -> str:
        assert main([*asked, *more]) == 0
        return capsys.readouterr().out.partition("\n")[0]

    english = first_line()
    for name in ("LC_ALL", "LC_MESSAGES", "LANG"):
        monkeypatch.setenv(name, "de_DE.UTF-8")
    assert first_line() == english
    german = first_line("--lang", "de")
    assert german != english
    assert say("Yes") == "Yes"  # what a command speaks ends with it
    monkeypatch.setenv("DRAINSIM_LANG", "de")
    assert first_line() == german
    assert first_line("--lang", "en") == english
    monkeypatch.setenv("DRAINSIM_LANG", "xx")
    assert main(asked) == 2
    assert "'xx'" in capsys.readouterr().err


def test_a_place_of_figures_may_ask_for_degrees() -> None:
    """Digits as the place asks for them; the first of two temperatures without its unit."""
    text = language.message(
        "{low:.0f-} to {high} at {mean:.1f}",
        low=language.Celsius(-18.2),
        high=language.Celsius(-0.3),
        mean=language.Celsius(5.5),
    )
    assert text == "-18 to 0 °C at 5.5 °C"
    fahrenheit = Language(code="de", messages=gettext.NullTranslations(), temperature_unit="F")
    assert fahrenheit(text) == "-1 to 31 °F at 41,9 °F"
    assert fahrenheit("{cost:,.1f}", cost=12345.6) == "12.345,6"
