"""How many days can this vehicle stand before it will not start, and what changes the answer.

>>> import drainsim
>>> answer = drainsim.park(battery={"capacity_ah": 60}, site={"temperature_c": 10})
>>> answer.days_to_no_start.p10 < answer.days_to_no_start.p50
True
"""

__version__ = "0.2.0"

from drainsim.api import fleet, park, storage, sweep, week
from drainsim.errors import DrainsimError
from drainsim.figures.budget import budget_figure
from drainsim.figures.course import course_figure
from drainsim.figures.risk import risk_figure
from drainsim.figures.swing import swing_figure

__all__ = [
    "DrainsimError",
    "budget_figure",
    "course_figure",
    "fleet",
    "park",
    "risk_figure",
    "storage",
    "sweep",
    "swing_figure",
    "week",
]
