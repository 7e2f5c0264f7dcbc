"""Which solar panel, month by month, and when a small one fails."""

import datetime as dt
from dataclasses import dataclass, replace
from typing import Any, Final

from drainsim.answers.storage.changes import with_changes
from drainsim.answers.storage.risk import StandQuestion
from drainsim.answers.storage.searching.searches import panel_search
from drainsim.answers.storage.searching.solving import Solved, solve
from drainsim.answers.words import placed_words
from drainsim.errors import ScenarioError
from drainsim.language import MONTHS, Message, message
from drainsim.physics.solar import panel_ah_per_day, panel_for_current_w
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.case import Case
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.places.solar import SOLAR, Solar

# Panels sold to lie behind a windscreen or on a roof; common practice, no source.
SMALL_PANEL_W: Final = 10.0
_MONTH_DAYS: Final = 30
_ONE_W: Final[dict[str, Any]] = {SOLAR.panel_w: 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthPanel:
    """One month: sunshine, the panel that replaces the draw, and the one that makes N days hold.

    `replacing_w` is the published rule of thumb (mean draw × 13 V × 24 h ÷ sun hours ÷ efficiency,
    twice as much for two in series), infinite in polar night; `needed` comes from the simulation,
    parked from the first of the month, and may use up charge the battery brings along.
    """

    month: int
    sun_h: float
    replacing_w: float
    needed: Solved | None

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data; a panel of no use is None."""
        return {
            "month": self.month,
            "sun_hours_per_day": round(self.sun_h, 3),
            "panel_replacing_the_draw_w": None if self.sun_h == 0.0 else self.replacing_w,
            "panel_needed": self.needed.as_dict() if self.needed else None,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallPanel:
    """What a small panel brings in the darkest month of a stand, against what is lost."""

    panel_w: float
    month: int
    latitude_deg: float
    brings_ah_day: float
    lost_ah_day: float
    placed: Message

    @property
    def fails(self) -> bool:
        """Say whether it brings less than is lost, so that the battery still runs down."""
        return self.brings_ah_day < self.lost_ah_day

    @property
    def in_words(self) -> Message:
        """The comparison in one sentence."""
        north = self.latitude_deg >= 0
        return message(
            "in {month} at {place} a {panel_w:g} W panel {placed} brings about {brings:.2f} Ah a "
            "day, {lost:.2f} Ah a day are lost: {end}",
            month=message(MONTHS[self.month - 1]),
            place=message(
                "{latitude:.0f}° north" if north else "{latitude:.0f}° south",
                latitude=abs(self.latitude_deg),
            ),
            panel_w=self.panel_w,
            placed=self.placed,
            brings=self.brings_ah_day,
            lost=self.lost_ah_day,
            end=message("it only slows the loss" if self.fails else "it keeps the battery up"),
        )


def _lost_ah_per_day(question: StandQuestion) -> float:
    """Return the mean charge lost per day to loads and self-discharge, without a panel."""
    days = min(question.days, _MONTH_DAYS)
    balance = question.stand({"solar": None}, days=days).balance
    parts = (
        balance.vehicle_ah,
        balance.unit_ah,
        balance.other_ah,
        balance.lost_ah,
        balance.refused_ah,
    )
    return float(sum(part.mean() for part in parts)) / days


def small_panel(question: StandQuestion) -> SmallPanel:
    """Return what a small panel does in the darkest month the stand touches."""
    case = question.resolved(_ONE_W)
    solar = _solar(case)
    by_month: dict[int, list[float]] = {}
    for day, sun_h in enumerate(solar.sun_h.tolist()):
        month = (case.site.parked_from + dt.timedelta(days=day)).month
        by_month.setdefault(month, []).append(sun_h)
    means = {month: sum(hours) / len(hours) for month, hours in by_month.items()}
    darkest = min(means, key=lambda month: means[month])
    brings = panel_ah_per_day(
        SMALL_PANEL_W, sun_h=means[darkest], efficiency=solar.efficiency, battery_v=solar.charging_v
    )
    return SmallPanel(
        panel_w=SMALL_PANEL_W,
        month=darkest,
        latitude_deg=solar.latitude_deg,
        brings_ah_day=float(brings),
        lost_ah_day=max(_lost_ah_per_day(question), 0.0),
        placed=placed_words(question.scenario),
    )


def panel_by_month(question: StandQuestion, *, simulate: bool = True) -> tuple[MonthPanel, ...]:
    """Return sunshine and panels for a stand that begins on the first of each month.

    Parameters
    ----------
    question : StandQuestion
    simulate : bool
        Also search the panel that makes each stand hold: takes seconds.

    Raises
    ------
    ScenarioError
        If no panel would feed the battery asked about.
    """
    lost_a = max(_lost_ah_per_day(question), 0.0) / HOURS_PER_DAY
    year = question.resolved().site.parked_from.year
    found = []
    for month in range(1, 13):
        first: dict[str, Any] = {SITE.parked_from: dt.date(year, month, 1)}
        asked = replace(question, scenario=with_changes(question.scenario, first))
        solar = _solar(asked.resolved(_ONE_W, days=_MONTH_DAYS))
        sun_h = float(solar.sun_h.mean())
        watts = panel_for_current_w(
            lost_a, sun_h=sun_h, efficiency=solar.efficiency, battery_v=solar.charging_v
        )
        found.append(
            MonthPanel(
                month=month,
                sun_h=sun_h,
                replacing_w=float(watts),
                needed=solve(panel_search(asked)) if simulate else None,
            )
        )
    return tuple(found)


def _solar(case: Case) -> Solar:
    """Return the panel of a case.

    Raises
    ------
    ScenarioError
        If it has none that feeds the battery asked about.
    """
    if case.solar is None:
        raise ScenarioError(
            "a panel charges the auxiliary battery that feeds the unit, not the one that starts; "
            "ask with unit.fed_from = 'starter'"
        )
    return case.solar
