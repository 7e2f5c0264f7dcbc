"""`drainsim forecast`: what vehicles' own voltage readings say this morning."""

import argparse
import datetime as dt
import json
import sys
from collections.abc import Mapping, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import Any, Final

from drainsim.answers.readings.morning import DRAWS, morning
from drainsim.answers.readings.results import Morning, VehicleForecast
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.words import FROZEN_CAUTION, counted
from drainsim.cli.fleet.fleet_cluster import client_of
from drainsim.cli.fleet.fleet_reading import add_reading_options, read_list
from drainsim.cli.options import (
    ANSWERED,
    SAYS_NO,
    SET_ASIDE,
    Commands,
    add_answer_options,
    add_check_option,
    add_command,
    add_profiles_option,
    show,
)
from drainsim.cli.text import more_words, wrapped
from drainsim.errors import DrainsimError, one_line
from drainsim.files.readings.example import EXAMPLES
from drainsim.files.readings.history import Readings, last_reading_s
from drainsim.files.readings.reader import DATE_ORDERS, read_readings
from drainsim.files.readings.state_file import read_state, write_state
from drainsim.files.readings.times import zone_named
from drainsim.files.writing import whole_folder, write_bytes, write_text
from drainsim.language import Message, joined, message, say
from drainsim.sheets.fleet.list_file import table_file
from drainsim.sheets.fleet.morning_list import (
    ASIDE_HEADING,
    MORNING_HEADING,
    VEHICLE_HEADING,
    act_soon,
    act_today,
    act_words,
    aside_rows,
    back_test_words,
    changed,
    draining,
    extra_words,
    is_new,
    local_day,
    moment,
    morning_rows,
    shown_ids,
    summary,
    told_beside,
    unmatched,
    unseen,
    unseen_words,
    vehicle_rows,
    zone_of,
)
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings
from drainsim.vehicle.keys.scenario import Scenario

_SHOWN: Final = 25  # vehicles printed of a section
_MORNING_HOUR: Final = 6  # of a day that is named without a time


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "forecast",
        "what vehicles' own voltage readings say this morning",
        example="forecast readings.csv --vehicles fleet.csv --state morning.json --out results",
    )
    parser.add_argument(
        "readings", type=Path, nargs="*", metavar="READINGS", help="CSV or XLSX files, or folders"
    )
    parser.add_argument(
        "--example",
        choices=["readings", "list"],
        help="print invented readings, or the list of their vehicles",
    )
    parser.add_argument(
        "--vehicles", type=Path, metavar="FLEET.csv", help="fleet list of the same vehicles"
    )
    parser.add_argument(
        "--zone", metavar="NAME", help="time zone of times that do not say theirs: Europe/Berlin"
    )
    parser.add_argument(
        "--dates", choices=list(DATE_ORDERS), help="how dates like 03/04/2026 are meant"
    )
    parser.add_argument(
        "--now", metavar="TIME", help="the morning asked about (the time of the last reading)"
    )
    parser.add_argument(
        "--state",
        type=Path,
        metavar="FILE",
        help="what the morning before left here is used, and what the next needs is written",
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help="write all results to this folder")
    parser.add_argument(
        "--risk", type=float, default=DEFAULT_RISK, help=f"risk limit, 0 to 1 ({DEFAULT_RISK})"
    )
    parser.add_argument(
        "--draws", type=int, default=DRAWS, help=f"random cases per vehicle ({DRAWS})"
    )
    parser.add_argument("--workers", type=int, metavar="N", help="processes (one per core)")
    parser.add_argument(
        "--cluster", metavar="ADDRESS", help="work on a running Dask cluster instead"
    )
    add_reading_options(parser)
    add_answer_options(parser)
    add_check_option(parser, "someone must act today")
    add_profiles_option(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Answer, print and write what was asked for."""
    if options.example:
        print(EXAMPLES[options.example].read_text(encoding="utf-8"), end="")
        return ANSWERED
    if not options.readings:
        raise DrainsimError("give READINGS, or --example readings to see some")
    if not 0.0 < options.risk < 1.0:
        raise DrainsimError(f"--risk {options.risk:g}: give a share between 0 and 1")
    zone_named(options.zone)
    now_s = _now(options.now, options.zone)
    before = read_state(options.state) if options.state else None
    readings = read_readings(options.readings, zone=options.zone, dates=options.dates)
    kept_s = before["now_s"] if before else None
    fleet, vehicles = _fleet(options, now_s or last_reading_s(readings.histories) or kept_s or 0.0)
    with client_of(options.cluster) if options.cluster else nullcontext() as cluster:
        found = morning(
            readings.histories,
            vehicles,
            now_s=now_s,
            state=before,
            draws=options.draws,
            risk=options.risk,
            workers=options.workers,
            zone=options.zone,
            pool=cluster.get_executor() if cluster else None,
        )
    asked = _Asked(options, readings, fleet, found)
    if options.out:
        with whole_folder(options.out) as fresh:
            write_results(fresh, found, readings, asked.zone)
        print(f"written to {options.out}", file=sys.stderr)
    if options.state:
        write_state(options.state, found.state)
    show(options, asked.document, asked.words)
    if options.check and act_today(found, asked.today):
        return SAYS_NO
    return SET_ASIDE if readings.refused or (fleet and fleet.problems) else ANSWERED


def _now(text: str | None, zone: str | None) -> float | None:
    """Return the moment asked about in epoch seconds; a day means its early morning."""
    if text is None:
        return None
    try:
        told = dt.datetime.fromisoformat(text)
    except ValueError:
        raise DrainsimError(
            f"--now {text[:40]}: write it like 2026-11-25 or 2026-11-25T06:00+01:00"
        ) from None
    if len(text) <= len("2026-11-25"):
        told = told.replace(hour=_MORNING_HOUR, tzinfo=zone_of(zone))
    if told.tzinfo is None and zone is None:
        raise DrainsimError(
            f"--now {text[:40]}: in which time zone? say --zone, or write it like "
            "2026-11-25T06:00+01:00"
        )
    return (told if told.tzinfo else told.replace(tzinfo=zone_of(zone))).timestamp()


def _fleet(
    options: argparse.Namespace, now_s: float
) -> tuple[Fleet | None, dict[str, Scenario] | None]:
    """Return the fleet list as of the morning, and each vehicle's scenario by its id."""
    if options.vehicles is None:
        return None, None
    today = local_day(now_s, zone_of(options.zone))
    settings = FleetSettings(today=today, profile_folders=tuple(options.profiles))
    fleet, _ = read_list(options.vehicles, options, settings)
    return fleet, {vehicle.id: vehicle.scenario for vehicle in fleet.vehicles}


def write_results(folder: Path, found: Morning, readings: Readings, zone: Any) -> None:
    """Write the morning list, the vehicles, what is set aside and the counts."""
    for stem, heading, rows in (
        ("morning", MORNING_HEADING, morning_rows(found, zone)),
        ("vehicles", VEHICLE_HEADING, vehicle_rows(found, zone)),
        ("set_aside", ASIDE_HEADING, aside_rows(found, readings, zone)),
    ):
        name, content = table_file(
            stem, heading, rows, delimiter=readings.delimiter, decimal=readings.decimal
        )
        write_bytes(folder / name, content)
    write_text(folder / "summary.json", json.dumps(summary(found, zone), indent=2) + "\n")


class _Asked:
    """A morning with what was read for it, as JSON and as text."""

    def __init__(
        self, options: argparse.Namespace, readings: Readings, fleet: Fleet | None, found: Morning
    ) -> None:
        self.risk, self.paths = options.risk, options.readings
        self.readings, self.fleet, self.found = readings, fleet, found
        self.zone = zone_of(options.zone)
        self.today = local_day(found.now_s, self.zone)
        self.not_listed, self.without_readings = unmatched(found, fleet)

    def document(self) -> Mapping[str, Any]:
        """Return the answer as JSON-ready data."""
        return {
            **self.found.as_dict(),
            "not_in_list": self.not_listed,
            "without_readings": self.without_readings,
            "refused": [
                {"file": one.where, "row": one.row, "rows": one.rows, "reason": one.reason}
                for one in self.readings.refused
            ],
            "list_problems": [p.in_words() for p in self.fleet.problems] if self.fleet else [],
            "notes": list(self.readings.notes),
        }

    def words(self) -> str:
        """Return the answer as text for a terminal."""
        found, zone = self.found, self.zone
        used = sum(vehicle.readings_used for vehicle in found.vehicles)
        aside = sum(part.rows for vehicle in found.vehicles for part in vehicle.set_aside)
        where = shown_ids([str(path) for path in self.paths], most=3)
        lines = wrapped(
            message(
                "{vehicles} of {files} as of {moment} {zone}: {readings} used, {aside} set aside. "
                "Risk limit {percent:g} %.",
                vehicles=counted(len(found.vehicles), "vehicle"),
                files=where,
                moment=moment(found.now_s, zone),
                zone=zone.key,
                readings=counted(used, "reading"),
                aside=aside,
                percent=100 * self.risk,
            ),
            "",
            "",
        )
        lines += _section(
            message("Act today ({day})", day=self.today.isoformat()),
            act_today(found, self.today),
            act_words,
            empty=message("nobody"),
        )
        soon = act_soon(found, self.today)
        lines += _section(
            message("Act within a week"),
            soon,
            lambda v: message("by {day}: {what}", day=str(v.act_by), what=act_words(v)),
            empty="",
        )
        abnormal = draining(found)
        new = [v for v in abnormal if is_new(v, found)]
        old = [v for v in abnormal if v not in new]
        lines += _section(
            message("Newly abnormal drain"),
            new,
            lambda v: _extra(v, zone),
            empty=message("none found"),
        )
        lines += _section(
            message("Abnormal drain, known"), old, lambda v: _extra(v, zone), empty=""
        )
        lines += _cannot_tell(abnormal)
        lines += _section(
            message("Silent or unreadable"), unseen(found), unseen_words, empty=message("none")
        )
        lines += _section(
            message("Changed since yesterday"),
            changed(found),
            lambda v: v.changed,
            empty=message("nothing"),
        )
        lines += ["", say("How earlier forecasts came out")]
        for sentence in back_test_words(found.back_test):
            lines += wrapped(sentence, "  ", "  ")
        return "\n".join([*lines, *self._told(), "", *wrapped(FROZEN_CAUTION, "", "")])

    def _told(self) -> list[str]:
        """Return what was not matched, not read or taken for granted."""
        told = told_beside(self.found, self.readings, self.fleet, most=_SHOWN)
        lines = [""] if told else []
        for what, sentence in told:
            lines += wrapped(one_line(say(joined(": ", [what, sentence]))), "", "  ")
        return lines


def _extra(vehicle: VehicleForecast, zone: Any) -> Message:
    extra = vehicle.extra_drain
    said = [extra_words(vehicle, zone)]
    if extra.tells_next:
        said.append(message("tells next: {what}", what=extra.tells_next))
    return joined("; ", said)


def _cannot_tell(vehicles: Sequence[VehicleForecast]) -> list[str]:
    """Return what the voltage cannot say of abnormal drains, once for all of them."""
    told = dict.fromkeys(v.extra_drain.cannot_tell for v in vehicles if v.extra_drain.cannot_tell)
    said = [message("Voltage cannot tell {what}.", what=words) for words in told]
    return [line for sentence in said for line in wrapped(sentence, "  ", "  ")]


def _section(
    title: str, vehicles: Sequence[VehicleForecast], words: Any, *, empty: str
) -> list[str]:
    """Return a section's lines; a section without vehicles says `empty`, or is left out."""
    if not vehicles:
        return ["", f"{say(title)}: {say(empty)}"] if empty else []
    lines = ["", say(title)]
    for vehicle in vehicles[:_SHOWN]:
        told = say(joined(": ", [vehicle.id, words(vehicle)]))
        lines += wrapped(one_line(told), "  ", "      ")
    if len(vehicles) > _SHOWN:
        lines.append("  " + more_words(len(vehicles) - _SHOWN))
    return lines
