"""The public functions: what a notebook asks, in the words of the scenario file."""

import datetime as dt
import itertools
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from drainsim.answers.driving.before_parking import parked_from_patterns
from drainsim.answers.driving.week import WeekAnswer
from drainsim.answers.driving.week import week as week_of
from drainsim.answers.fleet.answer import FleetAnswer, answer_fleet
from drainsim.answers.readings.morning import known_scenario, morning
from drainsim.answers.readings.results import Morning
from drainsim.answers.readings.vehicle_case import Setting
from drainsim.answers.standing.park import DEFAULT_RISK, ParkAnswer, days_range, days_within_risk
from drainsim.answers.standing.park import park as park_case
from drainsim.answers.storage.answer import StorageAnswer
from drainsim.answers.storage.answer import storage as storage_of
from drainsim.answers.storage.changes import with_changes
from drainsim.answers.storage.risk import StandQuestion
from drainsim.errors import ReadingsError, ScenarioError
from drainsim.files.fleet.table import RawTable, read_table, table_from_bytes
from drainsim.files.readings.history import History, last_reading_s
from drainsim.files.readings.reader import read_readings
from drainsim.files.readings.times import zone_named
from drainsim.sheets.fleet.morning_list import shown_ids
from drainsim.simulation.many import run_cases
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.fleet_rows import FleetSettings, fleet_from_table
from drainsim.vehicle.keys.scenario import Scenario, read_scenario, scenario_from_dict
from drainsim.vehicle.run import RUN


def park(base: Path | str | Scenario | None = None, /, **tables: Mapping[str, Any]) -> ParkAnswer:
    """Return how long a vehicle can stand before it will not start.

    Parameters
    ----------
    base : path or Scenario, optional
        A scenario file, or what `known` returns; without one, everything not given is a stated
        default.
    **tables : mapping
        Tables of the scenario, as in the file: ``battery={"capacity_ah": 60}``. Keys given here
        replace the file's. Units stand in the key names; dates may be text ("2026-12-01").

    Returns
    -------
    ParkAnswer
        `days_to_no_start.p50` is the answer, with p10 and p90; `to_frame()` the course by day.

    Raises
    ------
    DrainsimError
        One sentence: which key, what is wrong, what would be right.

    Examples
    --------
    >>> park(battery={"capacity_ah": 60}, site={"temperature_c": 10, "parked_from": "2026-12-01"})
    ... # doctest: +ELLIPSIS
    <ParkAnswer: no-start after ... days (8 in 10 cases: ... to ... days)>
    """
    return park_case(resolve(_scenario(base, tables)))


def storage(
    days: int,
    base: Path | str | Scenario | None = None,
    /,
    *,
    risk: float = DEFAULT_RISK,
    **tables: Any,
) -> StorageAnswer:
    """Return whether a vehicle may stand for some days, and what would make it hold.

    Parameters
    ----------
    days : int
        How long it is to stand.
    base, **tables
        As for `park`.
    risk : float
        Accepted chance of a no-start, 0.001 to 0.5.

    Raises
    ------
    DrainsimError
        As for `park`.
    """
    return storage_of(StandQuestion(scenario=_scenario(base, tables), days=days, risk=risk))


def week(base: Path | str | Scenario | None = None, /, **tables: Any) -> WeekAnswer:
    """Return whether the driving of a `pattern` table keeps the battery charged.

    Parameters
    ----------
    base, **tables
        As for `park`; a ``pattern`` table says how it is driven.

    Raises
    ------
    DrainsimError
        As for `park`, and if there is no pattern.
    """
    return week_of(resolve(_scenario(base, tables)))


def fleet(
    vehicles: pd.DataFrame | Path | str,
    *,
    today: dt.date | str | None = None,
    risk: float = DEFAULT_RISK,
    days_ahead: int = RUN.horizon_days.default,
) -> FleetAnswer:
    """Return which vehicles of a list will not start, and by when someone must act.

    Parameters
    ----------
    vehicles : DataFrame or path
        One vehicle a row under any headings `drainsim guide fleet` lists; a CSV or XLSX file.
    today : date, optional
        The day of the question; today's date by default.
    risk : float
        Limit above which someone must act.
    days_ahead : int
        How far to look, 1 to 365. [d]

    Raises
    ------
    DrainsimError
        If the list cannot be read; rows with mistakes come back in `problems`.
    """
    day = dt.date.fromisoformat(today) if isinstance(today, str) else today or dt.date.today()
    settings = FleetSettings(today=day, days_ahead=days_ahead)
    table, where = _table(vehicles)
    return answer_fleet(fleet_from_table(table, settings, where=where), settings, risk=risk)


def forecast(
    readings: Path | str | Sequence[Path | str],
    vehicles: pd.DataFrame | Path | str | None = None,
    *,
    now: dt.datetime | str | None = None,
    zone: str | None = None,
    risk: float = DEFAULT_RISK,
    state: Mapping[str, Any] | None = None,
) -> Morning:
    """Return what vehicles' own voltage readings say: days left, extra drains, who must act.

    Parameters
    ----------
    readings : path or paths
        CSV and XLSX files, or folders of them, as `drainsim guide readings` lists them.
    vehicles : DataFrame or path, optional
        A fleet list of the same vehicles, as for `fleet`; without one they are the usual vehicle.
    now : datetime, optional
        The morning; the last reading's time by default. Without a zone it is local to `zone`.
    zone : str, optional
        Time zone of times that do not say theirs, like "Europe/Berlin"; UTC by default.
    risk : float
        Limit above which someone must act.
    state : mapping, optional
        `state` of an earlier answer; `readings` then need only hold what is new.

    Raises
    ------
    DrainsimError
        If readings or list cannot be read; rows kept aside stand with their vehicle.
    """
    histories, told, now_s = _histories(readings, vehicles, now, zone)
    return morning(
        histories,
        told,
        now_s=None if now is None else now_s,
        state=state,
        risk=risk,
        zone=zone,
    )


def known(
    readings: Path | str | Sequence[Path | str],
    vehicle: str,
    vehicles: pd.DataFrame | Path | str | None = None,
    *,
    now: dt.datetime | str | None = None,
    zone: str | None = None,
) -> Scenario:
    """Return one vehicle, parked now, as its readings taught: a scenario for every question.

    Parameters
    ----------
    readings, vehicles, now, zone
        As for `forecast`.
    vehicle : str
        Its id in the readings.

    Returns
    -------
    Scenario
        In place of a scenario file: ``storage(30, known("readings.csv", "A"))``.

    Raises
    ------
    DrainsimError
        As for `forecast`, and if the readings hold no such vehicle or allow no forecast of it.
    """
    histories, told, now_s = _histories(readings, vehicles, now, zone)
    found = {history.vehicle_id: history for history in histories}
    if vehicle not in found or now_s is None:
        others = f"but {shown_ids(list(found))}" if found else "nor any other"
        raise ReadingsError(f"the readings hold no vehicle {vehicle!r}, {others}")
    setting = Setting(now_s=now_s, draws=RUN.draws.default, risk=DEFAULT_RISK, zone=zone)
    listed = told or {}
    beside = [(one, listed.get(one.vehicle_id)) for one in histories if one.vehicle_id != vehicle]
    return known_scenario(found[vehicle], listed.get(vehicle), setting=setting, beside=beside)


def sweep(
    values: Mapping[str, Sequence[Any]],
    base: Path | str | Scenario | Mapping[str, Any] | None = None,
    *,
    risk: float = DEFAULT_RISK,
) -> pd.DataFrame:
    """Return the days of every combination of values, as a tidy table.

    Parameters
    ----------
    values : mapping
        Scenario key → values to try: ``{"vehicle.quiescent_a": [0.02, 0.05]}``.
    base : path, Scenario or mapping, optional
        The scenario they change.
    risk : float
        Limit of the safe days.

    Returns
    -------
    DataFrame
        One row a combination: a column per key, then `median_days`, `p10_days`, `p90_days` and
        `safe_days` (risk at most `risk`); NaN where it does not happen within the horizon. All
        share their random draws, so that differences are those of the values.

    Raises
    ------
    DrainsimError
        As for `park`.

    Examples
    --------
    >>> table = sweep({"vehicle.quiescent_a": [0.02, 0.06]}, {"site": {"temperature_c": 10}})
    >>> bool(table.median_days[0] > table.median_days[1])
    True
    """
    tables = base if isinstance(base, Mapping) else {}
    scenario = _scenario(None if isinstance(base, Mapping) else base, tables)
    combinations = list(itertools.product(*values.values()))
    cases = [
        resolve(with_changes(scenario, dict(zip(values, row, strict=True)))) for row in combinations
    ]
    found: list[dict[str, float | None]] = [{} for _ in cases]
    for number, stand in run_cases(parked_from_patterns(cases)):
        days = days_range(stand.no_start_h)
        found[number] = {
            "median_days": days.p50,
            "p10_days": days.p10,
            "p90_days": days.p90,
            "safe_days": days_within_risk(stand.no_start_daily.mean(axis=1), risk),
        }
    table = pd.DataFrame(combinations, columns=list(values))
    return table.join(pd.DataFrame(found).astype(np.float64))


def _histories(
    readings: Path | str | Sequence[Path | str],
    vehicles: pd.DataFrame | Path | str | None,
    now: dt.datetime | str | None,
    zone: str | None,
) -> tuple[Sequence[History], dict[str, Scenario] | None, float | None]:
    """Return readings by vehicle, what a list says of them, and the morning. [epoch s]."""
    paths = [readings] if isinstance(readings, Path | str) else readings
    found = read_readings([Path(path) for path in paths], zone=zone)
    moment = dt.datetime.fromisoformat(now) if isinstance(now, str) else now
    if moment is not None and moment.tzinfo is None:
        moment = moment.replace(tzinfo=zone_named(zone) or dt.UTC)
    now_s = last_reading_s(found.histories) if moment is None else moment.timestamp()
    if vehicles is None:
        return found.histories, None, now_s
    day = dt.datetime.fromtimestamp(now_s or 0.0, tz=zone_named(zone) or dt.UTC).date()
    table, where = _table(vehicles)
    listed = fleet_from_table(table, FleetSettings(today=day), where=where)
    told = {vehicle.id: vehicle.scenario for vehicle in listed.vehicles}
    return found.histories, told, now_s


def _table(vehicles: pd.DataFrame | Path | str) -> tuple[RawTable, str]:
    """Return a list of vehicles as read, and what messages call it."""
    if isinstance(vehicles, pd.DataFrame):
        return table_from_bytes(vehicles.to_csv(index=False).encode(), where="table"), "table"
    return read_table(Path(vehicles)), str(vehicles)


def _scenario(base: Path | str | Scenario | None, tables: Mapping[str, Any]) -> Scenario:
    """Return a file's scenario with tables given beside it."""
    if base is None:
        return scenario_from_dict({"battery": {}, **tables})
    scenario = base if isinstance(base, Scenario) else read_scenario(Path(base))
    for name, table in tables.items():
        if isinstance(table, Mapping):
            scenario = scenario.with_values({f"{name}.{key}": v for key, v in table.items()})
        elif isinstance(table, list):
            scenario = scenario.with_table(name, table)
        else:
            raise ScenarioError(f"{name}: a table is needed, like {name}={{...}}")
    return scenario
