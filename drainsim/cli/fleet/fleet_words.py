"""The answer to a fleet list as text for a terminal."""

from typing import Final

from drainsim.answers.fleet.action import Action, instruction
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.words import FROZEN_CAUTION, counted
from drainsim.cli.fleet.fleet_reading import understood_first, understood_last
from drainsim.cli.text import more_words
from drainsim.language import joined, message, say
from drainsim.sheets.fleet.fleet_understood import left_out
from drainsim.vehicle.documents.fleet_rows import Fleet

_SHOWN: Final = 25  # vehicles printed on the terminal


def in_words(
    fleet: Fleet,
    answer: FleetAnswer,
    actions: dict[str, Action],
    changed: FleetAnswer | None,
    changes: list[str],
    *,
    brief: bool = False,
) -> str:
    """Return the answer as text for a terminal."""
    acting = [vehicle for vehicle in answer.vehicles if vehicle.needs_someone]
    lines = [
        *understood_first(fleet, brief=brief),
        say(
            "{vehicles} answered from {file} (risk limit {percent:g} %).",
            vehicles=counted(len(answer.vehicles), "vehicle"),
            file=fleet.where,
            percent=100 * answer.risk,
        ),
        *map(say, left_out(answer)),
        say(answer.needing),
        *_on_dates(answer, changed, changes),
        *_to_act_on(acting, answer, actions),
        *_kept_aside(answer),
        *understood_last(fleet),
    ]
    return "\n".join(
        [
            *lines,
            "",
            say(
                "! = act today. Risk = chance of a no-start at the start hour of the day named. "
                "{caution}",
                caution=FROZEN_CAUTION,
            ),
            say(
                "Assumed where the list is silent: unit preset hourly, climate temperate, parked "
                "today, and drainsim's defaults for the rest; {draws} possible cases, seed {seed}.",
                draws=answer.settings.draws,
                seed=answer.settings.seed,
            ),
        ]
    )


def _on_dates(answer: FleetAnswer, changed: FleetAnswer | None, changes: list[str]) -> list[str]:
    """Return the no-starts expected on the dates asked about, and the depots with most."""
    lines: list[str] = []
    for number, day in enumerate(answer.on_dates if answer.vehicles else ()):
        band = day.count
        parts = [
            message(
                "On {day}: {expected:.1f} no-starts expected (8 in 10 cases {low} to {high})",
                day=str(day.date),
                expected=band.expected,
                low=band.p10,
                high=band.p90,
            )
        ]
        if answer.call_out_price is not None:
            cost = answer.call_out_price * band.expected
            parts.append(message(", {cost:,.0f} in call-outs", cost=cost))
        if changed is not None:
            parts.append(
                message(
                    "; with {changes}: {before:.1f} -> {after:.1f}",
                    changes=", ".join(changes),
                    before=band.expected,
                    after=changed.on_dates[number].count.expected,
                )
            )
        lines.append(say(joined("", parts)) + ".")
        if len(answer.by_depot[number]) < 2:
            continue
        worst = [
            message(
                "{name} {expected:.1f} of {all}", name=g.name, expected=g.expected, all=g.vehicles
            )
            for g in answer.by_depot[number][:3]
        ]
        most = say("most by depot: {depots}", depots=joined(", ", worst))
        lines.append(f"  {most}")
    return lines


def _to_act_on(
    acting: list[VehicleAnswer], answer: FleetAnswer, actions: dict[str, Action]
) -> list[str]:
    """Return one line for each vehicle someone must act on, the most urgent first."""
    if not acting:
        return []
    lines = ["", f"{say('act by'):<12}{say('vehicle'):<16}{say('depot'):<16}{say('what to do')}"]
    for vehicle in acting[:_SHOWN]:
        action = actions.get(vehicle.id)
        now = " !" if vehicle.act_by == answer.settings.today else ""
        lines.append(
            f"{vehicle.act_by!s:<10}{now:<2}{vehicle.id[:15]:<16}{vehicle.depot[:15]:<16}"
            f"{say(instruction(vehicle, action))}"
        )
        if action is not None:
            effect = say("{effect}; takes {takes}", effect=action.effect, takes=action.takes)
            lines.append(f"{'':<12}{effect}")
        lines.append(f"{'':<12}{say('why: {cause}', cause=vehicle.cause)}")
    if len(acting) > _SHOWN:
        lines.append(more_words(len(acting) - _SHOWN))
    return lines


def _kept_aside(answer: FleetAnswer) -> list[str]:
    """Return the rows that could not be answered, with the reason of each."""
    if not answer.problems:
        return []
    lines = ["", say("Kept aside, to be corrected (to_correct.csv):")]
    lines += [f"  {problem.in_words()}" for problem in answer.problems[:_SHOWN]]
    if len(answer.problems) > _SHOWN:
        lines.append("  " + say("... and {number} more", number=len(answer.problems) - _SHOWN))
    return lines
