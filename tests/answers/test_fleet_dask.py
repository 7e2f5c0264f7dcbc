"""A fleet spread over a Dask cluster gets the answer one machine gives."""

import dataclasses
import io
from collections.abc import Iterator
from typing import Any

import pandas as pd
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.fleet.fleet_dask import answer_fleet_dask
from drainsim.errors import DrainsimError
from tests.fleet_build import MIXED, SETTINGS, answer_to

dask_frame = pytest.importorskip("dask.dataframe", reason="in the extra dask")
distributed = pytest.importorskip("distributed", reason="in the extra dask")
pytestmark = pytest.mark.filterwarnings("ignore")  # a cluster's own shutdown talks

# Mistakes that only show across partitions: an id again, dates told apart by another row.
LISTED = MIXED + (
    "k;north;flooded;sixty;;;;;;;;;;;;;\n"
    "a;north;flooded;60;;;;;;;;;;;;;\n"
    "l;south;AGM;70;3;0,8;;;0,02;daily;;1,6;petrol;temperate;;02/11/2026;\n"
    "m;south;AGM;70;3;0,8;;;0,02;daily;;1,6;petrol;temperate;;20/11/2026;\n"
)


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """Start a local cluster of two processes."""
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
        ) as local,
        distributed.Client(local) as client,
    ):
        yield client


@pytest.mark.parametrize("partitions", [1, 4])
def test_a_cluster_gives_what_one_machine_gives(cluster: Any, partitions: int) -> None:
    """Every vehicle's line, every row kept aside and the fleet's figures."""
    frame = pd.read_csv(io.StringIO(LISTED), sep=";", dtype=str)
    spread = dask_frame.from_pandas(frame, npartitions=partitions, sort=False)
    found = answer_fleet_dask(spread, SETTINGS, decimal_comma=True, call_out_price=100.0)
    alone = answer_to(LISTED, call_out_price=100.0)
    assert found.vehicles == alone.vehicles
    assert found.problems == alone.problems
    assert found.on_dates == alone.on_dates
    assert found.course == alone.course
    # rtol: sums over parts are taken in another order.
    assert_allclose(found.expected_by_day, alone.expected_by_day, rtol=1e-12)
    for mine, theirs in zip(found.by_depot, alone.by_depot, strict=True):
        assert [dataclasses.replace(g, expected=0.0) for g in mine] == [
            dataclasses.replace(g, expected=0.0) for g in theirs
        ]
        assert_allclose([g.expected for g in mine], [g.expected for g in theirs], rtol=1e-12)


def test_a_frame_without_ids_is_one_sentence(cluster: Any) -> None:
    """The mistake of the list comes back from the workers as such."""
    frame = dask_frame.from_pandas(pd.DataFrame({"colour": ["red"]}), npartitions=1)
    with pytest.raises(DrainsimError, match="no column names the vehicles"):
        answer_fleet_dask(frame, SETTINGS)
