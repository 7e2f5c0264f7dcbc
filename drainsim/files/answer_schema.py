"""JSON Schema of the answers that commands print with --json, from one table of their keys."""

import tomllib
from importlib import resources
from typing import Any, Final

from drainsim.errors import DrainsimError
from drainsim.files.reading import nearest

_TYPES: Final = {
    "number": "number",
    "text": "string",
    "boolean": "boolean",
    "table": "object",
    "list": "array",
}
_OPTIONAL: Final = "optional"  # keys that not every answer of a command has


def answer_commands() -> tuple[str, ...]:
    """Return the commands whose answers have a schema."""
    return tuple(_keys())


def answer_schema(command: str) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a command's answer.

    Raises
    ------
    DrainsimError
        If the command answers nothing in JSON; names the nearest that does.
    """
    known = _keys()
    if command not in known:
        raise DrainsimError(f"schema {command[:60]!r}: {nearest(command[:60], known)}")
    keys = dict(known[command])
    optional = keys.pop(_OPTIONAL, [])
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"drainsim {command} --json",
        "description": "null: not known, or beyond the horizon",
        "type": "object",
        "properties": {
            "drainsim_version": {"type": "string"},
            **{key: _schema_of(kind) for key, kind in keys.items()},
        },
        "required": ["drainsim_version", *(key for key in keys if key not in optional)],
    }


def _schema_of(kind: Any) -> dict[str, Any]:
    """Return the schema of a value from its kind: a word, a table of kinds, a list of one."""
    if isinstance(kind, dict):
        properties = {key: _schema_of(one) for key, one in kind.items()}
        return {"type": "object", "properties": properties}
    if isinstance(kind, list):
        return {"type": "array", "items": _schema_of(kind[0])}
    word = str(kind)
    if word == "any?":
        return {}
    name = _TYPES[word.removesuffix("?")]
    return {"type": [name, "null"] if word.endswith("?") else name}


def _keys() -> dict[str, dict[str, Any]]:
    text = resources.files("drainsim").joinpath("data", "answer_keys.toml").read_text("utf-8")
    return tomllib.loads(text)
