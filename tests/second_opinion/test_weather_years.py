"""The main answer through real typical years, against the same place's monthly normals."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.evidence import stored
from tests.second_opinion import weather_years

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def compared() -> dict[str, object]:
    """Return the comparison as computed now."""
    if weather_years.data_folder() is None:
        pytest.fail("pvlib is not installed; it is in the extra test")
    return weather_years.compare()


@pytest.mark.nightly
def test_the_stored_comparison_is_what_comes_out_today(compared: dict[str, object]) -> None:
    """The file the command and the page show is up to date."""
    # atol 0.1 day: a few hours for another platform's rounding at a threshold.
    now, kept = compared["rows"], stored.weather()["rows"]
    assert isinstance(now, list)
    assert len(now) == len(kept) == 18
    for row, old in zip(now, kept, strict=True):
        assert (row["place"], row["vehicle"], row["parked_from"]) == (
            old["place"],
            old["vehicle"],
            old["parked_from"],
        )
        for key in ("real_days", "normals_days", "normals_p10_days", "normals_p90_days"):
            assert_allclose(row[key], old[key], atol=0.1, err_msg=f"{row}: {key}")


@pytest.mark.nightly
def test_real_weather_lies_in_the_band_of_the_normals(compared: dict[str, object]) -> None:
    """At least 8 in 10 answers with real weather lie inside the 10 to 90 % band of the normals."""
    rows = compared["rows"]
    assert isinstance(rows, list)
    assert np.mean([row["real_within_band"] for row in rows]) >= 0.8


def test_cold_spells_shorten_a_stand_where_days_differ() -> None:
    """Real weather never lengthens a stand by more than 10 % over the normals' own answer."""
    for row in stored.weather()["rows"]:
        assert row["difference_days"] <= 0.1 * row["normals_days"], row


@pytest.mark.parametrize(
    ("place", "january_c", "july_c"),
    # Monthly means computed by others from the same files, to 0.1 K.
    [("Sand Point AK", 0.6, 11.8), ("Greensboro NC", 0.3, 25.4), ("Miami FL", 20.0, 28.0)],
)
def test_files_are_read_right(place: str, january_c: float, july_c: float) -> None:
    """Both file kinds give the monthly means known for them."""
    folder = weather_years.data_folder()
    assert folder is not None
    air_c = weather_years.hourly_air_c(folder / weather_years.PLACES[place])
    assert_allclose(air_c[: 31 * 24].mean(), january_c, atol=0.06)
    assert_allclose(air_c[181 * 24 : 212 * 24].mean(), july_c, atol=0.06)
