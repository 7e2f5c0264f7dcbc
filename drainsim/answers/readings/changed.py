"""What of a vehicle is new since the morning before, and why."""

from dataclasses import dataclass, replace

from drainsim.answers.readings.forecast import Watched, watch
from drainsim.answers.readings.posterior.fault import FOUND_FROM
from drainsim.answers.readings.results import SILENT, VehicleForecast
from drainsim.language import message
from drainsim.units import SECONDS_PER_DAY, ma_from_a


def is_news(now: VehicleForecast, watched: Watched) -> bool:
    """Say whether a vehicle may differ from the morning before in what people act on."""
    setting = watched.setting
    drains = (now.extra_drain.probability or 0.0) >= FOUND_FROM
    risky = (now.risk_today or 0.0) > setting.risk
    parked = now.parked_since_s or 0.0
    fresh = parked > setting.now_s - SECONDS_PER_DAY
    return drains or risky or fresh or now.status == SILENT


@dataclass(frozen=True, slots=True)
class Told:
    """What of a morning's forecast the next one is compared with."""

    status: str
    extra_drain: bool
    days: float | None
    parked_since_s: float | None
    act_by: str | None

    @classmethod
    def of(cls, one: VehicleForecast) -> "Told":
        """Return it of a forecast."""
        return cls(
            one.status,
            (one.extra_drain.probability or 0.0) >= FOUND_FROM,
            one.days_to_no_start.p50,
            one.parked_since_s,
            None if one.act_by is None else one.act_by.isoformat(),
        )


def day_before(watched: Watched) -> Watched:
    """Return a vehicle as it was known a day earlier, from the readings of then."""
    setting = replace(watched.setting, now_s=watched.setting.now_s - SECONDS_PER_DAY)
    return watch(watched.history, watched.scenario, setting, watched.learner.memory.kept)


def what_changed(now: VehicleForecast, before: Told) -> str:
    """Return in one sentence what is new and why; empty if nothing is."""
    told = Told.of(now)
    if told.status != before.status:
        was, is_ = message(before.status), message(told.status)
        return message("{before} yesterday, {now} today", before=was, now=is_)
    if told.extra_drain and not before.extra_drain:
        current_a = now.extra_drain.current_a.p50
        what = (
            message("an extra drain shows since last night")
            if current_a is None
            else message(
                "an extra drain of about {ma:.0f} mA shows since last night",
                ma=ma_from_a(current_a),
            )
        )
    elif before.extra_drain and not told.extra_drain:
        what = message("the extra drain shows no more")
    elif told.parked_since_s != before.parked_since_s:
        return message("parked anew")
    elif told.act_by is not None and (before.act_by is None or before.act_by > told.act_by):
        what = message("the night's voltage was lower than expected")
    else:
        return ""
    days = now.days_to_no_start.p50
    if before.days is None or days is None:
        return what
    return message(
        "{what}: {days:.0f} days left, {expected:.0f} expected",
        what=what,
        days=days,
        expected=max(before.days - 1.0, 0.0),
    )
