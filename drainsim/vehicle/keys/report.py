"""One report of the added unit, phase by phase."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from drainsim.errors import ScenarioError
from drainsim.physics.load import average_current_a, event_charge_as, fix_time_s
from drainsim.units import SECONDS_PER_HOUR
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Keys, Parameter, number, usual

_FIX: Final = "time to a position fix by the age of the orbit data; common practice, no source"


class REPORT(Keys, name="report", of="unit"):
    """One report phase by phase, instead of unit.report_charge_as; currents at rated_at_v."""

    wake_s = number((0, 600, "s"), "time awake before anything else", default=0.0)
    wake_a = number((0, 5, "A"), "current while waking", default=0.0)
    fix_a = number((0, 5, "A"), "current while looking for satellites", default=0.0)
    fix_hot_s = number((0, 3600, "s"), "fix time with valid orbit data", **usual(2.0, _FIX))
    fix_warm_s = number((0, 3600, "s"), "fix time with rough orbit data", **usual(28.0, _FIX))
    fix_cold_s = number((0, 3600, "s"), "fix time with none", **usual(35.0, _FIX))
    ephemeris_valid_h = number((0, 48, "h"), "how long orbit data stays valid", **usual(4.0, _FIX))
    attach_s = number((0, 3600, "s"), "time to find and join the network", default=0.0)
    attach_a = number((0, 5, "A"), "current meanwhile", default=0.0)
    transmit_s = number((0, 3600, "s"), "time sending", default=0.0)
    transmit_a = number((0, 5, "A"), "current while sending", default=0.0)
    tail_s = number((0, 3600, "s"), "time the network holds the link afterwards", default=0.0)
    tail_a = number((0, 5, "A"), "current meanwhile", default=0.0)


def phases_of(ledger: Ledger, said: Mapping[str, float]) -> dict[str, float]:
    """Return every figure of a report; what a search for satellites assumes is written down.

    Parameters
    ----------
    ledger : Ledger
    said : mapping
        What the scenario or a preset says of the phases.
    """
    searching = bool(said.get(REPORT.fix_a.key))
    filled = {}
    for phase in REPORT.TABLE.fields:
        filled[phase.key] = said.get(phase.key, phase.default)
        if searching and phase.source and phase.key not in said:
            ledger.note(phase, phase.default, "default", phase.source)
    return filled


@dataclass(frozen=True, slots=True, kw_only=True)
class Events:
    """What a unit draws asleep and in its events; phases of a report, or its charge in A·s.

    `coverage` multiplies the attach and transmit phases (more power, longer attach, retries).
    """

    where: str
    idle_a: float
    coverage: float
    phases: Mapping[str, float] | None
    fixed_as: float
    beat_h: float | None
    beat_as: float

    def mean_a(self, interval_h: float) -> float:
        """Return the mean current when it reports every so many hours. [A].

        Raises
        ------
        ScenarioError
            If a report takes longer than the time to the next one.
        """
        if self.phases is None:
            charge_as = self.fixed_as * self.coverage
        else:
            rows = _rows(self.phases, interval_h, self.coverage)
            busy_s = sum(duration for duration, _ in rows)
            if busy_s > interval_h * SECONDS_PER_HOUR:
                raise ScenarioError(
                    f"{self.where}: unit.report takes {busy_s:.0f} s but unit.report_interval_h is "
                    f"{interval_h:g} h ({interval_h * SECONDS_PER_HOUR:.0f} s); make the interval "
                    "longer"
                )
            charge_as = event_charge_as(rows, sleep_a=self.idle_a)
        mean = average_current_a(self.idle_a, charge_as=charge_as, every_h=interval_h)
        if self.beat_h:
            mean = average_current_a(mean, charge_as=self.beat_as, every_h=self.beat_h)
        return float(mean)


def _rows(
    phases: Mapping[str, float], interval_h: float, coverage: float
) -> list[tuple[float, float]]:
    """Return (duration, current) of each phase of a report."""

    def figure(phase: Parameter) -> float:
        return float(phases.get(phase.key, phase.default))

    fix_s = float(
        fix_time_s(
            interval_h,
            hot_s=figure(REPORT.fix_hot_s),
            warm_s=figure(REPORT.fix_warm_s),
            cold_s=figure(REPORT.fix_cold_s),
            ephemeris_valid_h=figure(REPORT.ephemeris_valid_h),
        )
    )
    fix_a = figure(REPORT.fix_a)
    rows = [(fix_s if fix_a else 0.0, fix_a)]
    for time_s, current_a, factor in (
        (REPORT.wake_s, REPORT.wake_a, 1.0),
        (REPORT.attach_s, REPORT.attach_a, coverage),
        (REPORT.transmit_s, REPORT.transmit_a, coverage),
        (REPORT.tail_s, REPORT.tail_a, 1.0),
    ):
        rows.append((figure(time_s) * factor, figure(current_a)))
    return rows
