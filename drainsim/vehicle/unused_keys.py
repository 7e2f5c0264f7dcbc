"""Keys that mean nothing without another one: said in a warning, never dropped silently."""

from typing import Final

from drainsim.files.presets import preset
from drainsim.vehicle.ledger import Ledger

# Key → the one it needs. A preset may bring the needed one.
_NEEDS: Final = {
    "battery.cranking_standard": "battery.cold_cranking_a",
    "battery.rested_h": "battery.resting_voltage_v",
    "battery.resting_temperature_c": "battery.resting_voltage_v",
    "unit.heartbeat_charge_as": "unit.heartbeat_interval_h",
    "unit.heartbeat_interval_h": "unit.heartbeat_charge_as",
    "unit.backup_charge_a": "unit.backup_charge_h",
    "unit.backup_charge_h": "unit.backup_charge_a",
    "unit.resume_v": "unit.cutoff_v",
    "unit.off_a": "unit.cutoff_v",
}


def warn_of_unused(ledger: Ledger) -> None:
    """Warn of every given value that no answer will use."""
    get = ledger.scenario.get
    chosen = get("unit", "preset")
    brought = preset("units", chosen, where="unit.preset").values if chosen else {}
    for name, needed in _NEEDS.items():
        table, _, key = name.partition(".")
        needed_key = needed.partition(".")[2]
        lacking = get(table, needed_key) is None and not (table == "unit" and needed_key in brought)
        if get(table, key) and lacking:
            ledger.warn(f"{name} is not used: it needs {needed}")
    if get("pattern", "trip_minutes") is not None and get("pattern", "trips") is not None:
        ledger.warn("pattern.trip_minutes is not used: the trips are listed with their own minutes")
    if get("pattern", "smart_charge") is not None and get("pattern", "regulation") != "smart":
        ledger.warn("pattern.smart_charge is not used: it needs pattern.regulation = 'smart'")
    driving = ledger.scenario.has("pattern")
    for name in (
        "maintainer.between_trips",
        "battery.second_charging_a",
        "battery.second_charging_drop_v",
    ):
        if get(*name.split(".")) is not None and not driving:
            ledger.warn(f"{name} is not used: it needs a [pattern] of driving")
    for key in ("second_charging_a", "second_charging_drop_v"):
        if get("battery", key) is not None and get("unit", "fed_from") != "auxiliary":
            ledger.warn(f"battery.{key} is not used: it needs unit.fed_from = 'auxiliary'")
