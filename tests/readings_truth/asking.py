"""The product asked about the truth's vehicles: through its public functions alone."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from unittest.mock import patch

import numpy as np

import drainsim
from drainsim.answers.readings import morning as at_work
from drainsim.answers.readings.forecast import Asked, answer
from drainsim.answers.readings.morning import morning
from drainsim.answers.readings.results import VehicleForecast
from drainsim.files.readings.history import History
from drainsim.simulation.many import DrawnStand
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.readings_truth.battery import Array
from tests.readings_truth.files import name_of
from tests.readings_truth.truth import HORIZON_DAYS, Stands
from tests.readings_truth.voltmeter import Readings

BEYOND = 999.0  # days that stand for "not within the horizon"


def tables(s: Stands, one: int) -> dict[str, Any]:
    """Return what a list says of one vehicle as tables of a scenario."""

    def said(**keys: str) -> dict[str, Any]:
        found = {}
        for ours, theirs in keys.items():
            value = np.broadcast_to(s.says[theirs], s.count)[one]
            if isinstance(value, str):
                found[ours] = str(value)
            elif np.isfinite(value):
                found[ours] = float(value)
        return found

    return {
        "battery": said(
            profile="battery_type",
            capacity_ah="capacity_ah",
            cold_cranking_a="cold_cranking_a",
            age_years="battery_age_years",
        ),
        "vehicle": said(engine_litres="engine_litres", fuel="fuel", quiescent_a="quiescent_a"),
        "unit": said(
            sleep_a="unit_sleep_a",
            report_interval_h="report_interval_h",
            report_charge_as="unit_report_charge_as",
        ),
        "site": {"climate": s.place},
    }


def history_of(one: Readings, number: int, until_s: float, step_v: float) -> History:
    """Return what was read by `until_s` as the product's own type."""
    kept = one.time <= until_s
    nothing = np.full(int(kept.sum()), np.nan)
    order = np.argsort(one.time[kept], kind="stable")
    time_s, first = np.unique(one.time[kept][order], return_index=True)
    order = order[first]

    def column(values: Array) -> Array:
        return np.asarray(values[kept][order])

    return History(
        vehicle_id=name_of(number),
        time_s=time_s,
        voltage_v=column(one.voltage_v),
        ignition=column(one.ignition),
        battery_temperature_c=nothing[order],
        air_temperature_c=nothing[order],
        cranking_minimum_v=column(one.cranking_minimum_v),
        voltmeter_v=column(one.voltmeter_v),
        step_v=step_v,
        set_aside=(),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecasts:
    """What was forecast of each vehicle on one morning, arrays (vehicles,); days from then on.

    The days are those of draws that start that morning: only vehicles that do are scored, and the
    answer without readings is told so too.
    """

    p10: Array
    p50: Array
    p90: Array
    probability: Array  # of an extra drain
    charge: Array
    drain_a: Array
    extra_a: Array  # (vehicles, 3) p10, p50, p90 of the extra drain
    since_s: Array  # when the extra drain began
    night_low_v: Array  # band of the night voltage a week ahead
    night_high_v: Array
    status: tuple[str, ...]


def forecasts(
    s: Stands, readings: list[Readings], *, day: float, step_v: float, draws: int = 200
) -> Forecasts:
    """Return the product's forecast `day` days after parking, of every vehicle of the stands."""
    now_s = s.begin.timestamp() + day * 86400
    with _draws_of(now_s) as left:
        told = morning(
            [history_of(one, number, now_s, step_v) for number, one in enumerate(readings)],
            {
                name_of(one): scenario_from_dict(tables(s, one), where=name_of(one))
                for one in range(s.count)
            },
            now_s=now_s,
            draws=draws,
            workers=1,
        )
    asked = told.as_dict()["vehicles"]
    if [one["id"] for one in asked] != [name_of(one) for one in range(s.count)]:
        raise SystemExit("not every vehicle came back, in the order of their ids")
    days = np.array([_band(left.get(one["id"])) for one in asked])

    def middle(key: str) -> Array:
        return np.array([one[key]["p50"] for one in asked], dtype=float)

    extra = [one["extra_drain"] for one in asked]
    week = np.array([_night_ahead(one.nights, now_s + 7 * 86400) for one in told.vehicles])
    return Forecasts(
        p10=days[:, 0],
        p50=days[:, 1],
        p90=days[:, 2],
        probability=np.array([one["probability"] for one in extra], dtype=float),
        charge=middle("charge"),
        drain_a=middle("drain_a"),
        extra_a=np.array(
            [
                [((one["current_a"] or {}).get(key)) for key in ("p10", "p50", "p90")]
                for one in extra
            ],
            dtype=float,
        ),
        since_s=np.array(
            [
                np.nan if one.extra_drain.since_s is None else one.extra_drain.since_s
                for one in told.vehicles
            ]
        ),
        night_low_v=week[:, 0],
        night_high_v=week[:, 1],
        status=tuple(one["status"] for one in asked),
    )


@contextmanager
def _draws_of(now_s: float) -> Iterator[dict[str, Array]]:
    """Keep the days left of each vehicle's draws, which a morning's JSON does not hold."""
    kept: dict[str, Array] = {}

    def kept_and_answered(asked: Asked, stand: DrawnStand, *, risk: float) -> VehicleForecast:
        watched = asked.watched
        if watched.setting.now_s == now_s:
            since_h = (now_s - watched.vehicle.morning_s) / 3600
            kept[watched.history.vehicle_id] = (stand.no_start_h - since_h) / 24
        return answer(asked, stand, risk=risk)

    with patch.object(at_work, "answer", kept_and_answered):
        yield kept


def _band(left: Array | None) -> list[float]:
    """Return p10, p50, p90 of the days left of draws that start now; 0 where none does."""
    if left is None:
        return [BEYOND] * 3
    starting = left[left > 0]
    if not len(starting):
        return [0.0] * 3
    days = np.quantile(starting, [0.1, 0.5, 0.9], method="inverted_cdf")
    return [float(day) for day in np.minimum(days, BEYOND)]


def _night_ahead(nights: Any, at_s: float) -> tuple[float, float]:
    """Return the band of the night voltage at a moment, NaN where none reaches that far."""
    if nights is None or not nights.time_s:
        return np.nan, np.nan
    at = int(np.argmin(np.abs(np.array(nights.time_s) - at_s)))
    near = abs(nights.time_s[at] - at_s) < 0.6 * 86400
    return (nights.low_v[at], nights.high_v[at]) if near else (np.nan, np.nan)


def without_readings(s: Stands, draws: int = 1000) -> list[Array]:
    """Return each vehicle's chance to have failed by each day after parking, without readings."""
    found = []
    parked_h = s.begin.hour
    for one in range(s.count):
        given = tables(s, one)
        given["site"]["parked_from"] = s.begin.date().isoformat()
        answer = drainsim.park(**given, run={"draws": draws, "horizon_days": HORIZON_DAYS + 36})
        course = answer.course
        # The course tells at the start hour of each calendar day; days here run from key off.
        since = course.day + (answer.case.site.start_hour - parked_h) / 24
        found.append(np.array([since, course.probability_failed_by]))
    return found


def days_left_without(prior: list[Array], day: float) -> Array:
    """Return p10, p50, p90 of the days left of those not failed by `day`, shape (vehicles, 3)."""
    rows = []
    for since, failed in prior:
        by_now = np.interp(day, since, failed)
        left = (failed - by_now) / max(1 - by_now, 1e-9)
        rows.append(
            [
                BEYOND if left[-1] < q else max(float(np.interp(q, left, since)) - day, 0.0)
                for q in (0.1, 0.5, 0.9)
            ]
        )
    return np.array(rows)
