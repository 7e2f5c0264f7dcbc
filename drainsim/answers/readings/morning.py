"""The morning list: every vehicle's forecast from its readings, and what is kept for tomorrow."""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import asdict, dataclass, replace
from functools import partial
from typing import Any, Final

from drainsim.answers.fleet.in_parts import in_parts
from drainsim.answers.readings.changed import Told, day_before, is_news, what_changed
from drainsim.answers.readings.forecast import (
    UNIT_OFFSET,
    Asked,
    Watched,
    answer,
    ask,
    before_readings,
    depends_on,
    unanswered,
    watch,
)
from drainsim.answers.readings.posterior.learned import MODEL_OFFSET_SD_V
from drainsim.answers.readings.posterior.learning import unit_model_offset
from drainsim.answers.readings.results import BackTest, Morning, Range, VehicleForecast
from drainsim.answers.readings.state import history_kept, joined, kept_history
from drainsim.answers.readings.vehicle_case import Setting, usual_vehicle
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.errors import DrainsimError, ReadingsError
from drainsim.files.readings.history import History, last_reading_s
from drainsim.files.readings.times import zone_named
from drainsim.language import marked, message
from drainsim.simulation.many import run_cases
from drainsim.units import HOURS_PER_DAY, SECONDS_PER_DAY
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.run import RUN

DRAWS: Final = 200
_ALONE: Final = 25  # vehicles; more are worth the start of processes, a tenth of a second each
_FEWEST_ALIKE: Final = 5  # vehicles of one unit model that teach what its units share
_ASSUMED: Final = marked(
    "nothing was said of {count} of the vehicles: they are taken as the usual car with a unit "
    "that reports every hour, with a wide range; a fleet list makes it sharper"
)
_BY_NIGHT: Final = message("night voltages only: the last 6 hours before the start hour, at rest")


def morning(
    histories: Sequence[History],
    vehicles: Mapping[str, Scenario] | None = None,
    *,
    now_s: float | None = None,
    state: Mapping[str, Any] | None = None,
    draws: int = DRAWS,
    risk: float = DEFAULT_RISK,
    workers: int | None = None,
    zone: str | None = None,
    pool: Executor | None = None,
) -> Morning:
    """Return the forecast of every vehicle.

    Parameters
    ----------
    histories : sequence of History
        All readings, or with a `state` only those since.
    vehicles : mapping, optional
        What is known of each vehicle, by its id in the readings; the usual vehicle without.
    now_s : float, optional
        The morning: readings after it are not looked at; the last reading's time by default.
        Epoch seconds, UTC. [s]
    state : mapping, optional
        `Morning.state` of an earlier morning.
    draws : int
        Per vehicle, 100 to 2,000 in steps of 5.
    risk : float
        Accepted chance of a no-start behind `act_by`.
    workers : int, optional
        Processes; as many as cores by default.
    zone : str, optional
        Named time zone the vehicles stand in, for what counts as night; UTC by default.
    pool : Executor, optional
        Where to work instead of this machine's processes: that of a cluster.

    Raises
    ------
    DrainsimError
        If draws or zone cannot be, or nothing was read at all.
    """
    zone_named(zone)
    if not 100 <= draws <= 2000 or draws % 5:
        raise DrainsimError(f"draws = {draws}: give 100 to 2000 in steps of 5")
    kept = (state or {}).get("vehicles", {})
    whole = _with_kept(histories, kept)
    now_s = last_reading_s(whole) if now_s is None else now_s
    if now_s is None:
        raise DrainsimError("the readings hold no vehicle with a reading at a known time")
    setting = Setting(now_s=now_s, draws=draws, risk=risk, zone=zone)
    usual = usual_vehicle()
    told = vehicles or {}
    jobs = [
        _Job(
            number=number,
            history=history,
            scenario=told.get(history.vehicle_id, usual),
            memory=kept.get(history.vehicle_id, {}).get("memory", {}),
        )
        for number, history in enumerate(whole)
    ]
    divided = partial(in_parts, workers=workers, alone=_ALONE, pool=pool)
    return _morning(jobs, setting, divided, unknown=sum(h.vehicle_id not in told for h in whole))


@dataclass(frozen=True, slots=True)
class _Job:
    number: int
    history: History
    scenario: Scenario
    memory: Mapping[str, Any]


def _morning(
    jobs: list[_Job], setting: Setting, divided: Callable[..., Iterator[Any]], *, unknown: int
) -> Morning:
    watched: dict[int, Watched] = {}
    for part in divided(jobs, partial(_watch, setting=setting)):
        watched.update(part)
    offsets = _model_offsets(watched.values())
    ready = [
        (number, one, offsets.get(_model(one.scenario), UNIT_OFFSET))
        for number, one in sorted(watched.items())
    ]
    found: dict[int, VehicleForecast] = {}
    memories: dict[int, dict[str, Any]] = {}
    for answers in divided(ready, partial(_answer, risk=setting.risk)):
        for number, forecast, memory in answers:
            found[number], memories[number] = forecast, memory
    pasts = [watched[number].past for number in sorted(watched)]
    starts = sum(past.starts for past in pasts)
    assumed = (message(_ASSUMED, count=unknown),) if unknown else ()
    return Morning(
        now_s=setting.now_s,
        vehicles=tuple(found[number] for number in sorted(found)),
        back_test=BackTest(
            voltages_inside=sum(past.voltages_inside for past in pasts),
            voltages=sum(past.voltages for past in pasts),
            starts_expected=math.fsum(past.starts_expected for past in pasts),
            starts_happened=starts,
            starts=starts,
        ),
        state={
            "now_s": setting.now_s,
            "vehicles": {
                job.history.vehicle_id: {
                    **kept_history(job.history),
                    "memory": memories[job.number],
                }
                for job in jobs
            },
        },
        assumptions=(*assumed, _BY_NIGHT),
    )


def _with_kept(histories: Sequence[History], kept: Mapping[str, Any]) -> list[History]:
    """Return all vehicles' whole histories, in the order of their ids."""
    found = {name: history_kept(name, packed) for name, packed in kept.items()}
    if len({history.vehicle_id for history in histories}) < len(histories):
        raise DrainsimError("a vehicle's readings are given twice; read all files in one go")
    for history in histories:
        name = history.vehicle_id
        found[name] = joined(found[name], history) if name in found else history
    return [found[name] for name in sorted(found)]


def _watch(jobs: Sequence[_Job], *, setting: Setting) -> list[tuple[int, Watched]]:
    return [(job.number, watch(job.history, job.scenario, setting, job.memory)) for job in jobs]


def _answer(
    ready: Sequence[tuple[int, Watched, tuple[float, float]]], *, risk: float
) -> list[tuple[int, VehicleForecast, dict[str, Any]]]:
    """Return forecasts, and all that is to be remembered of each: another process's, too."""
    vehicles = [(watched, offset) for _, watched, offset in ready]
    today = _forecasts(vehicles, risk)
    for (watched, offset), one in zip(vehicles, today, strict=True):
        parts = depends_on(watched, offset, watched.setting.now_s)
        if parts:
            watched.learner.memory.keep(parts, asdict(Told.of(one)))
    for number, (watched, offset) in enumerate(vehicles):
        if is_news(today[number], watched):
            before = _day_before(watched, offset, risk)
            today[number] = replace(today[number], changed=what_changed(today[number], before))
    return [
        (number, one, watched.learner.memory.kept)
        for (number, watched, _), one in zip(ready, today, strict=True)
    ]


def _day_before(watched: Watched, offset: tuple[float, float], risk: float) -> Told:
    """Return what was told a day earlier, worked out anew where it was not kept."""

    def work() -> dict[str, Any]:
        (one,) = _forecasts([(day_before(watched), offset)], risk)
        return asdict(Told.of(one))

    parts = depends_on(watched, offset, watched.setting.now_s - SECONDS_PER_DAY)
    return Told(**(watched.learner.memory.recall(parts, work) if parts else work()))


def _forecasts(
    vehicles: Sequence[tuple[Watched, tuple[float, float]]], risk: float
) -> list[VehicleForecast]:
    asked: list[tuple[int, Asked]] = []
    found: list[VehicleForecast] = []
    for watched, unit_offset in vehicles:
        one = ask(watched, unit_offset)
        if one is not None:
            asked.append((len(found), one))
        found.append(unanswered(watched))
    for place, stand in run_cases([one.case for _, one in asked]):
        number, one = asked[place]
        found[number] = answer(one, stand, risk=risk)
    return found


def _model(scenario: Scenario) -> str:
    """Return what units of one model share in a list: all that is said of them."""
    return repr(scenario.tables.get("unit"))


def _model_offsets(all_watched: Iterable[Watched]) -> dict[str, tuple[float, float]]:
    """Return mean and spread of the offset of a further unit of each model. [V]."""
    by_model: dict[str, list[tuple[float, float]]] = {}
    for watched in all_watched:
        learned = watched.past.learned
        if learned.stands:
            found = (float(learned.mean[-1]), math.sqrt(float(learned.covariance[-1, -1])))
            by_model.setdefault(_model(watched.scenario), []).append(found)
    return {
        model: unit_model_offset(offsets, UNIT_OFFSET, MODEL_OFFSET_SD_V)
        for model, offsets in by_model.items()
        if len(offsets) >= _FEWEST_ALIKE
    }


def forecast_one(
    history: History, scenario: Scenario | None = None, *, setting: Setting
) -> VehicleForecast:
    """Return one vehicle's forecast, with what was known before any reading beside it.

    Parameters
    ----------
    history : History
    scenario : Scenario, optional
        What is known of it; the usual vehicle without.
    setting : Setting
        Morning, draws and accepted risk.
    """
    scenario = scenario or usual_vehicle()
    watched = watch(history, scenario, setting, {})
    ((_, found, _),) = _answer([(0, watched, UNIT_OFFSET)], risk=setting.risk)
    bare = watched.vehicle.now
    _, stand = next(run_cases([bare]))
    before = {
        **{name: Range.of(values) for name, values in before_readings(bare).items()},
        "days_to_no_start": Range.of(stand.no_start_h / HOURS_PER_DAY),
    }
    return replace(found, before=before)


def known_scenario(
    history: History,
    scenario: Scenario | None = None,
    *,
    setting: Setting,
    beside: Iterable[tuple[History, Scenario | None]] = (),
) -> Scenario:
    """Return a vehicle's scenario, parked now, that carries what its readings taught.

    Every question takes it as any other: days, risk, storage, ways to make it hold, a row of a
    fleet.

    Parameters
    ----------
    history, scenario, setting
        As for `forecast_one`.
    beside : iterable of (History, Scenario or None)
        Vehicles of the same morning: units of its model teach its unit's offset, as they do there.

    Raises
    ------
    ReadingsError
        If the readings allow no forecast, with the reason.
    """
    usual = usual_vehicle()
    watched = watch(history, scenario or usual, setting, {})
    alike = [
        watch(other, told or usual, setting, {})
        for other, told in beside
        if _model(told or usual) == _model(watched.scenario)
    ]
    offsets = _model_offsets([watched, *alike])
    asked = ask(watched, offsets.get(_model(watched.scenario), UNIT_OFFSET))
    if asked is None:
        raise ReadingsError(f"{history.vehicle_id}: {unanswered(watched).reason}")
    parked: dict[str, Any] = {
        SITE.parked_from: watched.vehicle.now.site.parked_from,
        RUN.draws: setting.draws,
    }
    return replace(watched.vehicle.scenario.with_values(parked), known=asked.known)
