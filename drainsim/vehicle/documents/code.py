"""A scenario as a short code for paper: typed in or pasted, it gives the same scenario back.

The code is the scenario's TOML, deflated with a fixed dictionary (format `D1`); zlib's checksum
finds a misread letter. Change the dictionary only with a new format letter.
"""

import base64
import binascii
import datetime as dt
import zlib
from dataclasses import dataclass
from typing import Final

from drainsim.errors import ScenarioError
from drainsim.files.formats import code_is_newer
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_text

_PREFIX: Final = "D1-"  # format 1: TOML, deflated with the dictionary below, base64url
_LONGEST_CODE: Final = 20_000
_LONGEST_TEXT: Final = 200_000
# Text that most scenarios contain, so that the code need not. Part of format 1: never change
# it, add a format instead.
_DICTIONARY: Final = b"""
wake_ups = []
key_off_stages = [{ duration_s = 60.0, current_a = 3.0 }]
ladder = [{ below_v = 12.2, report_interval_h = 6.0 }, { below_v = 12.0, report_interval_h = 24.0 }]
other = [{ name = "maintainer", current_a = -0.5 }]
[uncertainty]
quiescent_sigma = 0.35
unit_sigma = 0.25
[run]
horizon_days = 180
draws = 1000
seed = 1
[solar]
panel_w = 10.0
latitude_deg = 52.0
clear_share = 0.35
[site]
temperature_c = 10.0
climate = "humid_subtropical"
climate = "continental"
climate = "temperate"
parked_from = 2026-12-01
start_hour = 7
[vehicle]
quiescent_a = 0.03
engine_litres = 2.0
fuel = "diesel"
fuel = "petrol"
cranking_demand_a = 150.0
preset = "panel_van_diesel"
preset = "compact_petrol"
[unit]
preset = "hourly_with_ladder"
preset = "hourly"
sleep_a = 0.004
report_interval_h = 1.0
report_charge_as = 7.0
peak_a = 0.25
supply = "switching"
rated_at_v = 12.0
cutoff_v = 11.5
[battery]
profile = "enhanced_flooded"
profile = "agm"
profile = "flooded_calcium"
capacity_ah = 60.0
cold_cranking_a = 540.0
cranking_standard = "EN"
age_years = 3.0
state_of_charge = 0.85
resting_voltage_v = 12.5
# drainsim 0.1.0 days=90 risk=0.05 when=on_day date=2026-12-01
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CodedQuestion:
    """What a code holds: the scenario and what was asked of it, and when by which version."""

    scenario: Scenario
    days: int
    risk: float
    when: str
    date: dt.date
    version: str


def encode_question(question: CodedQuestion) -> str:
    """Return a question as a code of letters, digits, - and _.

    Weather files stay outside: the code only names them.
    """
    heading = (
        f"# drainsim {question.version} days={question.days} risk={question.risk!r} "
        f"when={question.when} date={question.date.isoformat()}\n"
    )
    packer = zlib.compressobj(9, zlib.DEFLATED, 15, 9, zlib.Z_DEFAULT_STRATEGY, _DICTIONARY)
    packed = packer.compress((heading + question.scenario.to_toml()).encode()) + packer.flush()
    return _PREFIX + base64.urlsafe_b64encode(packed).decode().rstrip("=")


def decode_question(code: str) -> CodedQuestion:
    """Return the question in a code; spaces and line breaks do not matter.

    Raises
    ------
    ScenarioError
        If it is no such code, or a letter of it is wrong.
    """
    bare = "".join(code.split())
    if code_is_newer(bare, _PREFIX):
        raise ScenarioError("scenario code: written by a newer drainsim; update drainsim")
    if not bare.startswith(_PREFIX):
        raise ScenarioError(f"scenario code: it begins with {_PREFIX}; got {bare[:10]!r}")
    if len(bare) > _LONGEST_CODE:
        raise ScenarioError(
            f"scenario code: {len(bare)} characters are too long; at most {_LONGEST_CODE}"
        )
    body = bare.removeprefix(_PREFIX)
    try:
        packed = base64.b64decode(body + "=" * (-len(body) % 4), altchars=b"-_", validate=True)
        unpacker = zlib.decompressobj(15, _DICTIONARY)
        raw = unpacker.decompress(packed, _LONGEST_TEXT)
        whole = unpacker.eof and not unpacker.unused_data
        text = raw.decode()
    except (binascii.Error, zlib.error, ValueError):
        whole = False
    if not whole:
        raise ScenarioError("scenario code: a character is wrong or missing; copy it once more")
    heading, _, rest = text.partition("\n")
    words = heading.removeprefix("# drainsim ").split()
    stated = dict(word.split("=", 1) for word in words[1:] if "=" in word)
    try:
        return CodedQuestion(
            scenario=scenario_from_text(rest, where="scenario code"),
            days=int(stated["days"]),
            risk=float(stated["risk"]),
            when=stated["when"],
            date=dt.date.fromisoformat(stated["date"]),
            version=words[0],
        )
    except (KeyError, IndexError, ValueError) as error:
        if isinstance(error, ScenarioError):
            raise
        raise ScenarioError("scenario code: it holds no question; copy it once more") from None
