"""The command line: words in, words out; every answer comes from `drainsim.answers`."""

from drainsim.cli.main import main

__all__ = ["main"]
