"""Fuzz whole answers: `python -m tests.fuzz.answers --question week --inputs 10000 --seed 1`.

Half of the inputs are scenario files changed as bytes, half are scenarios of allowed values at
their limits and anywhere between. Each must end in an answer that is valid JSON or in one
sentence, within three seconds of processor time.
"""

import argparse
import json
import random
import signal
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable
from types import FrameType
from typing import Any, Final

from drainsim.answers.driving.week import week
from drainsim.answers.fleet.ageing_list import ageing_of
from drainsim.answers.standing.park import park
from drainsim.answers.storage.answer import storage
from drainsim.answers.storage.risk import StandQuestion
from drainsim.errors import DrainsimError
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.parameter import Parameter, Table
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict, scenario_from_text
from drainsim.vehicle.keys.schema import SCENARIO
from tests.fuzz.mutate import mutated
from tests.fuzz.readers import LONGEST_SENTENCE, READERS

MOST_CPU_S: Final = 3.0  # on a quiet machine; a busy one counts more for the same work
Random = random.Random


def _storage(scenario: Scenario, rng: Random) -> dict[str, Any]:
    question = StandQuestion(
        scenario=scenario,
        days=rng.choice((1, 14, 30, 90, 180, 365, 730)),
        risk=rng.choice((0.001, 0.05, 0.5)),
        when=rng.choice(("on_day", "every_day", "any_time")),
    )
    return storage(question).as_dict()


QUESTIONS: Final[dict[str, Callable[[Scenario, Random], dict[str, Any]]]] = {
    "park": lambda scenario, rng: park(resolve(scenario)).as_dict(),
    "week": lambda scenario, rng: week(resolve(scenario)).as_dict(),
    "storage": _storage,
    "age": lambda scenario, rng: ageing_of(scenario, winters=rng.choice((1, 5, 15))).as_dict(),
}


def _value(rng: Random, field: Parameter) -> Any:
    if field.kind == "choice":
        return rng.choice(list(field.choices))
    if field.kind in {"number", "integer"}:
        low, high = max(field.low, -1e6), min(field.high, 1e6)
        roll = rng.random()
        if roll < 0.3:
            found = rng.choice((low, high))
        elif roll < 0.6 and high > 0:
            least = max(low, high * 1e-6)
            found = least * (high / least) ** rng.random()
        else:
            found = rng.uniform(low, high)
        return round(found) if field.kind == "integer" else found
    if field.kind == "date":
        return field.example
    texts = {
        "profile": ("agm", "flooded_calcium", "gel", "lithium_iron_phosphate_12v"),
        "second_profile": ("agm", "flooded_calcium", "gel"),
        "climate": ("temperate", "subarctic", "hot_desert"),
        "start": ("07:30", "00:00", "17:05", "23:59"),
        "days": ("daily", "Mon-Fri", "Sat", "Mon,Wed"),
        "name": ("x",),
    }
    preset = {"unit": ("hourly", "daily"), "vehicle": ("compact_petrol", "panel_van_diesel")}
    return rng.choice(texts.get(field.key, sum(preset.values(), ())))


def _entries(rng: Random, table: Table, *, share: float) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for field in table.fields:
        if field.key in {"epw", "hourly_csv", "keys"}:
            continue
        if field.key in table.required or rng.random() < share:
            found[field.key] = _value(rng, field)
    if "preset" in found:
        presets = ("hourly", "daily") if table.name == "unit" else ("compact_petrol",)
        found["preset"] = rng.choice(presets)
    for inner in table.tables:
        if rng.random() < share / 2:
            rows = [_entries(rng, inner, share=share) for _ in range(rng.choice((1, 1, 2, 8)))]
            found[inner.name] = rows if inner.repeated else rows[0]
    return found


def extreme(rng: Random, *, driven: bool) -> dict[str, Any]:
    """Return tables of allowed values, most keys left out; not all of them go together."""
    share = rng.choice((0.03, 0.1, 0.25))
    tables: dict[str, Any] = {"battery": {"capacity_ah": 60}}
    for table in SCENARIO.tables:
        if table.name == "measured":
            continue
        if table.name == "battery" or rng.random() < 0.35 or (driven and table.name == "pattern"):
            found = _entries(rng, table, share=share)
            if table.name == "battery":
                tables["battery"] |= found
            elif table.repeated:
                tables[table.name] = [found]
            else:
                tables[table.name] = found
    return tables


def _scenario(rng: Random, driven: bool) -> tuple[str, Callable[[], Scenario]]:
    if rng.random() < 0.5:
        seeds = READERS["scenario"].seeds
        content = mutated(rng, rng.choice(seeds), seeds).decode("utf-8", "replace")
        return content, lambda: scenario_from_text(content, where="fuzz.toml")
    tables = extreme(rng, driven=driven)
    if "system" not in tables["battery"]:
        for key in [k for k in tables["battery"] if k.startswith("second_") or k == "isolator"]:
            del tables["battery"][key]
    tables.setdefault("run", {}).setdefault("draws", 100)
    return repr(tables), lambda: scenario_from_dict(tables)


def _too_slow(signum: int, frame: FrameType | None) -> None:
    raise TimeoutError("no answer within the processor time allowed")


def try_one(name: str, seed: int, *, limit_s: float = 0.0) -> tuple[str, str]:
    """Return the outcome of one input and the input; other exceptions are raised.

    Raises
    ------
    AssertionError
        If a refusal is not one printable sentence.
    """
    rng = random.Random(f"{name} {seed}")
    shown, made = _scenario(rng, driven=name in {"week", "age"})
    try:
        if limit_s:
            signal.setitimer(signal.ITIMER_PROF, limit_s)
        answer = QUESTIONS[name](made(), rng)
        json.dumps(answer, allow_nan=False)
    except DrainsimError as error:
        sentence = str(error)
        assert sentence.isprintable(), sentence
        assert 10 <= len(sentence) < LONGEST_SENTENCE, sentence
        return "refused", shown
    except Exception as error:
        error.add_note(f"input {seed}: {shown[:1500]}")
        raise
    finally:
        if limit_s:
            signal.setitimer(signal.ITIMER_PROF, 0.0)
    return "answered", shown


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--question", choices=[*QUESTIONS, "all"], default="all")
    parser.add_argument("--inputs", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=MOST_CPU_S, help="of processor time")
    options = parser.parse_args()
    signal.signal(signal.SIGPROF, _too_slow)
    failed = False
    for name in QUESTIONS if options.question == "all" else [options.question]:
        outcomes: Counter[str] = Counter()
        slowest, slowest_seed = 0.0, 0
        for seed in range(options.seed, options.seed + options.inputs):
            began = time.process_time()
            try:
                outcomes[try_one(name, seed, limit_s=options.seconds)[0]] += 1
            except Exception as error:
                failed = True
                outcomes[type(error).__name__] += 1
                text = "".join(traceback.format_exception(error, limit=-4))
                print(f"{name} {seed}: {text}", file=sys.stderr, flush=True)
            took = time.process_time() - began
            if took > slowest:
                slowest, slowest_seed = took, seed
            if seed % 200 == 0:
                print(f"{name} {seed} {dict(outcomes)} slowest {slowest:.2f} s", flush=True)
        print(f"{name}: {dict(outcomes)}; slowest {slowest:.2f} s (seed {slowest_seed})")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
