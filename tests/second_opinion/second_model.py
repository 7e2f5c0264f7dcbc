"""A second model of days until no-start, from published tables alone.

Written without sight of the product's code, profiles or tests, and never tuned to its answers. It
is rough on purpose: daily steps, one curve for each effect, the tables' own numbers. Where sources
disagree the choice is said beside the number. Sources are named by kind; "sheet A 3" is the
project's own list of published values, part and section.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Cranking power left, army truck manual table 3 (sheet A 3): 65 % at 0 °C, 40 % at -17.8 °C of
# 26.7 °C. At -28.9 °C three charts print 20, 25 and 30 % and measured resistance allows at most
# 33 % (sheet D 3: x1.62 at -30 against x1.35 at -18 °C): 27 %. At -40 °C the same factor again,
# 18 %, below the 30 % that resistance alone allows.
POWER_C = [-40.0, -28.9, -17.8, 0.0, 26.7]
POWER = [0.18, 0.27, 0.40, 0.65, 1.00]
# Engine demand, garage chart (sheet A 3), share of the warm demand. Its oil is taken as 10W: a
# usual battery then fails near -25 °C, where SAE J300 ends that grade. Colder: the same factor.
DEMAND_C = [-40.0, -28.9, -17.8, 0.0, 26.7]
DEMAND = [5.83, 3.50, 2.10, 1.55, 1.00]
# SAE J300 cranking limits step 5 K a grade: 0W -35, 5W -30, 10W -25, 15W -20 °C (sheet B 7): a
# grade of n W asks at T what 10W asks at T + 10 - n.
# Freezing point against charge, army truck manual table 2 (sheet A 6).
FREEZE_CHARGE = [0.0, 0.25, 0.50, 0.75, 1.0]
FREEZE_C = [-9.4, -15.0, -26.1, -37.2, -59.5]
# Self-discharge a month at 20 °C: calcium between 3 % (alloy table, sheet A 5) and 5 % at 25 °C
# (motorcycle battery manual, sheet D 8); AGM 3 % (alloy table). Doubles per 10 K (army manual).
SELF_PER_MONTH = {"flooded": 0.04, "agm": 0.03}
# Charge acceptance: half at 0, a tenth at -18 °C of that at 25 °C (sheet A 7, from memory).
ACCEPT_C, ACCEPT = [-18.0, 0.0, 25.0], [0.1, 0.5, 1.0]
LOW_RATE = 1.05  # charge below C/100 over C20: measured 0 %, kinetic model +8 % (sheet A 4, C)
MONTH_MID = np.array([15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349])


def warm_demand_a(litres: float, fuel: str) -> float:
    """Return the starter current of the warm engine [A]; a truck's diesel at 24 V."""
    # Workshop textbook (sheet B 6): normal and limit 100/150 A (4), 125/160 A (6), 150/185 A (8
    # cylinders): their middles at 2.0, 3.2 and 5.0 l. Diesel: lift truck 180 to 220 A, x1.4.
    # Heavy diesel 30 A/l: "well over 1,000 A cold" holds, and the published start limit of trucks,
    # -15 to -20 °C (sheet B 7), within 1 K. Motorcycle: 60 A at 125, 100 at 250, 150 at 600 cm³
    # (sheet D 4, weak).
    car = 97 + 14 * litres
    motorcycle = 60 * (litres / 0.125) ** 0.6
    return {"petrol": car, "diesel": 1.4 * car, "truck": 30 * litres, "motorcycle": motorcycle}[
        fuel
    ]


def available_share(battery_c: Array, charge: Array) -> Array:
    """Return the current at the least voltage a start needs, over the rating at -18 °C."""
    # The rating ends at 7.5 V (EN, sheet A 1); the solenoid needs 8 V behind up to 1 V of control
    # circuit (sheet B 7): 8.5 V at the battery. Power follows charge: army roller manual table IV
    # (to 50 %); in the last third the acid in the plates runs out, so the square of it.
    voltage = (12.65 - 8.5) / (12.65 - 7.5)
    share = np.clip(charge, 0, 1) * np.clip(3 * charge, 0, 1)
    return voltage * np.interp(battery_c, POWER_C, POWER) / 0.40 * share


def monthly(values: Any, day_of_year: Array) -> Array:
    """Return a month's value on a day of the year, straight between mid-months."""
    return np.interp(day_of_year, MONTH_MID, values, period=365)


def sun_hours(day_of_year: Array, latitude_deg: float) -> Array:
    """Return the sunshine above the air on a level square metre [kWh/d], textbook astronomy."""
    tilt = np.radians(23.45 * np.sin(2 * np.pi * (284 + day_of_year) / 365))
    at = np.radians(latitude_deg)
    half_day = np.arccos(np.clip(-np.tan(at) * np.tan(tilt), -1, 1))
    lit = np.cos(at) * np.cos(tilt) * np.sin(half_day) + half_day * np.sin(at) * np.sin(tilt)
    return 24 / np.pi * 1.361 * (1 + 0.033 * np.cos(2 * np.pi * day_of_year / 365)) * lit


def charge_after_driving(s: dict[str, Any], full_ah: float, day: float) -> float:
    """Return the charge that 26 weeks of the same short trips leave at parking."""
    charge = 0.85
    hours = s["trips_per_week"] * s["trip_minutes"] / 60
    for week in range(26, 0, -1):
        at = np.array(day - 7 * week)
        mean = (monthly(s["lows"], at) + monthly(s["highs"], at)) / 2
        # IEC acceptance test (sheet A 1): at half charge and 0 °C at least 2 x C20/10.
        takes = 0.2 * s["ah"] * (1 - charge) / 0.5 * np.interp(mean, ACCEPT_C, ACCEPT) / 0.5
        # Alternator share 33 % at idle, 85 % above (measured, sheet B 6); a quarter at idle.
        spare = [s["alternator_a"] * share - s["driving_a"] for share in (0.33, 0.85)]
        into = 0.25 * min(takes, spare[0]) + 0.75 * min(takes, spare[1])
        gain = hours * into * (0.85 if into > 0 else 1)  # coulombic efficiency (sheet A 7)
        lost = 168 * (s["quiescent_a"] + s["unit_a"]) + 0.07 * s["trips_per_week"]  # starts, B 6
        lost += full_ah * SELF_PER_MONTH[s["type"]] * 7 / 30 * 2 ** ((mean - 20) / 10)
        charge = float(np.clip(charge + (gain - lost) / full_ah, 0, 1))
    return charge


def days_until_no_start(s: dict[str, Any], horizon: int = 180, draws: int = 1000) -> Array:
    """Return P10, P50 and P90 of the days until the start hour fails; inf beyond the horizon."""
    rng = np.random.default_rng(20)

    def spread(relative: float) -> Array:
        return np.exp(relative * rng.standard_normal(draws))

    # Service life 5 years at 20 °C (trade handbook, sheet A 9) down to 80 % (convention); starting
    # batteries keep their cranking current longer than their capacity: half the fade.
    fade = 0.2 * s["age"] / 5
    # Of two in series the weaker decides. Spreads: common practice, no source.
    twice = spread(0.08) if s["fuel"] != "truck" else np.minimum(spread(0.08), spread(0.08))
    full_ah = s["ah"] * LOW_RATE * (1 - fade) * twice
    rated_a = s["cca"] * (1 - fade / 2) * twice
    demand_a = warm_demand_a(s["litres"], s["fuel"]) * spread(0.20)
    quiescent_a, first = s["quiescent_a"] * spread(0.15), s["day_of_year"]
    start = s["charge"]
    if start is None:
        start = charge_after_driving(s, float(np.median(full_ah)), first)
    charge = np.clip(start + 0.07 * rng.standard_normal(draws), 0.02, 1)
    weather = rng.standard_normal(draws)
    days = np.full(draws, np.inf)
    motorcycle = 0.42 if s["fuel"] == "motorcycle" else 1.0  # 250 cm³: 100 A, 120 in winter (D 4)
    # A battery that follows the air with a lag of hours sees a smaller swing, later; the air's
    # lowest at 06:00.
    turn = 2 * np.pi / 24 * s["lag_h"]
    swing = np.cos((s["start_hour"] - 6) * np.pi / 12 - np.arctan(turn)) / np.hypot(1, turn)
    for day in range(horizon + 1):
        low, high = (monthly(s[key], np.array(first + day)) for key in ("lows", "highs"))
        battery_c = (low + high) / 2 - (high - low) / 2 * swing + s["weather_sd_c"] * weather
        weather = 0.7 * weather + np.sqrt(1 - 0.49) * rng.standard_normal(draws)
        ratio = np.interp(battery_c + 10 - s["oil_w"], DEMAND_C, DEMAND) ** motorcycle
        dead = rated_a * available_share(battery_c, charge) < demand_a * ratio
        dead |= battery_c < np.interp(charge, FREEZE_CHARGE, FREEZE_C)
        days = np.where(dead & np.isinf(days), day, days)
        lost = 24 * (quiescent_a + s["unit_a"])
        lost = lost + full_ah * SELF_PER_MONTH[s["type"]] / 30 * 2 ** ((battery_c - 20) / 10)
        # Panel sizing rule (sheet B 6): W x sun hours x 0.6 / 13 V.
        sun = s["clear_share"] * sun_hours(np.array(first + day), s["latitude"])
        charge = np.clip(charge + (s["panel_w"] * sun * 0.6 / 13 - lost) / full_ah, 0, 1)
    return np.quantile(days, [0.1, 0.5, 0.9], method="nearest")
