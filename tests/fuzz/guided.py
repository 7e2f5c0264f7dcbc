"""Fuzz one reader guided by code coverage: `python -m tests.fuzz.guided --reader scenario`.

Needs the package atheris (Linux), which watches which branches of drainsim an input takes and
keeps those inputs that take a new one; half of the mutations are ours, half its own. The first
failure ends the run with its trace, and the input is left in the folder given by --save.
"""

import argparse
import random
import sys
import tempfile
from pathlib import Path


def main() -> None:
    """Run from the command line; libFuzzer prints what it did and ends the process."""
    try:
        import atheris
    except ImportError:
        sys.exit("tests.fuzz.guided needs atheris: pip install atheris")
    with atheris.instrument_imports(include=["drainsim"]):
        from tests.fuzz.mutate import LONGEST, mutated
        from tests.fuzz.readers import READERS, outcome

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--reader", choices=READERS, required=True)
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--save", type=Path, default=Path("fuzz_failures"), metavar="DIR")
    options = parser.parse_args()
    reader = READERS[options.reader]
    pool = list(reader.seeds)

    def one(plain: bytes) -> None:
        outcome(reader, reader.wrap(plain))

    def mutate(plain: bytes, most: int, seed: int) -> bytes:
        dice = random.Random(seed)
        if plain and dice.random() < 0.5:
            return mutated(dice, plain, pool)[:most]
        return bytes(atheris.Mutate(plain, most))

    corpus = Path(tempfile.mkdtemp(prefix="drainsim-corpus-"))
    for number, seed in enumerate(reader.seeds):
        (corpus / f"seed{number}").write_bytes(seed)
    options.save.mkdir(parents=True, exist_ok=True)
    atheris.Setup(
        [
            sys.argv[0],
            f"-runs={options.inputs}",
            f"-seed={options.seed}",
            f"-max_len={LONGEST}",
            "-timeout=30",
            "-rss_limit_mb=3000",
            f"-artifact_prefix={options.save}/{options.reader}-",
            str(corpus),
        ],
        one,
        custom_mutator=mutate,
    )
    atheris.Fuzz()


if __name__ == "__main__":
    main()
