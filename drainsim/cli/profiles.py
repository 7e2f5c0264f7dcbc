"""`drainsim profiles`: battery types and presets there are to choose from."""

import argparse
from typing import Any

from drainsim.cli.options import Commands, add_profiles_option, print_json
from drainsim.files.presets import presets
from drainsim.files.profile import list_profiles, read_profile
from drainsim.vehicle.site import SITE
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "profiles", help="battery profiles and generic units, vehicles and climates"
    )
    add_profiles_option(parser)
    parser.add_argument("--json", action="store_true", help="print everything as JSON")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """List what can be chosen, with every figure's source in the JSON form."""
    found = {key: read_profile(path) for key, path in list_profiles(options.profiles).items()}
    kinds = {kind: presets(kind) for kind in ("units", "vehicles", "climates")}
    if options.json:
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
        print_json(document)
        return
    print("Battery profiles (battery.profile)")
    for key, profile in found.items():
        print(f"  {key:<28}{profile.name}")
    for kind, key_path in (
        ("units", UNIT.preset),
        ("vehicles", VEHICLE.preset),
        ("climates", SITE.climate),
    ):
        print(f"\nGeneric {kind} ({key_path})")
        for key, entry in kinds[kind].items():
            print(f"  {key:<28}{entry.name}")
