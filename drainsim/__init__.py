"""How many days can this vehicle stand before it will not start, and what changes the answer.

>>> import drainsim
>>> answer = drainsim.park(battery={"capacity_ah": 60}, site={"temperature_c": 10})
>>> answer.days_to_no_start.p10 < answer.days_to_no_start.p50
True
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from drainsim.errors import DrainsimError

if TYPE_CHECKING:
    from drainsim.api import fleet, forecast, known, park, storage, sweep, week
    from drainsim.figures.budget import budget_figure
    from drainsim.figures.course import course_figure
    from drainsim.figures.risk import risk_figure
    from drainsim.figures.swing import swing_figure

__version__ = "0.2.0"

__all__ = [
    "DrainsimError",
    "budget_figure",
    "course_figure",
    "fleet",
    "forecast",
    "known",
    "park",
    "risk_figure",
    "storage",
    "sweep",
    "swing_figure",
    "week",
]


def __getattr__(name: str) -> Any:
    """Import a public name when it is first used: pandas and plotly take half a second."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    figure = name.removesuffix("_figure")
    home = "drainsim.api" if figure == name else f"drainsim.figures.{figure}"
    return getattr(import_module(home), name)


def __dir__() -> list[str]:
    """List the public names, imported or not."""
    return __all__
