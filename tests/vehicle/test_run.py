"""How far ahead and how many draws one answer takes."""

import pytest

from drainsim.errors import ScenarioError
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict
from drainsim.vehicle.run import MOST_DRAW_DAYS


def test_more_draws_over_more_days_than_seconds_allow_are_refused_not_cut() -> None:
    """Each limit alone is allowed; together they would take minutes."""
    for days in (180, 730):
        most = MOST_DRAW_DAYS // days
        tables = {"battery": {}, "run": {"horizon_days": days, "draws": most}}
        assert resolve(scenario_from_dict(tables)).draws == most
        tables["run"]["draws"] = most + 1
        with pytest.raises(ScenarioError, match=f"at most {most} draws"):
            resolve(scenario_from_dict(tables))
