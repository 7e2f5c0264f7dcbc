"""Fleet lists for the tests, built as text the way their owners keep them."""

import datetime as dt
import io
from collections.abc import Sequence
from typing import Any

import openpyxl

from drainsim.answers.fleet.answer import FleetAnswer, answer_fleet
from drainsim.files.fleet.table import table_from_bytes
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, fleet_from_table

TODAY = dt.date(2026, 11, 25)
SETTINGS = FleetSettings(today=TODAY, days_ahead=60, draws=100)


def fleet_of(
    content: str | bytes, *, settings: FleetSettings = SETTINGS, **chosen: dict[str, str]
) -> Fleet:
    """Return the fleet in the content of a file."""
    raw = content.encode() if isinstance(content, str) else content
    return fleet_from_table(
        table_from_bytes(raw, where="list.csv"), settings, where="list.csv", **chosen
    )


def answer_to(
    content: str | bytes, *, settings: FleetSettings = SETTINGS, **more: Any
) -> FleetAnswer:
    """Return the answer to the content of a file, in this process."""
    more.setdefault("workers", 1)
    return answer_fleet(fleet_of(content, settings=settings), settings, **more)


def tables_of(content: str | bytes) -> dict[str, Any]:
    """Return the scenario of a list's only vehicle, which must be fine."""
    fleet = fleet_of(content)
    assert fleet.problems == ()
    (vehicle,) = fleet.vehicles
    return vehicle.scenario.tables


def workbook(rows: Sequence[Sequence[Any]], *, sheets: Sequence[str] = ()) -> bytes:
    """Return an XLSX workbook with rows on its first sheet."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(list(row))
    for name in sheets:
        book.create_sheet(name)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


# Ten unlike vehicles in three places, invented: ladders, cut-offs, a maintained place, cold.
MIXED = """\
id;depot;battery_profile;capacity_ah;battery_age_years;state_of_charge;resting_voltage_v;\
resting_voltage_at;quiescent_a;unit;report_interval_h;engine_litres;fuel;climate;temperature_c;\
parked_from;planned_return
a;north;flooded;60;3;0,9;;;0,03;hourly;;1,6;petrol;continental;;2026-11-20;2026-12-24
b;north;AGM;80;5;;12,4;2026-11-22;0,045;hourly with ladder;;2,0;diesel;continental;;2026-11-02;
c;south;EFB;70;1;0,8;;;0,02;daily;;1,2;petrol;mediterranean;;2026-11-25;2026-12-10
d;south;flooded;95;4;0,7;;;0,06;live;;3,0;diesel;mediterranean;;2026-10-15;
e;yard;flooded;50;6;;12,3;;0,025;none;;1,4;petrol;;-15;2026-11-24;2026-11-30
f;yard;calcium;60;2;;;;;hourly;6;1,6;petrol;;5;;2027-01-10
g;;;;;;;;;;;;;;;;
h;north;flooded;60;3;0,9;;;0,03;hourly;;1,6;petrol;continental;;2026-12-05;2026-12-24
i;north;AGM;60;8;0,5;;;0,05;never sleeps;;2,0;diesel;continental;;2026-11-20;
j;south;gel;70;2;0,85;;;0,03;hourly;12;1,2;petrol;temperate;;2026-09-30;2026-12-01
"""
