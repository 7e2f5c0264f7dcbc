"""Where the model must not be used, in plain words."""

from typing import Final

MUST_NOT_BE_USED: Final = (
    "As a promise for one vehicle: it gives a range, and 1 vehicle in 10 fails before its early "
    "end.",
    "For a frozen, sulfated or damaged battery, or one with a dead cell: have it tested; never "
    "charge or jump-start a frozen battery.",
    "For diesels below about -15 °C: fuel, glow plugs and ignition limit them; only the battery is "
    "modelled.",
    "Below -29 °C and above 27 °C battery temperature for cranking to better than a wide range: no "
    "table was found. Below, battery power follows the measured impedance of one kind of battery "
    "and an engine's demand its oil's viscosity; above, the warm end is held.",
    "Below half charge to better than a tenth of the charge: no published table says how cranking "
    "fades there; a cautious line is used.",
    "For loads that empty a battery within hours (lamps, heaters): good to about a third only, on "
    "the cautious side.",
    "For gel and lithium iron phosphate batteries as starters: their cranking figures are not "
    "published tables.",
    "To date the start of damage to the battery: standing below half charge ages it long before "
    "the no-start.",
    "To plan by the average weather of a cold place: a cold spell decides; look at the early end "
    "of the range.",
    "For heavy trucks' key-off current: no published value was found; measure it.",
)
