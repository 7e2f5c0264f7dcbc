"""Regulated voltage against temperature."""

from functools import partial

from drainsim.evidence import sources as s
from drainsim.evidence.check import OTHER_SOURCE, SAME_SOURCE, Check, found_in
from drainsim.physics import charging

_check = partial(Check, subject="charging")

_band = partial(_check, quantity="regulated voltage, 12 V", unit="V")
_slope = partial(
    _check,
    quantity="change of regulated voltage with temperature, 12 V",
    unit="mV/K",
    tolerance=2.0,
    tolerance_reason="one maker prints ±2 mV/K on its own slope",
    model=lambda: 1000.0 * (_volts(60.0) - _volts(-20.0)) / 80.0,
)


def _volts(temperature_c: float) -> float:
    return float(charging.regulated_voltage_v(temperature_c))


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (
        *(
            _band(
                key=f"regulated-car-{temperature_c:.0f}c",
                conditions=f"{temperature_c:.0f} °C at the regulator",
                published=published,
                **found_in(s.ALTERNATOR_LINE, SAME_SOURCE),
                model=partial(_volts, temperature_c),
            )
            for temperature_c, published in (
                (-20.0, (14.0, 15.1)),
                (20.0, (13.7, 14.6)),
                (60.0, (13.2, 14.3)),
                (80.0, (12.9, 14.1)),
            )
        ),
        *(
            _band(
                key=f"regulated-lift-{temperature_c:.0f}c",
                conditions=f"{temperature_c:.0f} °C at the regulator, fork lift",
                published=published,
                **found_in(s.TM_LIFT, OTHER_SOURCE, "page 125"),
                model=partial(_volts, temperature_c),
            )
            for temperature_c, published in (
                (18.0, (14.1, 14.9)),
                (41.0, (13.7, 14.5)),
                (63.0, (13.4, 14.2)),
            )
        ),
        _band(
            key="regulated-marine-20c",
            conditions="20 °C, marine engine",
            published=(14.4, 14.7),
            **found_in(s.MARINE_MANUAL, OTHER_SOURCE, "page 83"),
            expected_to_disagree=(
                "a car's printed band has its middle at 14.15 V, a fork lift's reaches down to it. "
                "What follows for the user: a marine engine charges a little better than we "
                "say; its own regulated voltage can be given"
            ),
            model=lambda: _volts(20.0),
        ),
        _band(
            key="regulated-paver",
            conditions="engine running, warm (20 to 40 °C)",
            published=(13.5, 14.5),
            **found_in(s.TM_PAVER, OTHER_SOURCE, "page 342"),
            model=lambda: _volts(30.0),
        ),
        _slope(
            key="regulated-slope-marine",
            conditions="marine engine, -0.1 V per 10 K",
            published=-10.0,
            **found_in(s.MARINE_MANUAL, SAME_SOURCE, "page 83"),
        ),
        _slope(
            key="regulated-slope-lift",
            conditions="fork lift, 18 to 63 °C, middles of the bands",
            published=-15.6,
            **found_in(s.TM_LIFT, OTHER_SOURCE),
            expected_to_disagree=(
                "printed slopes run from -3.5 to -17 mV/K; -10 stands in two independent sources "
                "and in the middle. What follows for the user: in frost the real charging voltage "
                "may be 0.3 V off either way"
            ),
        ),
        _slope(
            key="regulated-slope-2021",
            conditions="2021 car, internal mode",
            published=-3.5,
            **found_in(s.CAR_2021, OTHER_SOURCE),
            expected_to_disagree=(
                "recent regulators hardly follow temperature, the engine computer sets the "
                "voltage. What follows for the user: in frost a recent car charges lower than we "
                "say; no answer about parking uses this"
            ),
        ),
    )
