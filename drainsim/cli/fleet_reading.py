"""How a fleet list was understood, as text for a terminal: what is asked first."""

from typing import Final

from drainsim.cli.text import wrapped
from drainsim.errors import one_line
from drainsim.files.fleet.columns import BY_NAME, shown_unit
from drainsim.sheets.fleet_understood import rests_on
from drainsim.vehicle.documents.fleet_rows import Fleet

_SHOWN: Final = 15


def understood_first(fleet: Fleet) -> list[str]:
    """Return what must be known before the answer: open questions, and answers mostly assumed."""
    lines: list[str] = []
    for doubt in fleet.doubts[:_SHOWN]:
        where = f"row {doubt.row}: " if doubt.row else ""
        lines += wrapped(one_line(f"Asked: {where}{doubt.question} {doubt.option}"), "", "  ")
    if len(fleet.doubts) > _SHOWN:
        lines.append(f"... and {len(fleet.doubts) - _SHOWN} more questions: --out DIR has them all")
    if lines:
        lines.append("Until it is answered neither reading is used: such rows are kept aside.")
    for sentence in rests_on(fleet):
        lines += wrapped(sentence, "", "  ")
    return [*lines, ""] if lines else []


def understood_last(fleet: Fleet) -> list[str]:
    """Return how the headings were understood, what was not read and what is no vehicle."""
    matches = fleet.matches
    said = [
        f"{match.heading} as {BY_NAME[match.column].public}{_how(match.unit, match.basis)}"
        for match in matches
        if match.column and match.column != "id" and not match.asked
    ]
    guessed = [f"{m.heading} as {m.column}" for m in matches if m.column and not m.certain]
    unread = [
        f"{match.heading}{f' ({match.note})' if match.note else ''}"
        for match in matches
        if match.column is None and match.heading
    ]
    aside = [f"row {one.row} {one.text!r} ({one.reason})" for one in fleet.table.not_vehicles]
    more = f" and {len(aside) - _SHOWN} more" if len(aside) > _SHOWN else ""
    told = [
        ("Understood: ", "; ".join(said)),
        ("Headings guessed: ", "; ".join(guessed) + " (--column says otherwise)" * bool(guessed)),
        ("Columns not used: ", ", ".join(unread)),
        ("Not vehicles: ", "; ".join(aside[:_SHOWN]) + more),
        ("Sheets not read: ", ", ".join(fleet.table.unread_sheets)),
    ]
    lines = []
    for begin, text in told:
        if text:
            lines += ["", begin + one_line(text)]
    return lines


def _how(unit: str | None, basis: str) -> str:
    shown = shown_unit(unit)
    how = [shown] if shown and shown != "share" else []
    if basis not in {"heading", "chosen", "the usual unit"}:
        how.append(f"by {basis}")
    return f" [{', '.join(how)}]" if how else ""
