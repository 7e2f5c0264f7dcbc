"""A solar panel that looks after the parked battery: charge into it, day by day.

A panel is a mean current per day, sun above the air × clear share × tilt factor × (1 − shading) ×
efficiency ÷ 13 V (26 V of two in series); flat and unshaded by default. Clear shares are monthly
means of typical years; each weather of a place draws its own cloudy runs of days about them
(`simulation/chargers.py`), a whole dull season is not drawn.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.errors import ScenarioError
from drainsim.files.presets import preset, presets
from drainsim.physics.solar import chain_efficiency, panel_ah_per_day, peak_sun_hours
from drainsim.physics.tables import FloatArray
from drainsim.physics.tilt import tilt_factor
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Keys, number, usual
from drainsim.vehicle.places.site import SITE, Site, has_climate
from drainsim.vehicle.run import UNCERTAINTY

# Voltage at which a battery of 12 V takes charge on a small panel: maintainer sizing example.
CHARGING_V: Final = 13.0
# Dirt, warmth and low sun; a plain controller (13 V of a panel's 17 V); charge kept by a nearly
# full lead-acid battery (0.8 to 0.9). Common practice, no source; together near the 0.6 of the
# maintainer sizing example.
EFFICIENCY: Final = chain_efficiency(surface=0.90, controller=0.78, charging=0.85)
_EFFICIENCY_SOURCE: Final = "0.90 surface × 0.78 controller × 0.85 charging; common practice"
# Where no sunshine of the place is known: below every published mean of a German December (0.22
# in the north to 0.49 at the edge of the Alps, 1981 to 2010; the dullest single one, at the coast
# in 2020, was 0.15), and taken all year.
CLEAR_SHARE: Final = 0.20


class SOLAR(Keys, name="solar"):
    """A panel that charges the parked battery, by default lying flat in the open."""

    panel_w = number(
        (0, 1000, "W"),
        "rated power of the panel",
        otherwise="none",
        label="Rated power of the panel",
    )
    latitude_deg = number(
        (-90, 90, "°"),
        "latitude, north positive",
        otherwise="of the climate preset or the site",
        source="of the climate preset or the site",
        label="Latitude",
        note="Needed where neither climate nor place brings it.",
        step=0.1,
    )
    clear_share = number(
        (0.05, 0.85, ""),
        "share of the sunshine above the air that reaches the ground, all year",
        **usual(
            CLEAR_SHARE,
            "below published means of German Decembers, 0.22 to 0.49, and taken all year",
        ),
        otherwise="monthly values where the climate preset has them",
    )
    efficiency = number(
        (0.05, 1, ""),
        "charge kept by the battery as a share of rated power × sun hours",
        **usual(EFFICIENCY, _EFFICIENCY_SOURCE),
    )
    tilt_deg = number(
        (0, 90, "°"),
        "tilt of the panel toward the equator; 0 lies flat",
        **usual(0.0, "lying flat on a roof"),
        label="Tilt toward the equator",
        note="0 lies flat, as on a roof.",
        step=5.0,
    )
    shading = number(
        (0, 1, ""),
        "share of the sunshine lost to shade",
        **usual(0.0, "in the open"),
        label="Sunshine lost to shade",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Solar:
    """A flat-lying panel; `charging_a` is the mean current into the battery on each day."""

    panel_w: float
    latitude_deg: float
    efficiency: float
    sun_h: FloatArray  # peak sun hours of each day, shape (days,)
    charging_a: FloatArray  # shape (days,)
    charging_v: float  # of the whole system
    cloud_sd: float = 0.0  # of a day's sunshine as a share of its mean


def solar_from_scenario(ledger: Ledger, site: Site, *, horizon_days: int) -> Solar | None:
    """Return the panel a scenario describes, or None without one.

    Parameters
    ----------
    ledger, site : Ledger, Site
    horizon_days : int
        How far ahead to look. [days]

    Raises
    ------
    ScenarioError
        If a panel is given without a latitude and the climate does not bring one.
    """
    scenario = ledger.scenario
    panel_w = scenario.get(SOLAR.panel_w)
    if not panel_w:
        return None
    climate: str | None = None
    if has_climate(scenario.tables):
        climate = scenario.get_or_default(SITE.climate)
    ledger.note(SOLAR.panel_w, panel_w, "given")
    known = scenario.get(SITE.latitude_deg)
    if climate is not None:
        known = preset("climates", climate, where=SITE.climate).values.get("latitude_deg")
    if scenario.get(SOLAR.latitude_deg) is None and known is None:
        raise ScenarioError(
            f"{scenario.where}: {SOLAR.latitude_deg} is needed, in degrees, north positive: only a "
            f"climate preset and {SITE.latitude_deg} bring it"
        )
    latitude = ledger.take(SOLAR.latitude_deg, known)
    efficiency = ledger.take(SOLAR.efficiency)
    days = [site.parked_from + dt.timedelta(days=day) for day in range(horizon_days)]
    share = _clear_share(ledger, climate, days)
    of_year = np.array([day.timetuple().tm_yday for day in days], dtype=float)
    tilt = ledger.take(SOLAR.tilt_deg)
    shading = ledger.take(SOLAR.shading)
    cloud_sd = ledger.take(UNCERTAINTY.cloud_sd)
    sun_h = peak_sun_hours(latitude, of_year, clear_share=share) * (1.0 - shading)
    sun_h = sun_h * tilt_factor(latitude, of_year, tilt_deg=tilt, clear_share=share)
    # One current flows through both of a pair in series, at twice the voltage.
    in_series = 2 if scenario.get(BATTERY.system) == "24V" else 1
    volts = in_series * CHARGING_V
    daily_ah = panel_ah_per_day(panel_w, sun_h=sun_h, efficiency=efficiency, battery_v=volts)
    return Solar(
        panel_w=panel_w,
        latitude_deg=latitude,
        efficiency=efficiency,
        sun_h=sun_h,
        charging_a=daily_ah / HOURS_PER_DAY,
        charging_v=volts,
        cloud_sd=cloud_sd,
    )


def _clear_share(ledger: Ledger, climate: str | None, days: list[dt.date]) -> FloatArray:
    """Return the clear share of each day: the user's, the climate's monthly one, or cautious."""
    given = ledger.scenario.get(SOLAR.clear_share)
    if given is None and climate in presets("sunshine"):
        entry = presets("sunshine")[climate]
        monthly = np.asarray(entry.values["clear_share"], dtype=float)
        used = sorted({day.month for day in days})
        shown = ", ".join(f"{monthly[month - 1]:.2f}" for month in used)
        ledger.note(
            SOLAR.clear_share,
            f"{shown} (months {', '.join(str(month) for month in used)})",
            "preset",
            f"{entry.name}; {entry.source}",
        )
        return np.asarray(monthly[np.array([day.month - 1 for day in days])])
    share = ledger.take(SOLAR.clear_share)
    if given is None:
        ledger.warn(
            "the sunshine of this place is not known: {share:.2f} of what the sun "
            "sends, a dull northern December's, is taken all year; give {clear_share}",
            share=CLEAR_SHARE,
            clear_share=str(SOLAR.clear_share),
        )
    return np.full(len(days), float(share))
