"""Where the table lies in a sheet: heading rows, vehicles, and rows that are no vehicles.

Pure functions on rows of cells; nothing is interpreted but what a row is.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from drainsim.files.fleet.cells.cell_kinds import Cell, is_empty
from drainsim.files.fleet.heading_parts import date_form, is_unit
from drainsim.files.fleet.headings import heading_match, known_heading
from drainsim.files.fleet.words import EXAMPLES, NOTES, TOTALS, plain
from drainsim.language import marked

Row = tuple[int, list[Cell]]

_SEARCHED: Final = 30  # rows in which a heading is looked for
_LONGEST_HEADING: Final = 80
_FOOTNOTE: Final = re.compile(r"^\s*(?:[*†‡¹²³©]|\(?\d{1,2}\)\s|\[\d{1,2}\]\s)")
_DATED: Final = re.compile(r"\d{1,4}[./-]\d{1,2}[./-]\d{1,4}")
_PAGE: Final = re.compile(r"\b(?:seite|page|pagina|p[aá]gina|blatt|sheet|bladzijde)\s*\d+")
_FEWEST_FIGURES: Final = 2  # in a row that is no heading
_BEFORE_TOTAL: Final = frozenset(
    ["grand", "fleet", "the", "of", "flotte", "all", "sous", "sub", "zwischen", "parc"]
)
_FEW: Final = 3  # rows with more than a name that show what a vehicle's row looks like


@dataclass(frozen=True, slots=True)
class NotVehicle:
    """A row that is kept aside because it is no vehicle: its number and what it is."""

    row: int
    reason: str
    text: str


@dataclass(frozen=True, slots=True)
class Area:
    """A table found in a sheet: headings (and the rows each was joined from), rows, the rest."""

    headings: tuple[str, ...]
    parts: tuple[tuple[str, ...], ...]
    rows: list[Row]
    not_vehicles: tuple[NotVehicle, ...]
    suspects: dict[int, str]  # row → why it is hardly a vehicle


def find_area(rows: Sequence[Row]) -> Area:
    """Return the table in the rows of a sheet, empty ones left out.

    The heading is the row with the most headings that are known among the first thirty, the first
    row if there is none; a row of units or of sub-headings below it and a row of group headings
    above it are joined to it.
    """
    if not rows:
        return Area((), (), [], (), {})
    at = _heading_row(rows)
    heading = _texts(rows[at][1])
    first, joined = at + 1, [heading]
    if at and _is_group(rows[at - 1], rows[at]):
        joined.insert(0, _carried(_texts(rows[at - 1][1]), heading))
    while first < len(rows) and first <= at + 2:
        cells = rows[first][1]
        if _is_unit_row(cells, heading):
            joined.append([_bracketed(text) for text in _texts(cells)])
        elif first == at + 1 and len(joined) == 1 and _is_sub_row(cells, heading):
            joined = [_carried(heading, _texts(cells)), _texts(cells)]
        else:
            break
        first += 1
    width = max(len(texts) for texts in joined)
    parts = tuple(
        tuple(dict.fromkeys(t[n] for t in joined if n < len(t) and t[n])) for n in range(width)
    )
    headings = tuple(" ".join(" ".join(part).split())[:_LONGEST_HEADING] for part in parts)
    while headings and not headings[-1]:
        headings = headings[:-1]
    area = Area(headings, parts[: len(headings)], list(rows[first:]), (), {})
    return _without_blank_columns(_without_others(area, heading))


def is_turned(rows: Sequence[Row], area: Area) -> bool:
    """Say whether headings stand in the first column, so that vehicles stand side by side."""
    cells = (cells[0] for _, cells in rows[:60] if cells and not is_empty(cells[0]))
    firsts = list(dict.fromkeys(str(cell) for cell in cells))
    down = sum(known_heading(text) for text in firsts)
    along = sum(known_heading(text) for text in area.headings if text)
    return down >= _FEW and down * 2 > len(firsts) and down > along + 1


def is_headless(area: Area) -> bool:
    """Say whether the first row is a vehicle's already: numbers in it, hardly a heading."""
    texts = [text for text in area.headings if text]
    figures = sum(_numeric(text) or bool(_DATED.fullmatch(text)) for text in texts)
    return figures >= _FEWEST_FIGURES and sum(known_heading(text) for text in texts) <= 1


def _texts(cells: Sequence[Cell]) -> list[str]:
    return ["" if cell is None else " ".join(str(cell).split()) for cell in cells]


def _heading_row(rows: Sequence[Row]) -> int:
    """Return the place of the row that holds most known headings; the first where none does."""
    best, most = 0, 0
    for place, (_, cells) in enumerate(rows[:_SEARCHED]):
        texts = [text for text in _texts(cells) if text]
        if len(set(texts)) == 1 and len(texts) > 1:
            continue  # a title over merged cells
        score = sum(known_heading(text) for text in dict.fromkeys(texts))
        if score > most:
            best, most = place, score
    if most < 2 and best and len([c for c in rows[0][1] if not is_empty(c)]) > 1:
        return 0  # one word that happens to be a heading, below a row of several cells
    return best


def _is_group(above: Row, heading: Row) -> bool:
    """Say whether a row above the heading holds groups: texts over several columns."""
    if heading[0] - above[0] > 1:
        return False
    texts = [text for text in _texts(above[1]) if text]
    if len(set(texts)) < 2 or any(char.isdigit() for text in texts for char in text):
        return False
    return all(len(text) <= 40 for text in texts)


def _carried(groups: list[str], below: list[str]) -> list[str]:
    """Return group headings carried to the right over the columns they stand above."""
    found, last = [], ""
    for place in range(max(len(groups), len(below))):
        own = groups[place] if place < len(groups) else ""
        last = own or last
        has_sub = place < len(below) and bool(below[place])
        found.append(own or (last if has_sub else ""))
    return found


def _is_unit_row(cells: Sequence[Cell], heading: list[str]) -> bool:
    """Say whether a row holds units and nothing else, at least one, none for the names."""
    names = [n for n, text in enumerate(heading) if text and heading_match(text).column == "id"]
    if any(n < len(cells) and is_unit(str(cells[n])) for n in names):
        return False
    texts = [text.strip() for text in _texts(cells) if not is_empty(text)]
    units = [text for text in texts if is_unit(text) or date_form(text.strip("()[]"))]
    others = [text for text in texts if text not in units]
    fills = {"text", "datum", "date", "fecha", "data", "name", "nr", "no", "unit", "einheit",
             "unite", "unidad", "unita", "eenheid", "units", "einheiten"}  # fmt: skip
    return bool(units) and all(plain(text) in fills for text in others)


def _bracketed(text: str) -> str:
    bare = " ".join(re.sub(r"[()\[\]]", " ", text).split())
    return f"({bare})" if bare and (is_unit(bare) or date_form(bare)) else ""


def _is_sub_row(cells: Sequence[Cell], heading: list[str]) -> bool:
    """Say whether a row below the heading holds sub-headings."""
    texts = _texts(cells)
    said = [text for text in texts if text]
    if not said or any(isinstance(cell, int | float) for cell in cells):
        return False
    groups = {n for n, text in enumerate(texts) if text and n < len(heading) and not heading[n]}
    plain_ids = [n for n, text in enumerate(heading) if text and heading_match(text).column == "id"]
    named = any(
        n < len(texts) and texts[n] and texts[n] != heading[n] and not known_heading(texts[n])
        for n in plain_ids
    )
    if named:
        return False
    known = sum(known_heading(text) or is_unit(text) for text in said)
    return known * 2 > len(said) and (bool(groups) or known == len(said))


def _without_others(area: Area, heading: list[str]) -> Area:
    """Return the area without rows that are no vehicles; those are listed."""
    named = next(
        (n for n, (h, p) in enumerate(zip(area.headings, area.parts, strict=True))
         if h and heading_match(h, p).column == "id"), 0
    )  # fmt: skip
    wanted = [text for text in heading if text]
    filled = [(number, cells, _filled(cells)) for number, cells in area.rows]
    full = [cells for _, cells, places in filled if len(places) > 1]
    usual = sorted(len(places) for _, _, places in filled if len(places) > 1)
    enough = usual[len(usual) // 2] if usual else 0
    shapes = Counter(
        _shape(cells[named])
        for _, cells, places in filled
        if named < len(cells) and len(places) * 2 > enough and len(places) > 1
    )
    typical = len(full) >= _FEW and len(full) * 2 >= len(filled)
    usual_row = _Usual(heading=wanted, shapes=shapes, typical=typical, named=named, enough=enough)
    kept: list[Row] = []
    aside: list[NotVehicle] = []
    suspects: dict[int, str] = {}
    second = False  # a second table begins below
    for number, cells, places in filled:
        second = second or (len(kept) > 1 and _is_heading(cells, places, wanted, kept))
        reason = marked("a second table") if second else _reason(cells, places, usual_row)
        if reason.startswith("?"):
            suspects[number] = reason[1:]
            reason = ""
        if reason:
            text = next((str(cells[n]) for n in places), "")
            aside.append(NotVehicle(number, reason, " ".join(text.split())[:60]))
        else:
            kept.append((number, cells))
    return replace(area, rows=kept, not_vehicles=tuple(aside), suspects=suspects)


def _is_heading(
    cells: Sequence[Cell], places: Sequence[int], heading: list[str], kept: Sequence[Row]
) -> bool:
    """Say whether a row below the first vehicles is the heading of another table."""
    texts = _texts([cells[n] for n in places])
    if len(texts) < _FEWEST_FIGURES or any(_numeric(text) for text in texts):
        return False
    again = sum(text in heading for text in texts)
    known = sum(known_heading(text) for text in texts)
    if again * 2 >= len(texts) or not known:
        return False
    over_numbers = any(
        sum(n < len(row) and _numeric(row[n]) for _, row in kept) * 2 > len(kept) for n in places
    )
    return over_numbers or (known >= _FEWEST_FIGURES and known * 3 >= 2 * len(texts))


def _filled(cells: Sequence[Cell]) -> list[int]:
    """Return the places of cells that hold something; one text over merged cells counts once."""
    places = [n for n, cell in enumerate(cells) if not is_empty(cell)]
    texts = {str(cells[n]) for n in places}
    return places[:1] if len(texts) == 1 and len(places) > 2 else places


def _shape(cell: Cell) -> str:
    """Return what a name looks like: letters and digits by kind, runs taken together.

    Examples
    --------
    >>> _shape("VA-001"), _shape("North yard")
    ('A-9', 'A A')
    """
    text = re.sub(r"[^\W\d_]+", "A", "" if cell is None else " ".join(str(cell).split()))
    return re.sub(r"\d+", "9", text)


@dataclass(frozen=True, slots=True)
class _Usual:
    """What most rows of an area are like."""

    heading: list[str]
    shapes: Counter[str]  # of the vehicles' names
    typical: bool  # most hold more than a name
    named: int  # place of the name
    enough: int  # cells filled in the middle one


def _reason(cells: Sequence[Cell], places: Sequence[int], usual: _Usual) -> str:
    """Return why a row is no vehicle, "?…" where it hardly is one, "" for a vehicle."""
    texts = [text for text in _texts(cells) if text]
    name = cells[usual.named] if usual.named < len(cells) else None
    if _repeats(texts, usual.heading):
        return marked("the headings again")
    if not places:
        return marked("no value in it")
    first = next((c for c in cells if not is_empty(c)), None)
    if isinstance(name, str) and plain(name) in EXAMPLES:
        return marked("an example row")
    words = [text for text in texts if len(places) < usual.enough and not _numeric(text)]
    if any(_is_total(cell) for cell in (first, *words) if isinstance(cell, str)):
        return marked("a total or average")
    if is_empty(name) and usual.typical and all(_numeric(cells[n]) for n in places):
        return marked("sums without a vehicle")
    if not isinstance(first, str) or (len(places) > 2 and not is_empty(name)):
        return ""
    return _of_words(first, name, texts, places, usual)


def _of_words(
    first: str, name: Cell, texts: list[str], places: Sequence[int], usual: _Usual
) -> str:
    """Return why a row that begins with words is no vehicle."""
    if _is_note(first, len(places)) and _shape(name) not in usual.shapes:
        return marked("a note")
    if len(texts) <= 2 and _PAGE.search(" ".join(texts).casefold()):
        return marked("a page's head or foot")
    if len(places) > 1 or not usual.typical:
        return ""
    if places[0] == usual.named:
        return _of_a_name_alone(first, usual)
    return "a note" if is_empty(name) else ""


def _repeats(texts: list[str], heading: list[str]) -> bool:
    """Say whether a row says what the heading says."""
    if len(texts) > 1 and texts == heading[: len(texts)] and len(texts) * 2 > len(heading):
        return True
    return len(heading) > 1 and sum(t in heading for t in texts) * 3 >= 2 * len(heading)


def _is_note(first: str, filled: int) -> bool:
    lead = plain(first).split()
    if not lead:
        return False
    marked = bool(_FOOTNOTE.match(first)) or first.rstrip().endswith(":")
    return marked or (lead[0] in NOTES and (len(lead) > 1 or filled > 1))


def _of_a_name_alone(name: str, usual: _Usual) -> str:
    """Return why a row with nothing but text in the names' column is no vehicle."""
    if _shape(name) in usual.shapes:
        return ""
    if len(plain(name).split()) >= 4 or _DATED.search(name):
        return marked("a note")
    if not any(letter.isdigit() for letter in name):
        return marked("a caption")
    return (
        "?only a name in this row, and of another form than the others: fill in the vehicle's "
        "values, or take the row out"
    )


def _is_total(first: str) -> bool:
    if first.strip().startswith(("Σ", "Ø", "∑")):
        return True
    words = [word for word in plain(first).split() if word not in _BEFORE_TOTAL]
    if not words or words in (["max"], ["min"]):
        return bool(words)
    rest = words[1:]
    return words[0] in TOTALS and not (len(rest) == 1 and rest[0].isdigit() and "-" in first)


def _numeric(cell: Cell) -> bool:
    if isinstance(cell, int | float):
        return True
    return bool(
        re.fullmatch(r"[+-]?[\d.,' \u00a0\u202f]*\d[\d.,]*\s*[%°a-zA-ZµμΩ]{0,4}", str(cell))
    )


def _without_blank_columns(area: Area) -> Area:
    """Return the area with a blank heading for columns that hold cells without one."""
    width = len(area.headings)
    most = Counter(
        n for _, cells in area.rows for n in range(width, len(cells)) if not is_empty(cells[n])
    )
    bare = [n for n, count in most.items() if count * 2 >= len(area.rows)]
    if not bare:
        return area
    more = max(bare) + 1 - width
    return replace(area, headings=(*area.headings, *[""] * more), parts=(*area.parts, *[()] * more))
