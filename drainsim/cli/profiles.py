"""`drainsim profiles`: battery types and presets there are to choose from."""

import argparse
from typing import Any

from drainsim.cli.options import (
    Commands,
    add_answer_options,
    add_command,
    add_profiles_option,
    show,
)
from drainsim.files.presets import Preset, presets
from drainsim.files.profile import BatteryProfile, list_profiles, read_profile
from drainsim.language import say
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "profiles",
        "battery profiles and generic units, vehicles and climates",
        example="profiles",
    )
    add_profiles_option(parser)
    add_answer_options(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """List what can be chosen, with every figure's source in the JSON form."""
    found = {key: read_profile(path) for key, path in list_profiles(options.profiles).items()}
    kinds = {kind: presets(kind) for kind in ("units", "vehicles", "climates")}
    show(options, lambda: _document(found, kinds), lambda: _in_words(found, kinds))


def _document(
    found: dict[str, BatteryProfile], kinds: dict[str, dict[str, Preset]]
) -> dict[str, Any]:
    """Return everything, every figure with its source."""
    document: dict[str, Any] = {
        "battery_profiles": {
            key: {
                "name": profile.name,
                "chemistry": profile.chemistry,
                "summary": profile.summary,
                "figures": {
                    name: {"value": f.value, "source": f.source, "grade": f.grade}
                    for name, f in profile.figures.items()
                },
            }
            for key, profile in found.items()
        }
    }
    for kind, entries in kinds.items():
        document[kind] = {
            key: {"name": p.name, "source": p.source, "grade": p.grade, "values": p.values}
            for key, p in entries.items()
        }
    return document


def _in_words(found: dict[str, BatteryProfile], kinds: dict[str, dict[str, Preset]]) -> str:
    """Return the names to choose from."""
    lines = [say("Battery profiles (battery.profile)")]
    lines += [f"  {key:<28}{say(profile.name)}" for key, profile in found.items()]
    for kind, heading, key_path in (
        ("units", say("Generic units"), UNIT.preset),
        ("vehicles", say("Generic vehicles"), VEHICLE.preset),
        ("climates", say("Generic climates"), SITE.climate),
    ):
        lines += ["", f"{heading} ({key_path})"]
        lines += [f"  {key:<28}{say(entry.name)}" for key, entry in kinds[kind].items()]
    return "\n".join(lines)
