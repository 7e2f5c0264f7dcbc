"""One vehicle's readings as they were measured, and what of them was kept aside and why."""

from dataclasses import dataclass
from typing import Final

from drainsim.physics.tables import FloatArray

# Why a reading is kept aside, where an answer asks for the reason; the guide lists all of them.
BEHIND_SWITCH: Final = "behind the ignition switch: 0 V whenever the ignition is off"
ZERO: Final = "0 V: not measured"
EMPTY: Final = "empty: not measured"


@dataclass(frozen=True, slots=True)
class SetAside:
    """Readings of one vehicle that were not used: from, until (both belong to it), how many, why.

    A reading whose time is not known stands in a span of NaN.
    """

    start_s: float  # epoch seconds, UTC
    end_s: float
    rows: int
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class History:
    """One vehicle's readings in the order they were measured, doubles removed.

    All arrays have the shape (n,); NaN where a row holds no such value, all NaN without such a
    column. A row without a voltage is there because another column was measured. Voltages are
    those of the system as it is, 12 or 24 V.
    """

    vehicle_id: str
    time_s: FloatArray  # epoch seconds, UTC, strictly increasing
    voltage_v: FloatArray
    ignition: FloatArray  # 1 on, 0 off
    battery_temperature_c: FloatArray
    air_temperature_c: FloatArray
    cranking_minimum_v: FloatArray
    voltmeter_v: FloatArray  # read by a person at the battery
    step_v: float  # quantisation step of `voltage_v`; NaN where too few values tell it
    set_aside: tuple[SetAside, ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """Rows of a file that belong to no vehicle: which row is the first, how many, and why."""

    where: str  # file
    row: int  # as a spreadsheet counts
    rows: int
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """What the files hold: one history a vehicle, in the order of their ids, and the rest.

    `rows` = readings used + set aside + refused: nothing is lost.
    """

    histories: tuple[History, ...]
    refused: tuple[Refused, ...]
    rows: int
    notes: tuple[str, ...]  # what was taken as what: units, columns not read
    delimiter: str = ","  # of the first file; "" of a workbook
