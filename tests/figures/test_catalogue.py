"""The heat map holds the catalogue's days, unit by unit, in figures as well as shades."""

from drainsim.answers.storage.catalogue import CatalogueQuestion, catalogue
from drainsim.figures.catalogue import catalogue_alt, catalogue_figure
from drainsim.figures.style import DARK, LIGHT
from drainsim.vehicle.scenario import scenario_from_dict


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
    assert "2 vehicle classes" in catalogue_alt(table)


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
    assert "<" not in figure.layout.annotations[0].text
