"""What a battery must do in each kind of vehicle, and what is usually fitted there."""

from dataclasses import dataclass, replace
from typing import Any, Final

from drainsim.language import Message, message
from drainsim.physics.cranking import engine_demand_a
from drainsim.physics.oil import cranking_limit_c, thinner
from drainsim.vehicle.keys.parameter import PRACTICE

# Workshop manuals: > 100 mA to some amperes for 2 to 45 min until the networks sleep; these
# two stages are common practice, no source.
KEY_OFF: Final = ({"duration_s": 300.0, "current_a": 3.0}, {"duration_s": 1500.0, "current_a": 0.3})
# Warm starter current of motorcycles: 40 to 50 A small, above 100 A large under rated load (advice
# page); 65 A warm and 130 A cold measured on a twin of 0.8 l (owner); a 1.2 l twin's starter takes
# 90 A free and 400 A stalled (service manual 1997). An owner says 50 to 70 A for 125 cm³, 100 A for
# 250 and above 150 A for more than 600. The line keeps the small ones and the twin within what is
# printed of them and leans to the higher figures for large ones, the cautious side.
_MOTORCYCLE_BASE_A: Final = 38.0
_MOTORCYCLE_A_PER_LITRE: Final = 95.0
# Published by engine size: about 120 A for 125 cm³, 220 to 240 A for 600, 300 to 350 A for 1,200;
# by battery: 15 to 20 A per Ah from 4 to 18 Ah (eleven labels).
_MOTORCYCLE_BASE_AH: Final = 5.5
_MOTORCYCLE_AH_PER_LITRE: Final = 11.0
_MOTORCYCLE_A_PER_AH: Final = 17.5
_MOTORCYCLE_A_PER_AH_SPREAD: Final = 0.12
# Contactor coils pull in with 5 to 10 A and control units wake with about as much again; under
# 9.5 V they let go. The 12 V battery of such vehicles is small. All common practice, no source;
# a contactor's data sheet has a 3.8 ohm pull-in coil (3 A each) that works from 9 V.
_CONTACTOR_A: Final = 20.0
_CONTACTOR_V: Final = 9.5
_CONTACTOR_AH: Final = 45.0
_TRAILER_AH: Final = 80.0
# A trailer asks for no start; one ampere stands in where a demand is divided by.
_NO_DEMAND_A: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """Defaults of a kind of vehicle; None leaves them to the usual car's."""

    words: str  # on a page
    key_off: tuple[dict[str, float], ...]
    quiescent_a: float | None = None
    quiescent_source: str = ""
    minimum_v: float | None = None
    minimum_source: str = ""
    litres: float | None = None
    demand_a: float | None = None
    capacity_ah: float | None = None
    cold_cranking_a_per_ah: float | None = None  # where it is not the profile's
    cold_cranking_spread: float | None = None


_CONTACTOR: Final = Kind(
    words="electric",
    key_off=KEY_OFF,
    minimum_v=_CONTACTOR_V,
    minimum_source=f"contactors and control units let go below; {PRACTICE}",
    demand_a=_CONTACTOR_A,
    capacity_ah=_CONTACTOR_AH,
)
TRACTION: Final = ("hybrid", "electric")  # kinds with a traction battery
KINDS: Final[dict[str, Kind]] = {
    "engine": Kind(words="car, van or truck with an engine", key_off=KEY_OFF),
    "motorcycle": Kind(
        words="motorcycle",
        quiescent_a=0.002,
        quiescent_source=PRACTICE,
        key_off=(),
        litres=0.6,
        cold_cranking_a_per_ah=_MOTORCYCLE_A_PER_AH,
        cold_cranking_spread=_MOTORCYCLE_A_PER_AH_SPREAD,
    ),
    "hybrid": replace(_CONTACTOR, words="hybrid"),
    "electric": _CONTACTOR,
    "trailer": Kind(
        words="trailer",
        quiescent_a=0.0,
        quiescent_source="a trailer draws nothing of its own",
        key_off=(),
        minimum_source="a trailer has no starter",
        demand_a=_NO_DEMAND_A,
        capacity_ah=_TRAILER_AH,
    ),
}


def usual_for_kinds(figure: str) -> dict[str, Any]:
    """Return a figure of `Kind` for every kind that has one of its own."""
    values = {name: getattr(kind, figure) for name, kind in KINDS.items()}
    return {name: value for name, value in values.items() if value is not None}


def usual_demand_a(kind: str, litres: float, *, diesel: bool) -> tuple[float, str]:
    """Return (warm starting current, where it comes from).

    Parameters
    ----------
    kind : str
        Of vehicle, a key of `KINDS`.
    litres : float
        Swept volume. [l]
    diesel : bool
    """
    given = KINDS[kind].demand_a
    if given is not None and kind == "trailer":
        return given, "stands in for a demand: a trailer has no starter"
    if given is not None:
        return given, f"contactors and control units; {PRACTICE}"
    if kind == "motorcycle":
        source = "line through owners' and workshop figures of starter current by engine size"
        return _MOTORCYCLE_BASE_A + _MOTORCYCLE_A_PER_LITRE * litres, source
    source = "textbook limits of starter current by engine size, room temperature"
    return float(engine_demand_a(litres, diesel=diesel)), source


def usual_kind_capacity_ah(kind: str, litres: float) -> float | None:
    """Return the capacity usually fitted to a kind; None where the engine rule says it.

    Parameters
    ----------
    kind : str
        Of vehicle, a key of `KINDS`.
    litres : float
        Swept volume. [l]
    """
    if kind == "motorcycle":
        return _MOTORCYCLE_BASE_AH + _MOTORCYCLE_AH_PER_LITRE * litres
    return KINDS[kind].capacity_ah


def high_voltage_caution(kind: str) -> Message | None:
    """Return what must be said where a traction battery is near.

    References: fire-service guidance and a government interim guide on electric and hybrid
    vehicles.
    """
    if kind not in TRACTION:
        return None
    return message(
        "high voltage: treat orange cables as live, never cut or handle them; taking the 12 V lead "
        "off does not switch the high-voltage system off; work on it is for trained people only"
    )


def key_off_default(kind: str) -> list[dict[str, Any]]:
    """Return the key-off stages assumed for a kind."""
    return [dict(stage) for stage in KINDS[kind].key_off]


# Oil usually filled: 5W-30 in cars (owner manuals of one maker family), 15W-40 in larger diesels
# and 10W-40 in motorcycles: common practice, no source.
_LARGE_DIESEL_LITRES: Final = 4.0


def usual_oil(kind: str, litres: float, *, diesel: bool, coldest_c: float | None) -> str:
    """Return the oil usually filled.

    Parameters
    ----------
    kind : str
    litres : float
        Swept volume. [l]
    diesel : bool
    coldest_c : float or None
        A cold night of the place; whoever lives there fills a grade whose cranking limit is below
        it, as owner manuals ask (0W below -29 °C). None where the place is not known. [°C]

    Examples
    --------
    >>> usual_oil("engine", 2.0, diesel=False, coldest_c=None)
    '5W-30'
    >>> usual_oil("engine", 2.0, diesel=False, coldest_c=-36.0)
    '0W-30'
    """
    oil = "15W-40" if diesel and litres > _LARGE_DIESEL_LITRES else "5W-30"
    if kind == "motorcycle":
        oil = "10W-40"
    while coldest_c is not None and coldest_c < cranking_limit_c(oil):
        found = thinner(oil)
        if found is None:
            break
        oil = found
    return oil
