"""Controls of what charges a parked battery: mains maintainer, panel, DC-DC top-ups."""

from typing import Final

from drainsim.dashboard.what_if.control import PER_CENT, Control
from drainsim.vehicle.chargers import MAINTAINER, TOPUP
from drainsim.vehicle.parameter import Parameter
from drainsim.vehicle.solar import SOLAR

_EVERY_H: Final = (1.0, 2.0, 4.0, 6.0, 8.0, 12.0, 24.0, 48.0, 72.0, 168.0)

_MAINTAINER: Final = (
    Control(
        name="maintainer",
        key=Parameter("maintainer", kind="table"),
        label="Mains maintainer stays connected",
        kind="switch",
    ),
    Control(
        name="maintainer_a",
        key=MAINTAINER.current_a,
        label="Rated current of the maintainer [A]",
        kind="slider",
        low=0.1,
        high=10.0,
        step=0.1,
        fallback=1.0,
    ),
    Control(
        name="maintainer_h",
        key=MAINTAINER.hours_per_day,
        label="Mains available [h a day]",
        kind="slider",
        low=0.0,
        high=24.0,
        fallback=24.0,
    ),
    Control(
        name="maintainer_from_day",
        key=MAINTAINER.from_day,
        label="Connected after [days]",
        kind="slider",
        low=0.0,
        high=180.0,
        fallback=0.0,
        note="Counted from parking; 0 is at once.",
    ),
)

_SOLAR: Final = (
    Control(name="solar", key=Parameter("solar", kind="table"), label="Solar panel", kind="switch"),
    Control(
        name="panel_w",
        key=SOLAR.panel_w,
        label="Rated power of the panel [W]",
        kind="slider",
        low=1.0,
        high=200.0,
        fallback=20.0,
    ),
    Control(
        name="panel_tilt_deg",
        key=SOLAR.tilt_deg,
        label="Tilt toward the equator [°]",
        kind="slider",
        low=0.0,
        high=90.0,
        step=5.0,
        fallback=0.0,
        note="0 lies flat, as on a roof.",
    ),
    Control(
        name="panel_shade_percent",
        key=SOLAR.shading,
        label="Sunshine lost to shade [%]",
        kind="slider",
        low=0.0,
        high=100.0,
        step=5.0,
        fallback=0.0,
        scale=PER_CENT,
    ),
    Control(
        name="latitude_deg",
        key=SOLAR.latitude_deg,
        label="Latitude [°, north positive]",
        kind="slider",
        low=-70.0,
        high=70.0,
        step=0.1,
        fallback=50.0,
        note="Needed where no climate brings it.",
    ),
)

_TOP_UP: Final = (
    Control(
        name="top_up",
        key=Parameter("top_up", kind="table"),
        label="Top-ups from the traction battery",
        kind="switch",
    ),
    Control(
        name="top_up_every_h",
        key=TOPUP.every_h,
        label="Time between top-ups [h]",
        kind="steps",
        steps=_EVERY_H,
        fallback=24.0,
    ),
    Control(
        name="top_up_a",
        key=TOPUP.current_a,
        label="Current into the 12 V battery [A]",
        kind="slider",
        low=1.0,
        high=60.0,
        fallback=20.0,
    ),
    Control(
        name="top_up_minutes",
        key=TOPUP.minutes,
        label="Length of one top-up [min]",
        kind="slider",
        low=1.0,
        high=120.0,
        fallback=15.0,
    ),
    Control(
        name="top_up_stops_days",
        key=TOPUP.suspended_after_days,
        label="The maker stops them after [days]",
        kind="box",
        low=0.0,
        high=730.0,
        empty="never",
    ),
    Control(
        name="traction_percent",
        key=TOPUP.traction_state_of_charge,
        label="Charge of the traction battery at parking [%]",
        kind="slider",
        low=0.0,
        high=100.0,
        fallback=50.0,
        scale=PER_CENT,
    ),
    Control(
        name="traction_kwh",
        key=TOPUP.traction_kwh,
        label="Size of the traction battery [kWh]",
        kind="box",
        low=0.1,
        high=1000.0,
        step=1.0,
        empty="usual for the kind",
    ),
)

CHARGER_CONTROLS: Final = (*_MAINTAINER, *_SOLAR, *_TOP_UP)
