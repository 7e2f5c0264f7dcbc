"""What an answer assumed, as JSON-ready data."""

from typing import Any

from drainsim.vehicle.case import Case


def assumptions_of(case: Case) -> list[dict[str, Any]]:
    """Return every value used, with its unit, origin and source."""
    return [{**item.as_dict(), "value": _plain(item.value)} for item in case.assumptions]


def _plain(value: Any) -> Any:
    """Return a value that JSON can hold."""
    return value if isinstance(value, bool | int | float | str | list | dict | None) else str(value)
