"""Tables a spreadsheet opens without running anything in them."""

import csv
import datetime as dt
import io

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainsim.sheets.spreadsheet import csv_text, harmless, xlsx_bytes

# Ways of starting a formula, from the published advice on CSV injection ("formula injection"):
# =, +, -, @, tab, carriage return, and the same behind blanks.
FORMULAS = [
    '=HYPERLINK("http://h","x")',
    "=1+1",
    "+1+1",
    "-1+1",
    "-2+3+cmd|' /C calc'!A0",
    "@SUM(A1)",
    "\t=1+1",
    "\r=1+1",
    "  =1+1",
    "\u00a0=1",
    "\x00=1",
    "=",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_formulas_become_text_in_csv(text: str) -> None:
    """In cells and headings alike."""
    (heading,), (cell,) = csv.reader(io.StringIO(csv_text([text], [[text]])))
    for shown in (heading, cell):
        assert shown.startswith("'")


@pytest.mark.parametrize("text", FORMULAS)
def test_formulas_become_text_in_xlsx(text: str) -> None:
    """The workbook holds strings, no formula."""
    sheet = openpyxl.load_workbook(io.BytesIO(xlsx_bytes("t", [text], [[text]]))).active
    for cell in (sheet["A1"], sheet["A2"]):
        assert cell.data_type == "s"
        assert cell.value.startswith("'")


@pytest.mark.parametrize("text", ["-5", "+5", "-5.25", "-5,25", "van 7", "a=b", "2026-12-01", ""])
def test_harmless_text_stays_as_it_is(text: str) -> None:
    """Numbers below zero and plain words are not touched."""
    assert harmless(text) == text


@given(st.text(max_size=30))
def test_no_text_starts_like_a_formula(text: str) -> None:
    """Whatever a list holds, except for plain numbers."""
    shown = harmless(text)
    assert shown.lstrip()[:1] not in tuple("=+-@") or shown.lstrip()[1:2].isdigit()
    assert "\n" not in shown
    assert "\r" not in shown


def test_values_keep_their_kind() -> None:
    """Numbers, dates, truth and nothing arrive as such."""
    row = [1, 2.5, dt.date(2026, 12, 1), True, None, "x"]
    text = csv_text(list("abcdef"), [row])
    assert text.splitlines()[1] == "1,2.5,2026-12-01,yes,,x"
    sheet = openpyxl.load_workbook(io.BytesIO(xlsx_bytes("t", list("abcdef"), [row]))).active
    values = [cell.value for cell in sheet[2]]
    assert values[:2] == [1, 2.5]
    assert values[2].date() == dt.date(2026, 12, 1)
    assert values[3:] == [True, None, "x"]
    assert sheet.freeze_panes == "B2"


def test_a_long_text_fits_a_cell() -> None:
    """A cell holds at most 32,767 characters."""
    assert len(harmless("x" * 100_000)) <= 32_767
