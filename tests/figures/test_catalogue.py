"""The heat map holds the catalogue's days, unit by unit, in figures as well as shades."""

import numpy as np
import plotly.graph_objects as go

from drainsim.answers.storage.catalogue import CatalogueQuestion, catalogue
from drainsim.figures.catalogue import catalogue_alt, catalogue_figure
from drainsim.figures.style import DARK, LIGHT, Palette
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.figures.test_charts import _luminance


def test_every_cell_carries_its_days() -> None:
    """Shade and text of each map are the days of the table, in its order, on one scale."""
    run = {"draws": 100}
    question = CatalogueQuestion(
        units={
            name: scenario_from_dict({"battery": {}, "unit": {"preset": name}, "run": run})
            for name in ("hourly", "daily")
        },
        vehicles=("compact_petrol", "older_car"),
        climates=("temperate", "marine"),
        horizon_days=30,
    )
    table = catalogue(question)
    for palette in (LIGHT, DARK):
        figure = catalogue_figure(table, palette)
        assert len(figure.data) == 2
        for unit, trace in zip(question.units, figure.data, strict=True):
            for row, vehicle in enumerate(question.vehicles):
                for column, (climate, season) in enumerate(table.columns()):
                    days = table.days(unit, vehicle, climate, season)
                    assert trace.z[row][column] == (30 if days is None else days)
                    assert trace.text[row][column] == ("> 30" if days is None else str(days))
        assert len({trace.zmax for trace in figure.data}) == 1
        _assert_readable(figure.data[0], palette)
    assert "2 vehicle classes" in catalogue_alt(table)


def _assert_readable(trace: go.Heatmap, palette: Palette) -> None:
    """Assert that each cell's number reaches 4.5:1 on its shade, and no empty cell glows."""
    (_, least), (_, most) = trace.colorscale
    text = _luminance(trace.textfont.color)
    for share in np.linspace(0.0, 1.0, 21):
        ends = ([int(color[n : n + 2], 16) for n in (1, 3, 5)] for color in (least, most))
        shade = [round((1 - share) * one + share * other) for one, other in zip(*ends, strict=True)]
        dark, light = sorted((text, _luminance("#" + "".join(f"{part:02x}" for part in shade))))
        assert (light + 0.05) / (dark + 0.05) >= 4.5  # WCAG 2.x, 1.4.3; from memory
    # The least days stand out least from the ground, in both themes.
    ground = _luminance(palette.ground)
    assert abs(_luminance(least) - ground) < abs(_luminance(most) - ground)


def test_a_unit_name_is_text_in_the_chart() -> None:
    """Markup in a unit's name is not markup in the chart."""
    name = "<b>bold</b> <a href='x'>"
    question = CatalogueQuestion(
        units={name: scenario_from_dict({"battery": {}, "run": {"draws": 100}})},
        vehicles=("older_car",),
        climates=("temperate",),
        seasons=("winter",),
        horizon_days=10,
    )
    figure = catalogue_figure(catalogue(question), LIGHT)
    assert "<" not in figure.layout.xaxis.title.text
