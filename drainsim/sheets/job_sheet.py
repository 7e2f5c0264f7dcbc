"""The printable sheet of a job: readings, connection, checks, cautions, predicted days."""

from html import escape
from typing import Any, Final

from drainsim.answers.installer.acceptance import AcceptanceAnswer
from drainsim.answers.installer.acceptance_checks import CANNOT_TELL, FAIL, PASS
from drainsim.answers.installer.circuits import CAUTIONS
from drainsim.answers.installer.current_log import ma, plus_minus
from drainsim.answers.words import days_words
from drainsim.files.circuits import Circuit
from drainsim.sheets.html_page import page_begin
from drainsim.vehicle.documents.job_record import CAUTIONS as ACKNOWLEDGED
from drainsim.vehicle.documents.job_record import MOUNTING

# Never by colour alone: sign and word too.
_SIGNS: Final = {PASS: "&#10003; pass", FAIL: "&#10007; fail", CANNOT_TELL: "? cannot tell"}
_STYLE: Final = """
@page { size: A4; margin: 14mm; }
body { font: 10.5pt/1.35 sans-serif; color: #111; max-width: 190mm; margin: 0 auto; padding: 4mm; }
h1 { font-size: 16pt; margin: 0 0 2mm; }
h2 { font-size: 12pt; margin: 5mm 0 1mm; border-bottom: 1px solid #888; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: 0.8mm 2mm 0.8mm 0; }
th { font-weight: 600; white-space: nowrap; }
tr { page-break-inside: avoid; }
.verdict { font-size: 13pt; border: 2px solid #111; padding: 1mm 3mm; display: inline-block; }
.sign { border-top: 1px solid #111; width: 70mm; margin-top: 14mm; }
small { color: #333; }
"""


def job_sheet(answer: AcceptanceAnswer) -> str:
    """Return the sheet as one HTML page that needs nothing from outside."""
    record = answer.record
    title = str(record.get("job", "label") or "Installation record")
    parts = [
        f"{page_begin(title, _STYLE)}<h1>{escape(title)}</h1>",
        f"<p>{escape(str(record.get('job', 'date') or 'date: ____________'))}, "
        f"{record.system_v} V system</p>",
        f'<p class="verdict">{_SIGNS[answer.verdict]}</p>',
        _section("Checks", _checks(answer)),
        _section("Readings", _readings(answer)),
        _section("Connection", _connection(answer)),
        _section("Days until it will not start", _days(answer)),
        _section("Mounting and routing", _questions(answer, "mounting", MOUNTING)),
        _section("Cautions acknowledged", _questions(answer, "cautions", ACKNOWLEDGED)),
        "<h2>Cautions</h2><ul>",
        *(f"<li>{escape(caution)}</li>" for caution in CAUTIONS),
        "</ul>",
        '<p class="sign"><small>installer</small></p>',
        "<p><small>A model's estimate with stated assumptions, not a promise. It gives way to the "
        "vehicle, battery and unit makers' instructions, to local codes and to licensed "
        "practice.</small></p>",
        "</body></html>",
    ]
    return "\n".join(parts) + "\n"


def _section(heading: str, rows: list[tuple[str, str]]) -> str:
    if not rows:
        return ""
    body = "".join(f"<tr><th>{name}</th><td>{value}</td></tr>" for name, value in rows)
    return f"<h2>{heading}</h2><table>{body}</table>"


def _checks(answer: AcceptanceAnswer) -> list[tuple[str, str]]:
    rows = []
    for check in answer.checks:
        text = f"<b>{_SIGNS[check.verdict]}</b>: {escape(check.text)}"
        if check.would_tell:
            text += f"<br><small>what would tell: {escape(check.would_tell)}</small>"
        rows.append((escape(check.name), text))
    return rows


def _readings(answer: AcceptanceAnswer) -> list[tuple[str, str]]:
    record, draw = answer.record, answer.draw
    rows = []
    for name, label in (("before", "without the unit"), ("after", "with the unit")):
        settled = record.number(name, "settled_a")
        text = ma(settled) if settled is not None else ""
        if record.get(name, "log"):
            text = f"log {escape(str(record.get(name, 'log')))}"
        minutes = record.number(name, "minutes_after_key_off")
        if minutes is not None:
            text += f", {minutes:g} min after key off"
        if text:
            rows.append((label, text))
    if draw.difference_a is not None:
        rows.append(("difference", plus_minus(draw.difference_a, draw.uncertainty_a)))
    rows.append(
        ("budget", f"{ma(draw.sleep_budget_a)} asleep, {ma(draw.mean_budget_a)} on average")
    )
    rows.append(("explained", escape(draw.explained)))
    return rows


def _connection(answer: AcceptanceAnswer) -> list[tuple[str, str]]:
    record = answer.record
    rows: list[tuple[str, str]] = []
    for label, circuit in (("constant power", record.power), ("ignition sense", record.sense)):
        if circuit is not None:
            rows.append((label, _circuit(circuit)))
    for key, unit, label in (
        ("fuse_a", "A", "own fuse"),
        ("wire_mm2", "mm²", "supply wire"),
        ("length_m", "m", "length, one way"),
    ):
        value = record.number("connection", key)
        if value is not None:
            rows.append((label, f"{value:g} {unit}"))
    return rows


def _circuit(circuit: Circuit) -> str:
    parts = [escape(circuit.name), escape(circuit.kind.replace("_", " "))]
    if circuit.slot:
        parts.append(f"slot {escape(circuit.slot)}")
    if circuit.fuse_a is not None:
        parts.append(f"fuse {circuit.fuse_a:g} A")
    for key, label in (("off_v", "key off"), ("after_sleep_v", "asleep"), ("on_v", "key on")):
        value: Any = getattr(circuit, key)
        if value is not None:
            parts.append(f"{label} {value:g} V")
    if circuit.cranking_v is not None:
        parts.append(f"cranking {circuit.cranking_v:g} V")
    return ", ".join(parts)


def _days(answer: AcceptanceAnswer) -> list[tuple[str, str]]:
    days = answer.predicted
    rows = [
        ("without the unit", days_words(days.without_unit, days.horizon_days)),
        ("with it as budgeted", days_words(days.as_budgeted, days.horizon_days)),
    ]
    if answer.draw.measured_mean_a is not None:
        rows.append(("with it as measured", days_words(days.as_measured, days.horizon_days)))
    rows.append(("risk within 5 % for", days_words(days.at_risk, days.horizon_days)))
    rows.append(("basis", escape(days.basis)))
    return rows


def _questions(
    answer: AcceptanceAnswer, table: str, questions: dict[str, str]
) -> list[tuple[str, str]]:
    return [
        (escape(str(answer.record.get(table, key) or "not checked")), escape(text))
        for key, text in questions.items()
    ]
