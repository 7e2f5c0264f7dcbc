"""Invented example files that come with drainsim, for a tour and for tests."""

from importlib import resources


def example_text(name: str) -> str:
    """Return an example file's text."""
    folder = resources.files("drainsim").joinpath("data", "examples")
    return folder.joinpath(name).read_text("utf-8")
