"""What if every vehicle of the fleet were changed in one way?"""

from typing import Any, Final

import streamlit as st

from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.words import short_date
from drainsim.dashboard import forms
from drainsim.units import a_from_ma, share_from_percent
from drainsim.vehicle.battery import BATTERY
from drainsim.vehicle.site import SITE
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

_FORM: Final = "fleet"
_NOTHING: Final = "no change"
# label: scenario key, lowest, highest, suggested value, step, conversion to the scenario's unit
_CHANGES: Final[dict[str, tuple[str, float, float, float, float, Any]]] = {
    "all units report every [h]": (UNIT.report_interval_h, 0.1, 168.0, 24.0, 1.0, float),
    "all units sleep at [mA]": (UNIT.sleep_a, 0.0, 50.0, 1.0, 0.5, a_from_ma),
    "quiescent current of all vehicles [mA]": (
        VEHICLE.quiescent_a, 0.0, 150.0, 15.0, 1.0, a_from_ma,
    ),
    "age of all batteries [years]": (BATTERY.age_years, 0.0, 15.0, 0.0, 1.0, float),
    "charge of all batteries at parking [%]": (
        BATTERY.state_of_charge, 10.0, 100.0, 95.0, 5.0, share_from_percent,
    ),
    "all parked at a constant temperature [°C]": (
        SITE.temperature_c, -30.0, 45.0, 10.0, 1.0, float,
    ),
}  # fmt: skip


def choose() -> dict[str, Any]:
    """Draw the choice; return scenario keys and values for every vehicle."""
    left, right = st.columns([2, 1])
    with left:
        label = st.selectbox(
            "What if, for the whole fleet",
            [_NOTHING, *_CHANGES],
            **forms.bound(_FORM, "change", _NOTHING, among=[_NOTHING, *_CHANGES]),
        )
    if label == _NOTHING:
        return {}
    key, low, high, suggested, step, to_scenario = _CHANGES[label]
    with right:
        value = st.number_input(
            "To",
            low,
            high,
            step=step,
            format="%g",
            **forms.bound(
                _FORM, "change_to", suggested, low=low, high=high, key=f"fleet_change_{key}"
            ),
        )
    return {key: to_scenario(value)}


def told(before: FleetAnswer, after: FleetAnswer) -> None:
    """Draw what the change does: "47.4 → 35.1 expected"."""
    parts = [
        f"{short_date(old.date)}: **{old.count.expected:.1f} → {new.count.expected:.1f}** "
        f"expected (8 in 10 cases {new.count.p10} to {new.count.p90})"
        for old, new in zip(before.on_dates, after.on_dates, strict=True)
    ]
    st.markdown("; ".join(parts))
    st.caption("From each vehicle's parking on; vehicles without a unit keep going without one.")
    lost = len(before.vehicles) - len(after.vehicles)
    if lost:
        st.warning(f"{lost} vehicles cannot have this change and are not in the second number.")
