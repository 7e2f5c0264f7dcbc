"""Where the model must not be used, in plain words."""

from typing import Final

from drainsim.language import Celsius, message

MUST_NOT_BE_USED: Final = (
    message(
        "As a promise for one vehicle: it gives a range, and 1 vehicle in 10 fails before its "
        "early end."
    ),
    message(
        "For a frozen, sulfated or damaged battery, or one with a dead cell: have it tested; never"
        " charge or jump-start a frozen battery."
    ),
    message(
        "For diesels below about {cold}: fuel, glow plugs and ignition limit them; only the "
        "battery is modelled.",
        cold=Celsius(-15.0),
    ),
    message(
        "Below {cold} and above {warm} battery temperature for cranking to better than a wide "
        "range: no table was found. Below, battery power follows the measured impedance of one "
        "kind of battery and an engine's demand its oil's viscosity; above, the warm end is held.",
        cold=Celsius(-29.0),
        warm=Celsius(27.0),
    ),
    message(
        "Below half charge to better than a tenth of the charge: no published table says how "
        "cranking fades there; a cautious line is used."
    ),
    message(
        "For loads that empty a battery within hours (lamps, heaters): good to about a third only,"
        " on the cautious side."
    ),
    message(
        "For gel and lithium iron phosphate batteries as starters: their cranking figures are not "
        "published tables."
    ),
    message(
        "To date the start of damage to the battery: standing below half charge ages it long "
        "before the no-start."
    ),
    message(
        "To plan by the average weather of a cold place: a cold spell decides; look at the early "
        "end of the range."
    ),
    message("For heavy trucks' key-off current: no published value was found; measure it."),
)
