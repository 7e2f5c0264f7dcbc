"""How many vehicles of a fleet would not start on a day, in all and by depot or battery."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, TypeAlias

import numpy as np

from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.fleet.joint_risk import LEVELS, CountBand, count_band, count_distribution
from drainsim.physics.tables import IndexArray
from drainsim.simulation.draws import DRAWS_PER_WEATHER
from drainsim.vehicle.documents.fleet_rows import FleetSettings, FleetVehicle, RowProblem


@dataclass(slots=True)
class FleetCounts:
    """Sums over vehicles that the fleet's own answers need.

    `by_level` counts vehicles by chance level: (days + 1, weathers, LEVELS). `levels` sums the
    levels of each group of each kind by day. Both are whole numbers: their sums are the same
    whichever part of the fleet is finished first.
    """

    by_level: IndexArray
    levels: dict[tuple[str, str], IndexArray] = field(default_factory=dict)
    vehicles: dict[tuple[str, str], int] = field(default_factory=lambda: defaultdict(int))

    def add(self, vehicle: FleetVehicle, battery_type: str, levels: IndexArray) -> None:
        """Count one vehicle; `levels` has shape (days + 1, weathers)."""
        days, weathers = levels.shape
        day, weather = np.indices((days, weathers))
        self.by_level[day, weather, levels] += 1
        by_day = levels.sum(axis=1, dtype=np.int64)
        for key in (("depot", vehicle.depot), ("battery", battery_type)):
            self.vehicles[key] += 1
            self.levels[key] = self.levels.get(key, 0) + by_day

    def join(self, other: "FleetCounts") -> None:
        """Add another part of the fleet."""
        self.by_level += other.by_level
        for key, by_day in other.levels.items():
            self.levels[key] = self.levels.get(key, 0) + by_day
        for key, count in other.vehicles.items():
            self.vehicles[key] += count


AnsweredPart: TypeAlias = tuple[list[VehicleAnswer], list[RowProblem], FleetCounts]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupRisk:
    """A depot or battery type: how many vehicles, how many expected not to start on a day."""

    name: str
    vehicles: int
    expected: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DayRisk:
    """Number of vehicles that would not start on a day at their start hour."""

    date: dt.date
    count: CountBand

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON and tables."""
        band = self.count
        return {
            "date": self.date.isoformat(),
            "expected_no_starts": round(band.expected, 3),
            "p10": band.p10,
            "p90": band.p90,
        }


def groups_as_dicts(groups: Iterable[GroupRisk]) -> list[dict[str, Any]]:
    """Return groups as JSON-ready data."""
    return [
        {"name": g.name, "vehicles": g.vehicles, "expected_no_starts": round(g.expected, 3)}
        for g in groups
    ]


def no_counts(settings: FleetSettings) -> FleetCounts:
    """Return sums over no vehicle yet."""
    weathers = settings.draws // DRAWS_PER_WEATHER
    return FleetCounts(
        by_level=np.zeros((settings.days_ahead + 1, weathers, LEVELS), dtype=np.int64)
    )


def day_risk(settings: FleetSettings, counts: FleetCounts, offset: int) -> DayRisk:
    """Return how many vehicles would not start on a day from today."""
    distribution = count_distribution(counts.by_level[offset])
    return DayRisk(date=settings.today + dt.timedelta(days=offset), count=count_band(distribution))


def group_risks(counts: FleetCounts, kind: str, offset: int) -> tuple[GroupRisk, ...]:
    """Return the risk of each depot, or of each type of battery, on a day from today."""
    draws = counts.by_level.shape[1] * DRAWS_PER_WEATHER
    found = [
        GroupRisk(
            name=name or "(none given)",
            vehicles=counts.vehicles[kind_of, name],
            expected=int(by_day[offset]) / draws,
        )
        for (kind_of, name), by_day in counts.levels.items()
        if kind_of == kind
    ]
    return tuple(sorted(found, key=lambda group: (-group.expected, group.name)))
