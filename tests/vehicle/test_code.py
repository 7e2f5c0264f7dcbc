"""The scenario code on paper: short, and it gives the very same scenario back."""

import base64
import datetime as dt
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainsim.errors import ScenarioError
from drainsim.vehicle.documents.code import CodedQuestion, decode_question, encode_question
from drainsim.vehicle.keys.scenario import scenario_from_dict


def coded(tables: dict[str, object] | None = None) -> CodedQuestion:
    """Return a question to put on paper."""
    usual: dict[str, object] = {
        "battery": {"capacity_ah": 60.0, "cold_cranking_a": 540.0, "state_of_charge": 0.9},
        "unit": {"preset": "hourly"},
        "vehicle": {"preset": "compact_petrol"},
        "site": {"climate": "temperate", "parked_from": dt.date(2026, 11, 2)},
    }
    return CodedQuestion(
        scenario=scenario_from_dict(tables or usual),
        days=90,
        risk=0.05,
        when="on_day",
        date=dt.date(2026, 11, 25),
        version="0.1.0",
    )


def test_a_usual_scenario_fits_on_one_line() -> None:
    """The usual question takes less than 100 characters that survive e-mail and forms."""
    code = encode_question(coded())
    assert len(code) < 100
    assert code.replace("-", "").replace("_", "").isalnum()
    assert code.isascii()


@given(
    capacity=st.floats(5, 390, allow_nan=False),
    age=st.floats(0, 20, allow_nan=False),
    name=st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=40),
    current=st.floats(-20, 50, allow_nan=False),
    days=st.integers(1, 730),
    risk=st.floats(0.001, 0.5),
)
def test_what_went_in_comes_out(
    capacity: float, age: float, name: str, current: float, days: int, risk: float
) -> None:
    """Every value survives exactly, floats to the last digit, text in any script."""
    asked = CodedQuestion(
        scenario=scenario_from_dict(
            {
                "battery": {"capacity_ah": capacity, "age_years": age},
                "other": [{"name": name, "current_a": current}],
                "unit": {"ladder": [{"below_v": 12.1, "report_interval_h": 6.0}]},
            }
        ),
        days=days,
        risk=risk,
        when="any_time",
        date=dt.date(2026, 2, 28),
        version="9.9.9",
    )
    back = decode_question(encode_question(asked))
    assert back.scenario.tables == asked.scenario.tables
    assert (back.days, back.risk, back.when, back.date, back.version) == (
        days,
        risk,
        "any_time",
        asked.date,
        "9.9.9",
    )


def test_line_breaks_in_a_pasted_code_do_not_matter() -> None:
    """A code broken over lines by a printer or mail program still reads."""
    code = encode_question(coded())
    broken = " " + code[:30] + "\n  " + code[30:] + "\n"
    assert decode_question(broken).scenario.tables == coded().scenario.tables


def test_every_single_wrong_letter_is_noticed() -> None:
    """A misread letter is a sentence, never another scenario."""
    code = encode_question(coded())
    for at in range(3, len(code) - 1):
        wrong = code[:at] + ("A" if code[at] != "A" else "B") + code[at + 1 :]
        with pytest.raises(ScenarioError, match="scenario code"):
            decode_question(wrong)


def test_a_code_cannot_blow_up() -> None:
    """A small code that unpacks to very much is refused, not unpacked."""
    packed = zlib.compress(b"#" * 50_000_000, 9)
    bomb = "D1-" + base64.urlsafe_b64encode(packed).decode()
    with pytest.raises(ScenarioError, match="scenario code"):
        decode_question(bomb)


@pytest.mark.parametrize(
    "wrong", ["", "hello", "D2-abc", "D1-", "D1-a", "D1-é", "D1-" + "A" * 30_000]
)
def test_what_is_no_code_is_said_to_be_none(wrong: str) -> None:
    """Anything else is one sentence."""
    with pytest.raises(ScenarioError, match="scenario code"):
        decode_question(wrong)


def test_a_code_with_something_behind_it_or_cut_off_is_not_read() -> None:
    """What was packed must be all there, and nothing more."""
    body = encode_question(coded()).removeprefix("D1-")
    packed = base64.urlsafe_b64decode(body + "=" * (-len(body) % 4))
    for other in (packed + b"more", packed[:-1]):
        with pytest.raises(ScenarioError, match="wrong or missing"):
            decode_question("D1-" + base64.urlsafe_b64encode(other).decode().rstrip("="))
