"""Is this a restraint, braking, steering or emergency circuit? Words are judged in their context.

Never connect there is the rule, so a word counts until its context or the user says otherwise. A
few words have no other meaning on a vehicle: those the user cannot overrule, only rename. Which
words mean what is common practice, no source.
"""

import re
from dataclasses import dataclass
from functools import reduce
from typing import Final

from drainsim.files.circuits import NO, YES, Circuit
from drainsim.language import Message, marked, message

# No other meaning on a vehicle. Words of all seven languages, other than English from memory.
_SURE: Final = re.compile(
    r"air ?-?bag|restraint|\bsrs\b|pr[eé]tens|rollover|\be-?call\b|\bsos\b"
    r"|gurtstraff|r(?:ü|ue)ckhalte|notruf|coussin gonflable|gordelspanner|poduszk\w* pow|napinacz",
    re.IGNORECASE,
)
# Safety unless the context or the user says otherwise.
_LIKELY: Final = re.compile(
    r"belt|occupant|\babs\b|brak|\besp\b|\besc\b|stability|steer|\beps\b|emergency|crash|hazard"
    r"|\bgurt|insassen|brems|lenk(?!zeit)|\bceinture|\bfrein|d[ée]tresse|urgence|direction assist"
    r"|cintur|\bfren[oi]|direcci[oó]n|emergen[cz]|sterzo|gordel|\brem(?:men|licht)\b|handrem|\bstuur"
    r"|noodoproep|pas(?:y|ów)? bezp|hamul|kierownic|awaryjn",
    re.IGNORECASE,
)
# What the word then is, in a name that says so.
_CONTEXTS: Final = (
    (
        re.compile(
            r"hazards?\W*(?:(?:warning|flash\w*|lights?|lamps?|switch|relay|button|indicators?)\W*)+"
            r"|warnblink\w*|feux de d[ée]tresse|luces de emergencia|luci di emergenza"
            r"|alarmlicht\w*|świat\w+ awaryjn\w+",
            re.IGNORECASE,
        ),
        marked("the hazard warning lamps"),
    ),
    (
        re.compile(
            r"(?:drive|fan|timing|alternator|conveyor|\bv)\W*belt|belt\W*(?:drive|conveyor)",
            re.IGNORECASE,
        ),
        marked("a belt that drives something"),
    ),
    (
        re.compile(r"crash\W*(?:bar|guard)\W*(?:lights?|lamps?)", re.IGNORECASE),
        marked("lamps on a guard bar"),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SafetyJudgement:
    """Whether a circuit is refused as a safety circuit, and why; "" where nothing points to it."""

    refused: bool
    why: str


def safety_judgement(circuit: Circuit) -> SafetyJudgement:
    """Return whether a circuit is one that nobody taps, from class, answer and name.

    Examples
    --------
    >>> safety_judgement(Circuit(name="Hazard switch", kind="always_hot")).refused
    False
    >>> safety_judgement(Circuit(name="Brake module", kind="always_hot")).refused
    True
    """
    if circuit.kind == "safety":
        return SafetyJudgement(refused=True, why=message("its class is safety"))
    if circuit.safety_circuit == YES:
        return SafetyJudgement(refused=True, why=message("the table calls it a safety circuit"))
    sure = _SURE.search(circuit.name)
    if sure:
        return SafetyJudgement(
            refused=True,
            why=message(
                "its name says {word}, which has no other meaning on a vehicle (give it its right "
                "name if that is wrong)",
                word=repr(sure.group(0)),
            ),
        )
    left, read_as = circuit.name, []
    for pattern, meaning in _CONTEXTS:
        found = pattern.search(left)
        if found:
            word = repr(found.group(0).strip())
            read_as.append(
                message("{word} in its name read as {meaning}", word=word, meaning=message(meaning))
            )
            left = pattern.sub(" ", left)
    likely = _LIKELY.search(left)
    if likely is None:
        return SafetyJudgement(refused=False, why=reduce(_both, read_as) if read_as else "")
    word = repr(likely.group(0))
    if circuit.safety_circuit == NO:
        return SafetyJudgement(
            refused=False,
            why=message(
                "its name says {word}, but the table says it is no safety circuit", word=word
            ),
        )
    return SafetyJudgement(
        refused=True,
        why=message(
            "its name says {word}, as a restraint, braking, steering or emergency circuit does; if "
            "the maker's wiring diagram shows that it is none, write no under safety_circuit",
            word=word,
        ),
    )


def _both(one: Message, other: Message) -> Message:
    return message("{one} and {other}", one=one, other=other)
