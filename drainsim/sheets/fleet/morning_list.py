"""The morning list as sections, sentences and tables: the same on terminal, page and in files."""

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final
from zoneinfo import ZoneInfo

from drainsim.answers.readings.posterior.fault import FOUND_FROM
from drainsim.answers.readings.results import (
    SILENT,
    TOO_FEW,
    UNREADABLE,
    BackTest,
    Morning,
    Range,
    VehicleForecast,
)
from drainsim.answers.readings.vehicle_case import HORIZON_DAYS
from drainsim.answers.words import counted, days_words, short_date, span_words
from drainsim.files.readings.history import Readings, Refused
from drainsim.language import Message, joined, message
from drainsim.sheets.spreadsheet import Cell
from drainsim.units import ma_from_a, whole_percent
from drainsim.vehicle.documents.fleet_rows import Fleet

SOON_DAYS: Final = 7
NEW_DAYS: Final = 7  # a drain that began within so many days is new
_SUREST: Final = 99  # per cent that a probability is told as at most
MORNING_HEADING: Final = ("section", "vehicle", "date", "risk_today", "what")
VEHICLE_HEADING: Final = (
    "id", "status", "parked_since", "charge", "charge_p10", "charge_p90", "drain_a", "drain_a_p10",
    "drain_a_p90", "days_to_no_start", "days_p10", "days_p90", "risk_today", "act_by",
    "extra_drain_probability", "extra_drain_a", "extra_drain_a_p10", "extra_drain_a_p90",
    "extra_drain_since", "extra_drain_kind", "readings_used", "readings_set_aside", "reason",
)  # fmt: skip
ASIDE_HEADING: Final = ("vehicle", "file", "row", "from", "until", "readings", "reason")


def zone_of(name: str | None) -> ZoneInfo:
    """Return the zone in which times are told; UTC where none is named."""
    return ZoneInfo(name or "UTC")


def act_today(morning: Morning, today: dt.date) -> list[VehicleForecast]:
    """Return the vehicles someone must act on today, the riskiest first."""
    return _by_risk(v for v in morning.vehicles if v.act_by is not None and v.act_by <= today)


def act_soon(morning: Morning, today: dt.date) -> list[VehicleForecast]:
    """Return those whose act-by date comes within a week, the earliest first."""
    last = today + dt.timedelta(days=SOON_DAYS)
    coming = [v for v in morning.vehicles if v.act_by is not None and today < v.act_by <= last]
    return sorted(coming, key=lambda v: (v.act_by or last, v.id))


def draining(morning: Morning) -> list[VehicleForecast]:
    """Return the vehicles with an extra drain, the one that began last first."""
    found = [v for v in morning.vehicles if (v.extra_drain.probability or 0.0) >= FOUND_FROM]
    return sorted(found, key=lambda v: (-(v.extra_drain.since_s or 0.0), v.id))


def is_new(vehicle: VehicleForecast, morning: Morning) -> bool:
    """Say whether a vehicle's extra drain began within a week."""
    since = vehicle.extra_drain.since_s
    return since is not None and morning.now_s - since <= dt.timedelta(NEW_DAYS).total_seconds()


def unseen(morning: Morning) -> list[VehicleForecast]:
    """Return the vehicles whose readings stopped or say nothing."""
    return [v for v in morning.vehicles if v.status in {SILENT, UNREADABLE, TOO_FEW}]


def changed(morning: Morning) -> list[VehicleForecast]:
    """Return the vehicles of which something changed since the morning before."""
    return [v for v in morning.vehicles if v.changed]


def _by_risk(vehicles: Iterable[VehicleForecast]) -> list[VehicleForecast]:
    return sorted(vehicles, key=lambda v: (-(v.risk_today or 0.0), v.id))


def moment(seconds: float | None, zone: ZoneInfo) -> str:
    """Return a moment in a zone to the minute; "" where it is not known.

    Examples
    --------
    >>> moment(1_793_527_200.0, ZoneInfo("Europe/Berlin")), moment(float("nan"), ZoneInfo("UTC"))
    ('2026-11-01 11:00', '')
    """
    if seconds is None or seconds != seconds:
        return ""
    return f"{dt.datetime.fromtimestamp(seconds, tz=zone):%Y-%m-%d %H:%M}"


def local_day(seconds: float, zone: ZoneInfo) -> dt.date:
    """Return the calendar day of a moment in a zone."""
    return dt.datetime.fromtimestamp(seconds, tz=zone).date()


def days_left(days: Range) -> Message:
    """Return "3.2 days (8 in 10: 1.0 to 6.5 days)"; a middle beyond the horizon says so."""
    if days == Range():
        return message("not known")
    if days.p90 == 0.0:
        return message("it will hardly start any more")
    now = message("any time now")
    return message(
        "{days} (8 in 10: {range})",
        days=now if days.p50 == 0.0 else days_words(days.p50, HORIZON_DAYS),
        range=span_words(days.p10, days.p90, HORIZON_DAYS),
    )


def range_percent(share: Range) -> Message:
    """Return "62 % (8 in 10: 55 to 70 %)"."""
    return _ranged(share, whole_percent, "%")


def range_ma(current_a: Range) -> Message:
    """Return "41 mA (8 in 10: 30 to 60 mA)"."""
    return _ranged(current_a, ma_from_a, "mA")


def _ranged(found: Range, shown: Callable[[float], float], unit: str) -> Message:
    if found.p10 is None or found.p50 is None or found.p90 is None:
        return message("not known")
    low, middle, high = map(shown, (found.p10, found.p50, found.p90))
    return message(
        "{middle:.0f} {unit} (8 in 10: {low:.0f} to {high:.0f} {unit})",
        middle=middle,
        low=low,
        high=high,
        unit=unit,
    )


def extra_words(vehicle: VehicleForecast, zone: ZoneInfo) -> Message:
    """Return an extra drain as a sentence: how much, since when, of what kind, how sure."""
    extra = vehicle.extra_drain
    now = extra.current_a
    if now.p10 is None or now.p50 is None or now.p90 is None:
        return message("draws more than expected, how much is not known")
    low, middle, high = (round(ma_from_a(value)) for value in (now.p10, now.p50, now.p90))
    words = message(
        "draws {middle} mA (8 in 10: {low} to {high} mA) more than expected",
        middle=middle,
        low=low,
        high=high,
    )
    if extra.since_s is not None:
        since = short_date(local_day(extra.since_s, zone))
        words = message("{words} since {day}", words=words, day=since)
        first, last = (short_date(local_day(s, zone)) for s in extra.since_range_s or (0.0, 0.0))
        if first != last:
            words = message(
                "{words} (8 in 10: {first} to {last})", words=words, first=first, last=last
            )
    sure = min(whole_percent(extra.probability or 0.0), _SUREST)
    certain = message(
        "over {percent} % sure" if sure == _SUREST else "{percent} % sure", percent=sure
    )
    return joined("; ", [words, *([message(extra.kind)] if extra.kind else []), certain])


def unseen_words(vehicle: VehicleForecast) -> Message:
    """Return why a vehicle has no forecast, or why it may be old."""
    status = message(vehicle.status)
    return joined(": ", [status, vehicle.reason]) if vehicle.reason else status


def act_words(vehicle: VehicleForecast) -> Message:
    """Return how long a vehicle still starts, at what risk today."""
    risk = (
        message("not known")
        if vehicle.risk_today is None
        else message("{percent:.0f} %", percent=whole_percent(vehicle.risk_today))
    )
    left = vehicle.days_to_no_start
    if left.p90 == 0.0:
        return message("risk today {risk}; {days}", risk=risk, days=days_left(left))
    return message(
        "risk today {risk}, no-start {days}"
        if left.p50 == 0.0
        else "risk today {risk}, no-start in {days}",
        risk=risk,
        days=days_left(left),
    )


def back_test_words(found: BackTest) -> list[Message]:
    """Return how earlier forecasts came out, one sentence each."""
    lines = []
    if found.voltages:
        lines.append(
            message(
                "Night voltage 7 days ahead: {share} % of {nights} inside the band told for 80 %.",
                share=whole_percent(found.voltages_inside / found.voltages),
                nights=counted(found.voltages, "night"),
            )
        )
    if found.starts:
        lines.append(
            message(
                "Starts: {expected:.1f} of {starts} expected, {happened} happened.",
                expected=found.starts_expected,
                starts=counted(found.starts, "start"),
                happened=found.starts_happened,
            )
        )
    return lines or [message("Nothing yet: a week of nights at rest, or a start, is needed.")]


def morning_rows(morning: Morning, zone: ZoneInfo) -> list[tuple[Cell, ...]]:
    """Return the morning list's rows: section, vehicle, date, risk today, what."""
    today = local_day(morning.now_s, zone)
    rows: list[tuple[Cell, ...]] = []
    for section, vehicles in (
        ("act today", act_today(morning, today)),
        ("act within a week", act_soon(morning, today)),
    ):
        rows += [(section, v.id, v.act_by, v.risk_today, act_words(v)) for v in vehicles]
    for vehicle in draining(morning):
        section = "new extra drain" if is_new(vehicle, morning) else "extra drain"
        since = vehicle.extra_drain.since_s
        day = None if since is None else local_day(since, zone)
        rows.append((section, vehicle.id, day, vehicle.risk_today, extra_words(vehicle, zone)))
    for vehicle in unseen(morning):
        words = unseen_words(vehicle)
        rows.append(("silent or unreadable", vehicle.id, None, vehicle.risk_today, words))
    for vehicle in changed(morning):
        row = ("changed", vehicle.id, vehicle.act_by, vehicle.risk_today, vehicle.changed)
        rows.append(row)
    return rows


def vehicle_rows(morning: Morning, zone: ZoneInfo) -> list[tuple[Cell, ...]]:
    """Return one row a vehicle with every figure of its forecast."""
    rows: list[tuple[Cell, ...]] = []
    for v in morning.vehicles:
        extra = v.extra_drain
        rows.append(
            (
                v.id, v.status, moment(v.parked_since_s, zone) or None,
                v.charge.p50, v.charge.p10, v.charge.p90,
                v.drain_a.p50, v.drain_a.p10, v.drain_a.p90,
                v.days_to_no_start.p50, v.days_to_no_start.p10, v.days_to_no_start.p90,
                v.risk_today, v.act_by, extra.probability,
                extra.current_a.p50, extra.current_a.p10, extra.current_a.p90,
                moment(extra.since_s, zone) or None, extra.kind, v.readings_used,
                sum(part.rows for part in v.set_aside), v.reason or None,
            )
        )  # fmt: skip
    return rows


def aside_rows(morning: Morning, readings: Readings, zone: ZoneInfo) -> list[tuple[Cell, ...]]:
    """Return what was not used: of each vehicle, then rows of no vehicle, by file and row."""
    rows: list[tuple[Cell, ...]] = [
        (v.id, None, None, moment(part.start_s, zone) or None, moment(part.end_s, zone) or None,
         part.rows, part.reason)
        for v in morning.vehicles for part in v.set_aside
    ]  # fmt: skip
    rows += [
        (None, one.where, one.row or None, None, None, one.rows or None, one.reason)
        for one in readings.refused
    ]
    return rows


def aside_by_reason(morning: Morning) -> list[tuple[str, int, int]]:
    """Return (reason, readings, vehicles) of what is set aside, the most readings first."""
    found: dict[str, list[tuple[int, str]]] = {}
    for vehicle in morning.vehicles:
        for part in vehicle.set_aside:
            found.setdefault(part.reason, []).append((part.rows, vehicle.id))
    counts = [
        (reason, sum(rows for rows, _ in parts), len({name for _, name in parts}))
        for reason, parts in found.items()
    ]
    return sorted(counts, key=lambda one: (-one[1], one[0]))


def unmatched(morning: Morning, fleet: Fleet | None) -> tuple[list[str], list[str]]:
    """Return the ids of readings that are not in the list, and those of the list without any."""
    read = {vehicle.id for vehicle in morning.vehicles}
    listed = {vehicle.id for vehicle in fleet.vehicles} if fleet else read
    return sorted(read - listed), sorted(listed - read)


def told_beside(
    morning: Morning, readings: Readings, fleet: Fleet | None, *, most: int
) -> list[tuple[Message, str]]:
    """Return (what, sentence) of all that was not matched, not read or taken for granted.

    Parameters
    ----------
    morning : Morning
    readings : Readings
    fleet : Fleet, optional
        The list of the same vehicles.
    most : int
        Rows told one by one; all are in the tables.
    """
    not_listed, without_readings = unmatched(morning, fleet)
    problems = fleet.problems if fleet else ()
    told: list[tuple[Message, str]] = [
        (message("In the readings, not in the list"), shown_ids(not_listed)),
        (message("In the list, without readings"), shown_ids(without_readings)),
        *((message("In the list, kept aside"), p.in_words()) for p in problems[:most]),
        *(
            (
                message("Set aside"),
                message(
                    "{readings} of {vehicles}: {reason}",
                    readings=counted(rows, "reading"),
                    vehicles=counted(vehicles, "vehicle"),
                    reason=reason,
                ),
            )
            for reason, rows, vehicles in aside_by_reason(morning)
        ),
        *((message("Not read"), _refused_words(one)) for one in readings.refused[:most]),
        *((message("Read so"), sentence) for sentence in readings.notes),
        *((message("Assumed"), sentence) for sentence in morning.assumptions),
    ]
    return [(what, sentence) for what, sentence in told if sentence]


def _refused_words(one: Refused) -> str:
    if not one.rows:
        return f"{one.where}: {one.reason}"
    more = f" and {one.rows - 1} more" if one.rows > 1 else ""
    return f"{one.where}, row {one.row}{more}: {one.reason}"


def summary(morning: Morning, zone: ZoneInfo) -> dict[str, Any]:
    """Return the counts of a morning as JSON-ready data."""
    today = local_day(morning.now_s, zone)
    return {
        "now": moment(morning.now_s, zone),
        "zone": zone.key,
        "vehicles": len(morning.vehicles),
        "act_today": [v.id for v in act_today(morning, today)],
        "act_within_a_week": [v.id for v in act_soon(morning, today)],
        "extra_drain": [v.id for v in draining(morning)],
        "new_extra_drain": [v.id for v in draining(morning) if is_new(v, morning)],
        "silent_or_unreadable": [v.id for v in unseen(morning)],
        "readings_used": sum(v.readings_used for v in morning.vehicles),
        "readings_set_aside": sum(p.rows for v in morning.vehicles for p in v.set_aside),
        "set_aside": [
            {"reason": reason, "readings": rows, "vehicles": vehicles}
            for reason, rows, vehicles in aside_by_reason(morning)
        ],
        "back_test": morning.back_test.as_dict(),
        "assumptions": list(morning.assumptions),
    }


def shown_ids(ids: Sequence[str], most: int = 10) -> Message:
    """Return some names and how many more.

    Examples
    --------
    >>> shown_ids(["a", "b", "c"], most=2)
    'a, b and 1 more'
    """
    some = ", ".join(ids[:most])
    if len(ids) <= most:
        return joined("", [some])
    return message("{some} and {number} more", some=some, number=len(ids) - most)
