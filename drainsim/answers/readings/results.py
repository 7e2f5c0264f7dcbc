"""What a morning says of each vehicle, and what is kept until the next one."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim import __version__
from drainsim.files.readings.history import SetAside
from drainsim.language import marked

# What a vehicle is doing, as far as its readings tell; `reason` says why a figure is missing.
PARKED: Final = marked("parked")
DRIVEN: Final = marked("driven")
CHARGING: Final = marked("charging")
SILENT: Final = marked("silent")
UNREADABLE: Final = marked("unreadable")
TOO_FEW: Final = marked("too few readings")
# Kinds of an extra drain, as far as the shape tells.
STEADY: Final = marked("steady")
STEPPED: Final = marked("steps at the report's rhythm")
AFTER_DRIVES: Final = marked("only after some drives")


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """Middle and middle 80 % of the draws; None: not known, or not within the horizon."""

    p10: float | None = None
    p50: float | None = None
    p90: float | None = None

    @classmethod
    def of(cls, values: ArrayLike) -> "Range":
        """Return the range of some draws; inf becomes None."""
        found = np.quantile(np.asarray(values, dtype=float), [0.1, 0.5, 0.9], method="inverted_cdf")
        p10, p50, p90 = (float(value) if np.isfinite(value) else None for value in found)
        return cls(p10=p10, p50=p50, p90=p90)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtraDrain:
    """A drain beyond the expected one.

    `current_a` and `since` are None where none is found; `cannot_tell` and `tells_next` say what
    voltage cannot say, and which reading would.
    """

    probability: float | None = None
    current_a: Range = Range()
    since_s: float | None = None  # epoch seconds
    since_range_s: tuple[float, float] | None = None  # 8 in 10
    kind: str | None = None
    cannot_tell: str = ""
    tells_next: str = ""

    def as_dict(self) -> dict[str, Any]:
        """Return the finding as JSON-ready data."""
        span = self.since_range_s
        return {
            "probability": self.probability,
            "current_a": asdict(self.current_a),
            "since": iso(self.since_s),
            "since_range": None if span is None else [iso(moment) for moment in span],
            "kind": self.kind,
            "cannot_tell": self.cannot_tell,
            "tells_next": self.tells_next,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class NightBand:
    """Measured nights of the stand and what the draws say of them and of the next ones."""

    time_s: tuple[float, ...]
    measured_v: tuple[float | None, ...]  # None: still to come
    low_v: tuple[float, ...]  # middle 80 %
    middle_v: tuple[float, ...]
    high_v: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleForecast:
    """One vehicle this morning."""

    id: str
    status: str
    reason: str  # one sentence; empty where the status says it all
    parked_since_s: float | None
    readings_used: int
    charge: Range = Range()  # share of full
    drain_a: Range = Range()  # mean current, self-discharge left out
    extra_drain: ExtraDrain = ExtraDrain()
    days_to_no_start: Range = Range()  # from now
    risk_today: float | None = None
    act_by: dt.date | None = None
    set_aside: tuple[SetAside, ...] = ()
    before: Mapping[str, Range] = field(default_factory=dict)  # the same without any reading
    nights: NightBand | None = None
    stands: tuple[tuple[float, float], ...] = ()  # (from, until) of what it stood, epoch s
    chance_by_day: tuple[float, ...] = ()  # P(no-start) at the start hour from today on
    changed: str = ""  # since yesterday, and why

    def as_dict(self) -> dict[str, Any]:
        """Return the vehicle as JSON-ready data."""
        return {
            "id": self.id,
            "status": self.status,
            "reason": self.reason,
            "parked_since": iso(self.parked_since_s),
            "charge": asdict(self.charge),
            "drain_a": asdict(self.drain_a),
            "extra_drain": self.extra_drain.as_dict(),
            "days_to_no_start": asdict(self.days_to_no_start),
            "risk_today": self.risk_today,
            "act_by": self.act_by.isoformat() if self.act_by else None,
            "readings_used": self.readings_used,
            "set_aside": [
                {
                    "from": iso(part.start_s),
                    "until": iso(part.end_s),
                    "rows": part.rows,
                    "reason": part.reason,
                }
                for part in self.set_aside
            ],
            "before_readings": {name: asdict(value) for name, value in self.before.items()},
            "changed": self.changed,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class BackTest:
    """How earlier forecasts from this very history came out."""

    voltages_inside: int  # night voltages 7 days ahead inside their 80 % band
    voltages: int
    starts_expected: float  # sum of the chances told before each start
    starts_happened: int
    starts: int

    def as_dict(self) -> dict[str, Any]:
        """Return the counts as JSON-ready data; shares are None where nothing was counted."""
        return {
            "voltage_7_days": {
                "inside_80": self.voltages_inside / self.voltages if self.voltages else None,
                "count": self.voltages,
            },
            "starts": {
                "expected": self.starts_expected,
                "happened": self.starts_happened,
                "count": self.starts,
            },
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Morning:
    """All vehicles of a morning, in the order of their ids, and what the next one needs."""

    now_s: float
    vehicles: tuple[VehicleForecast, ...]
    back_test: BackTest
    state: dict[str, Any]
    assumptions: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return the morning as JSON-ready data."""
        return {
            "drainsim_version": __version__,
            "now": iso(self.now_s),
            "vehicles": [vehicle.as_dict() for vehicle in self.vehicles],
            "back_test": self.back_test.as_dict(),
            "assumptions": list(self.assumptions),
        }


def iso(moment_s: float | None) -> str | None:
    """Return epoch seconds as ISO 8601 in UTC; None where nothing is known.

    Examples
    --------
    >>> iso(0.0), iso(float("nan"))
    ('1970-01-01T00:00:00Z', None)
    """
    if moment_s is None or not np.isfinite(moment_s):
        return None
    moment = dt.datetime.fromtimestamp(round(moment_s), tz=dt.UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")
