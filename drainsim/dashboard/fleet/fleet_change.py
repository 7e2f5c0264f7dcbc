"""What if every vehicle of the fleet were changed in one way?"""

from typing import Any, Final

import streamlit as st

from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.words import short_date
from drainsim.dashboard import forms
from drainsim.dashboard.parts.plain_text import glued
from drainsim.dashboard.what_if.control import MILLIAMPERES, PER_CENT, box
from drainsim.language import marked, say
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

_FORM: Final = "fleet"
_NOTHING: Final = marked("no change")
# What may be changed, each with a value to begin with in its control's unit.
_CHANGES: Final = {
    control.label: (control, suggested)
    for control, suggested in (
        (box("interval_h", UNIT.report_interval_h, low=0.1, high=168.0), 24.0),
        (box("sleep_ma", UNIT.sleep_a, high=50.0, step=0.5, scale=MILLIAMPERES), 1.0),
        (box("quiescent_ma", VEHICLE.quiescent_a, high=150.0, scale=MILLIAMPERES), 15.0),
        (box("age_years", BATTERY.age_years), 0.0),
        (box("charge_percent", BATTERY.state_of_charge, low=10.0, step=5.0, scale=PER_CENT), 95.0),
        (box("temperature_c", SITE.temperature_c, low=-30.0, high=45.0), 10.0),
    )
}


def choose() -> dict[str, Any]:
    """Draw the choice; return scenario keys and values for every vehicle."""
    left, right = st.columns([2, 1])
    with left:
        label = st.selectbox(
            say("What if, for the whole fleet"),
            [_NOTHING, *_CHANGES],
            format_func=lambda one: say(_CHANGES[one][0].label if one in _CHANGES else one),
            **forms.bound(_FORM, "change", _NOTHING, among=[_NOTHING, *_CHANGES]),
        )
    if label == _NOTHING:
        return {}
    control, suggested = _CHANGES[label]
    low, high = control.low, control.high
    with right:
        value = st.number_input(
            say("To"),
            low,
            high,
            step=control.step,
            format="%g",
            **forms.bound(
                _FORM, "change_to", suggested, low=low, high=high, key=f"fleet_change_{control.key}"
            ),
        )
    return {control.key: control.to_scenario(value)}


def told(before: FleetAnswer, after: FleetAnswer) -> None:
    """Draw what the change does: "47.4 → 35.1 expected"."""
    parts = [
        say(
            "{date}: **{old:.1f} → {new:.1f}** expected (8 in 10 cases {low} to {high})",
            date=short_date(old.date),
            old=old.count.expected,
            new=new.count.expected,
            low=new.count.p10,
            high=new.count.p90,
        )
        for old, new in zip(before.on_dates, after.on_dates, strict=True)
    ]
    st.markdown(glued("; ".join(parts)))
    st.caption(
        say("From each vehicle's parking on; vehicles without a unit keep going without one.")
    )
    lost = len(before.vehicles) - len(after.vehicles)
    if lost:
        st.warning(
            say(
                "{lost} vehicles cannot have this change and are not in the second number.",
                lost=lost,
            )
        )
