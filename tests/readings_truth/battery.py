"""Truth: what a battery rests at, what it loses, what it still cranks; own forms, own spreads.

Written without sight of the estimator. The forms differ from the product's on purpose: resting
voltage comes from the acid (Bode's polynomial over a filling and an empty acid of each make), not
from a table of volts; cranking power falls off with a smooth collapse, not along straight lines.
Sources by kind; "sheet" is the project's list of published values, with its part and section.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Sulphuric acid, share by mass against density at 20 °C: handbook of chemistry, from memory; the
# sheet's three-way check (A 2) gives 11.89, 12.25, 12.67 and 12.87 V for the densities below.
_DENSITY = [1.066, 1.102, 1.139, 1.178, 1.218, 1.260, 1.303, 1.348]
_SHARE = [0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45]
_ACID_KG_PER_MOL = 0.09808
# Cranking power left, army truck manual, table 3 (sheet A 3); -28.9 °C between 20 and 33 %
# (sheet A 3, D 3); -40 °C a like step on.
_POWER_C = [-40.0, -28.9, -17.8, 0.0, 26.7]
_POWER = [0.19, 0.27, 0.40, 0.65, 1.00]
# Power needed, garage chart (sheet A 3); -40 °C a like step on.
_NEED_C = [-40.0, -28.9, -17.8, 0.0, 26.7]
_NEED = [5.8, 3.50, 2.10, 1.55, 1.00]
# Freezing against charge, army truck manual table 2 (sheet A 6).
_FREEZE_CHARGE = [0.0, 0.25, 0.50, 0.75, 1.0]
_FREEZE_C = [-9.4, -15.0, -26.1, -37.2, -59.5]
_RATED_V = 7.5  # left 10 s into the European test at -18 °C (sheet A 1)
_BEFORE_SAG_V = 11.8  # full battery less the drop that comes with any crank: common practice
_CHART_OIL_K = 5.0  # the chart is read as 10W; 5W does at T what 10W does 5 K warmer (J300, B 7)

# share of vehicles; acid full and empty with spread between makes; new cranking A per Ah;
# loss a month at 20 °C (alloy table and motorcycle manual, sheet A 5, D 8)
TYPES: dict[str, dict[str, Any]] = {
    "flooded_calcium": dict(share=0.5, full=(1.271, 0.009), empty=(1.121, 0.013), month=0.035),
    "enhanced_flooded": dict(share=0.2, full=(1.273, 0.009), empty=(1.122, 0.013), month=0.035),
    "agm": dict(share=0.3, full=(1.302, 0.017), empty=(1.112, 0.022), month=0.028),
}


def resting_v(charge: Array, temperature_c: Array, b: dict[str, Array]) -> Array:
    """Return the voltage after an endless rest [V]; arrays broadcast over (..., vehicles).

    V/cell = 1.922 + 0.148 lg m + 0.063 lg² m + 0.074 lg³ m + 0.034 lg⁴ m with the molality m of
    the acid at 25 °C (electrode polynomials as coded in an open BSD-3 parameter set, sheet A 2).
    """
    density = b["acid_empty"] + (b["acid_full"] - b["acid_empty"]) * np.clip(charge, 0, 1)
    share = np.interp(density, _DENSITY, _SHARE)
    x = np.log10(share / (1 - share) / _ACID_KG_PER_MOL)
    cell = 1.922 + 0.148 * x + 0.063 * x**2 + 0.074 * x**3 + 0.034 * x**4
    return 6 * cell + b["volt_per_k"] * (temperature_c - 25)


def margin(charge: Array, temperature_c: Array, b: dict[str, Array]) -> Array:
    """Return the current a battery gives at the least starting voltage over the current needed."""
    power = np.interp(temperature_c, _POWER_C, _POWER) / np.interp(-18.0, _POWER_C, _POWER)
    held = np.clip(charge, 0, 1) ** b["power_exponent"]
    held = held * -np.expm1(-((np.clip(charge, 1e-3, 1) / b["collapse_charge"]) ** 3))
    least = (_BEFORE_SAG_V - b["least_v"]) / (_BEFORE_SAG_V - _RATED_V)
    need = np.exp(np.interp(temperature_c + _CHART_OIL_K + b["oil_k"], _NEED_C, np.log(_NEED)))
    return b["cranking_a"] * power * held * least / (b["warm_need_a"] * need)


def starts(charge: Array, temperature_c: Array, b: dict[str, Array]) -> NDArray[np.bool_]:
    """Say whether an attempt now succeeds: enough current, and acid that is not frozen."""
    frozen = temperature_c < np.interp(charge, _FREEZE_CHARGE, _FREEZE_C)
    return (margin(charge, temperature_c, b) >= 1) & ~frozen


def battery_population(
    rng: np.random.Generator, count: int, mean_c: float
) -> tuple[dict[str, Array], dict[str, Any]]:
    """Return the true batteries and engines, and what a list says of them.

    Parameters
    ----------
    rng : Generator
    count : int
    mean_c : float
        Mean temperature of the place over the year: heat ages. [°C]
    """
    names = list(TYPES)
    kind = rng.choice(len(names), count, p=[TYPES[name]["share"] for name in names])

    def per_type(key: str, sd: float = 0.0) -> Array:
        table = np.array([np.atleast_1d(TYPES[name][key]) for name in names])
        return table[kind, 0] + (table[kind, 1] * rng.standard_normal(count) if sd else 0.0)

    litres = rng.choice([1.0, 1.2, 1.4, 1.6, 2.0, 2.2, 3.0], count)
    diesel = (rng.random(count) < 0.45) & (litres > 1.3)
    # A usual size for the engine, or one beside it.
    usual = np.where(diesel, 58 + 8 * litres, 36 + 14 * litres) * rng.uniform(0.92, 1.18, count)
    label_ah = np.round(usual / 2) * 2
    label_a = np.round(label_ah * 9.6 * np.exp(0.08 * rng.standard_normal(count)) / 10) * 10
    age = rng.uniform(0.3, 7.0, count)
    # Service life 5 years at 20 °C to about 75-80 %, halving per 10 K (trade handbook, sheet A 9),
    # 5 K warmer under a bonnet; a long tail of early failures. Cranking fades later and less.
    hot = 2 ** ((mean_c + 5 - 20) / 10)
    early = rng.standard_normal(count)
    other = 0.5 * early + np.sqrt(0.75) * rng.standard_normal(count)
    fade = 0.043 * hot * age * np.exp(0.55 * early)
    weaker = 0.024 * hot * age * (age / 4) ** 0.5 * np.exp(0.65 * other)
    kept = np.clip(1 - fade + 0.03 * rng.standard_normal(count), 0.35, 1.1)
    strong = np.clip(1 - weaker + 0.04 * rng.standard_normal(count), 0.3, 1.15)
    gain = rng.uniform(1.0, 1.10, count)  # 0 measured, +8 % kinetic model (sheet A 4, C)
    # Textbook: 4 cylinders normally below 100 A, at most 150-185; diesel 180-220 A (sheet B 6):
    # 8 in 10 within 96 to 177 A, a log spread of 0.24, here with heavy tails.
    warm = (95 + 18 * litres) * np.where(diesel, 1.45, 1.0)
    true = {
        "full_ah": label_ah * gain * kept * (1 + 0.05 * rng.standard_normal(count)),
        "acid_full": per_type("full", 1),
        "acid_empty": per_type("empty", 1),
        "volt_per_k": rng.uniform(0.0005, 0.0012, count),  # measured 0.6 to 1.0, theory 1.2 mV/K
        "cranking_a": label_a * strong * (1 + 0.06 * rng.standard_normal(count)),
        "warm_need_a": warm * np.exp(0.19 * rng.standard_t(5, count)),
        "least_v": np.clip(7.5 + 0.35 * rng.standard_normal(count), 6.5, 8.7),
        "oil_k": 4.0 * rng.standard_normal(count),
        "power_exponent": np.clip(1 + 0.12 * rng.standard_normal(count), 0.7, 1.4),
        "collapse_charge": np.clip(0.25 + 0.05 * rng.standard_normal(count), 0.12, 0.4),
        "loss_per_day_20c": per_type("month") / 30 * np.exp(0.45 * rng.standard_normal(count)),
        "loss_per_10k": rng.uniform(1.5, 2.2, count),  # one maker 1.5, army manual 2.06 to 2.28
    }
    says = {
        "battery_type": np.array(names)[kind],
        "capacity_ah": label_ah,
        "cold_cranking_a": np.where(rng.random(count) < 0.8, label_a, np.nan),
        # Age is taken from the date of fitting, which is months off the date of making.
        "battery_age_years": np.where(
            rng.random(count) < 0.85, np.clip(age + 0.3 * rng.standard_normal(count), 0, 20), np.nan
        ),
        "engine_litres": litres,
        "fuel": np.where(diesel, "diesel", "petrol"),
    }
    return true, says
