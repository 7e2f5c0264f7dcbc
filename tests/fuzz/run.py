"""Fuzz readers: `python -m tests.fuzz.run --reader scenario --inputs 100000 --seed 1`.

A mutated input whose outcome is new (another sentence, numbers and names taken out) joins the
seeds, so that later mutations reach further. Every failure is printed once, with an input that
shows it; the exit code says whether there was one.
"""

import argparse
import random
import re
import signal
import sys
import time
import traceback
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

from tests.fuzz.mutate import mutated
from tests.fuzz.readers import READERS, Reader, outcome

_MOST_SEEDS = 500
_LONGEST_S = 3.0  # of processor time: a reader that takes longer for 20 kB hangs
_PARTICULARS = re.compile(r"'[^']*'|\"[^\"]*\"|\d[\d.,e+-]*")


@dataclass(slots=True)
class Report:
    """What a run found: failures by where they arose, each with its first input."""

    tried: int = 0
    seconds: float = 0.0
    outcomes: set[str] = field(default_factory=set)
    failures: dict[str, tuple[bytes, str]] = field(default_factory=dict)


def inputs(reader: Reader, rng: random.Random, outcomes: set[str]) -> Iterator[bytes]:
    """Yield mutated inputs without end; those that gave a new outcome are mutated further."""
    pool = list(reader.seeds)
    while True:
        plain = mutated(rng, rng.choice(pool), pool)
        content = reader.wrap(plain)
        if reader.wrap is not bytes and rng.random() < 0.2:  # the wrapping is hostile, too
            content = mutated(rng, content, [content])
        known = len(outcomes)
        yield content
        if len(outcomes) > known and len(pool) < _MOST_SEEDS and plain:
            pool.append(plain)


def _where(error: BaseException) -> str:
    """Return what failed and where in our code: one name per failure."""
    raised = error.__context__ or error
    frames = [f for f in traceback.extract_tb(raised.__traceback__) if "/drainsim/" in f.filename]
    place = f"{Path(frames[-1].filename).name}:{frames[-1].name}" if frames else "harness"
    words = _PARTICULARS.sub("", str(error))[:40]
    return f"{type(error).__name__} in {place} {words}"


def fuzz(reader: Reader, *, tries: int, seed: int, alarm: bool = False) -> Report:
    """Try mutated inputs; return what was found."""
    report, rng = Report(), random.Random(seed)
    began = time.monotonic()
    for content in inputs(reader, rng, report.outcomes):
        if report.tried >= tries:
            break
        report.tried += 1
        if alarm:
            signal.setitimer(signal.ITIMER_PROF, _LONGEST_S)
        try:
            report.outcomes.add(_PARTICULARS.sub("", outcome(reader, content)[:200]))
        except KeyboardInterrupt:
            raise
        except BaseException as error:
            name = _where(error)
            report.failures.setdefault(name, (content, traceback.format_exc(limit=-6)))
            report.outcomes.add(name)
    signal.setitimer(signal.ITIMER_PROF, 0)
    report.seconds = time.monotonic() - began
    return report


def _too_slow(signum: int, frame: FrameType | None) -> None:
    raise TimeoutError(f"no outcome within {_LONGEST_S:g} s of processor time")


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--reader", choices=[*READERS, "all"], default="all")
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--save", type=Path, metavar="DIR", help="write failing inputs here")
    options = parser.parse_args()
    signal.signal(signal.SIGPROF, _too_slow)
    failed = False
    for name in READERS if options.reader == "all" else [options.reader]:
        report = fuzz(READERS[name], tries=options.inputs, seed=options.seed, alarm=True)
        print(
            f"{name:14} {report.tried:8} inputs  {len(report.outcomes):4} different outcomes  "
            f"{len(report.failures):3} failures  {report.seconds:7.0f} s",
            flush=True,
        )
        for number, (failure, (content, trace)) in enumerate(report.failures.items(), start=1):
            print(f"  {failure}\n    {content[:200]!r}\n{trace}", file=sys.stderr, flush=True)
            if options.save:
                options.save.mkdir(parents=True, exist_ok=True)
                (options.save / f"{name}-{number}").write_bytes(content)
        failed = failed or bool(report.failures)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
