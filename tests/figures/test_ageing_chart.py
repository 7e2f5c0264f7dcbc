"""Chart of the winters ahead: its numbers, not its looks."""

from numpy.testing import assert_allclose

from drainsim.answers.driving.ageing import ageing
from drainsim.figures.ageing import ageing_alt, ageing_figure, ageing_title
from drainsim.figures.style import LIGHT
from tests.build import case_of

BASE = {
    "battery": {"capacity_ah": 60, "age_years": 7},
    "unit": {"preset": "hourly"},
    "site": {"climate": "temperate"},
    "run": {"draws": 200, "horizon_days": 365},
}
# Between the first and the last winter's risk, so that both sides of the limit are drawn.
LIMIT = sum(ageing(case_of(BASE), winters=4).winters[n].risk for n in (0, -1)) / 2


def test_the_chart_holds_health_band_and_risk_of_every_winter() -> None:
    """Each winter's numbers stand at its name; what is above the limit is hatched as well."""
    answer = ageing(case_of(BASE), winters=4, risk=LIMIT)
    low, high, health, risk = ageing_figure(answer, LIGHT).data
    assert list(health.x) == ["2026/27", "2027/28", "2028/29", "2029/30"]
    assert_allclose(health.y, [100 * winter.cranking_health for winter in answer.winters])
    assert_allclose(low.y, [100 * winter.cranking_health_low for winter in answer.winters])
    assert_allclose(high.y, [100 * winter.cranking_health_high for winter in answer.winters])
    assert_allclose(risk.y, [100 * winter.risk for winter in answer.winters])
    hatched = [shape == "/" for shape in risk.marker.pattern.shape]
    assert hatched == [winter.risk > LIMIT for winter in answer.winters]
    assert len(set(hatched)) == 2  # the case has winters on both sides of the limit


def test_the_title_says_the_answer_and_the_alternative_text_every_winter() -> None:
    """A reader without the picture learns the same."""
    due = ageing(case_of(BASE), winters=4, risk=LIMIT)
    assert due.replace_before_winter
    assert f"replace before winter {due.replace_before_winter - 1}/" in ageing_title(due)
    hopeless = ageing(case_of(BASE, site={"climate": "subarctic"}))
    assert "would not help" in ageing_title(hopeless)
    assert ageing_alt(due).count("risk") == 1 + len(due.winters)


def test_nothing_wrong_in_a_case_without_a_start() -> None:
    """A trailer's chart shows health, and no risk."""
    trailer = ageing(case_of(BASE, vehicle={"kind": "trailer"}))
    assert "no start" in ageing_title(trailer)
    assert max(ageing_figure(trailer, LIGHT).data[3].y) == 0.0
