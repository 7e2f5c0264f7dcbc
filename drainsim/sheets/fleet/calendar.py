"""Act-by dates as an iCalendar file (RFC 5545)."""

import datetime as dt
import hashlib
from collections.abc import Iterable, Mapping
from typing import Final

from drainsim import __version__
from drainsim.answers.fleet.action import Action, instruction
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.words import FROZEN_CAUTION
from drainsim.language import Language, language

_LINE_OCTETS: Final = 75  # RFC 5545, section 3.1


def act_by_calendar(
    vehicles: Iterable[VehicleAnswer],
    actions: Mapping[str, Action],
    *,
    today: dt.date,
    say: Language | None = None,
) -> str:
    """Return one all-day event per vehicle that someone must act on; in English if not told."""
    say = say or language("en")
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:-//drainsim//drainsim {__version__}//{say.code.upper()}",
        "CALSCALE:GREGORIAN",
    ]
    stamp = dt.datetime.combine(today, dt.time()).strftime("%Y%m%dT%H%M%SZ")
    for vehicle in vehicles:
        if vehicle.act_by is None or not vehicle.needs_someone:
            continue
        action = actions.get(vehicle.id)
        what = say(instruction(vehicle, action))
        unique = hashlib.sha256(vehicle.id.encode()).hexdigest()[:24]
        lines += [
            "BEGIN:VEVENT",
            f"UID:{unique}@drainsim.invalid",
            f"DTSTAMP:{stamp}",
            f"DTSTART;VALUE=DATE:{vehicle.act_by:%Y%m%d}",
            f"DTEND;VALUE=DATE:{vehicle.act_by + dt.timedelta(days=1):%Y%m%d}",
            f"SUMMARY:{_text(f'{vehicle.id}: {what}')}",
            f"DESCRIPTION:{_text(_details(vehicle, action, say))}",
            *([f"LOCATION:{_text(vehicle.depot)}"] if vehicle.depot else []),
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) for line in lines)


def _details(vehicle: VehicleAnswer, action: Action | None, say: Language) -> str:
    """Return where, until when, with what, what it saves and why."""
    said = [say("Where: {depot}", depot=vehicle.depot)] if vehicle.depot else []
    said.append(say("Until: {day}", day=str(vehicle.act_by)))
    if action is not None:
        said.append(say("With: {tools}", tools=action.takes))
        said.append(say("Saves: {effect}", effect=action.effect))
    said += [say("Why: {cause}", cause=vehicle.cause), say(FROZEN_CAUTION)]
    return ". ".join(part.rstrip(".") for part in said) + "."


def _text(value: str) -> str:
    """Escape a text value (RFC 5545, section 3.3.11)."""
    clean = "".join(letter if letter.isprintable() else " " for letter in value)
    for mark in ("\\", ";", ","):
        clean = clean.replace(mark, "\\" + mark)
    return clean


def _folded(line: str) -> str:
    """Fold a content line after 75 octets without cutting a character."""
    out, used = [], 0
    for letter in line:
        size = len(letter.encode())
        if used + size > _LINE_OCTETS:
            out.append("\r\n ")
            used = 1
        out.append(letter)
        used += size
    return "".join(out) + "\r\n"
