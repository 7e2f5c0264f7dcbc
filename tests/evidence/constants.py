"""Every constant of the model, found rather than picked, and how to change it for a while.

The figures of every battery profile, every number in a module constant of `physics`, `vehicle` and
`simulation`, the presets the examples use, and every default a scenario falls back on.
"""

import ast
import importlib
import pkgutil
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, Final

import numpy as np

from drainsim.evidence import asking
from drainsim.files.presets import presets
from drainsim.files.profile import list_profiles, load_profile
from drainsim.vehicle.batteries import battery
from drainsim.vehicle.keys.ledger import Ledger

# Not constants of nature or of practice: what a change would mean is another question or another
# answer's precision. Module constants only; the reason stands beside each.
EXCLUDED: Final = {
    "physics.capacity.RATED_HOURS": "definition of C20",
    "physics.capacity.RESERVE_CURRENT_A": "definition of reserve capacity",
    "physics.cranking.RATING_C": "definition of the cold cranking rating",
    "physics.cranking.RATING_V": "definition of the cold cranking rating",
    "physics.self_discharge.REFERENCE_C": "temperature the profiles' figures are given at",
    "physics.ageing.LIFE_REFERENCE_C": "temperature the profiles' figures are given at",
    "vehicle.trip.HOURS_PER_WEEK": "definition of a week",
    "vehicle.batteries.chargers._DAYS_PER_MONTH": "of a sentence only",
    "physics.mains_charger.REFERENCE_C": "temperature chargers' voltages are given at",
}
_EXCLUDED_PARTS: Final = ("COLDEST_", "WARMEST_C", "_MOST_", "_FEWEST_", "_LONGEST_", "_STEP", "_Z")
_EXCLUDED_MODULES: Final = (
    "vehicle.keys.schema",  # limits of what may be entered
    "vehicle.places.site_keys",  # as well
    "vehicle.documents",  # the installer's papers
    "physics.log_",  # how a current log is read
    "physics.current_log",
    "physics.supply_point",  # the installer's wiring: answers of their own
    "physics.wiring",
    "simulation.lookup",  # precision
    "simulation.blocks",
    "simulation.draws",
    "simulation.many",
    "simulation.lanes",
    "simulation.battery_curves",
)
_EMPTY: Final = ", charge where none is left"


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """A number of the model: where it stands, its name there, and its value.

    `places` are (module, class or dictionary, name) where `whole` stands; `made` returns what
    stands there instead with another number.
    """

    home: str
    name: str
    value: float
    places: tuple[tuple[Any, str], ...]
    whole: Any
    made: Callable[[float], Any]

    @property
    def key(self) -> str:
        """Return the name that tells it from all others."""
        return f"{self.home}.{self.name}"

    @contextmanager
    def put(self, new: float) -> Iterator[None]:
        """Let the model work with another number inside the block."""
        changed = self.made(new)
        try:
            for home, name in self.places:
                _set(home, name, changed)
            yield
        finally:
            for home, name in self.places:
                _set(home, name, self.whole)

    def changes(self) -> tuple[tuple[str, float], ...]:
        """Return (words, value) of the change to either side; by unit, else by half as much."""
        value, last = self.value, re.split(r"[\[ ]", self.name.lower())[0]
        if value == 0.0:
            return ()
        if self.name.endswith(_EMPTY):
            return (("to 1 %", 0.01), ("× 2", 2.0 * value))
        if last.endswith("_c") and not last.endswith("_sd_c"):
            return tuple((f"{step:+g} K", value + step) for step in (5.0, -5.0))
        if last.endswith("_deg"):
            return tuple((f"{step:+g}°", value + step) for step in (5.0, -5.0))
        if last == "specific_gravity":
            return tuple((f"{step:+g}", value + step) for step in (0.02, -0.02))
        if last.endswith("_v") and abs(value) > 4.0:
            size = 0.1 if last == "open_circuit_v" else 0.3
            return tuple((f"{step:+g} V", value + step) for step in (size, -size))
        if 0.5 < value < 1.0:
            low = 1.0 - 2.0 * (1.0 - value)
            return (
                ("half as far from 1", 1.0 - 0.5 * (1.0 - value)),
                ("twice as far from 1", low) if low > 0.0 else ("÷ 1.5", value / 1.5),
            )
        return (("× 1.5", value * 1.5), ("÷ 1.5", value / 1.5))


def _set(home: Any, name: str, value: Any) -> None:
    if isinstance(home, dict):
        home[name] = value
    else:
        setattr(home, name, value)


def _importers(name: str, whole: Any) -> tuple[tuple[Any, str], ...]:
    """Return every module that knows an object by a name."""
    return tuple(
        (module, name)
        for known, module in list(sys.modules.items())
        if known.startswith("drainsim") and vars(module).get(name) is whole
    )


def _leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], float]]:
    """Yield (path, number) of every real number inside a value; of a curve, of its y column."""
    if isinstance(value, float):
        yield path, value
    elif isinstance(value, np.ndarray) and value.dtype.kind == "f":
        if value.ndim == 2 and value.shape[1] == 2:
            for row in range(len(value)):
                yield (*path, (row, 1)), float(value[row, 1])
        elif value.ndim == 1 and len(value) <= 24:
            for row in range(len(value)):
                yield (*path, row), float(value[row])
    elif isinstance(value, Mapping):
        for name, part in value.items():
            yield from _leaves(part, (*path, name))
    elif isinstance(value, tuple | list):
        for number, part in enumerate(value):
            yield from _leaves(part, (*path, number))
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from _leaves(getattr(value, field.name), (*path, field.name))


def _with(value: Any, path: tuple[Any, ...], new: float) -> Any:
    """Return the value with the number at a path replaced."""
    if not path:
        return new
    head, rest = path[0], path[1:]
    if isinstance(value, np.ndarray):
        changed = value.copy()
        changed[head] = new
        return changed
    if isinstance(value, dict):
        return {**value, head: _with(value[head], rest, new)}
    if hasattr(value, "_replace"):
        return value._replace(**{value._fields[head]: _with(value[head], rest, new)})
    if isinstance(value, tuple | list):
        parts = list(value)
        parts[head] = _with(parts[head], rest, new)
        return type(value)(parts)
    return replace(value, **{head: _with(getattr(value, head), rest, new)})


def _path_words(value: Any, path: tuple[Any, ...]) -> str:
    words = []
    for part in path:
        if isinstance(part, tuple):  # a row of a curve: say where it stands
            words.append(f"[at {np.asarray(value)[part[0], 0]:g}]")
        elif isinstance(part, int) and hasattr(value, "_fields"):
            words.append(f".{value._fields[part]}")
            value = value[part]
        elif isinstance(part, int):
            words.append(f"[{part}]")
            value = value[part]
        else:
            words.append(f".{part}")
            value = value[part] if isinstance(value, Mapping) else getattr(value, part)
    return "".join(words)


def _profile_constants() -> Iterator[Constant]:
    for key in list_profiles():
        figures = load_profile(key).figures
        for name, figure in figures.items():
            points = isinstance(figure.value, list)
            value = np.asarray(figure.value, dtype=float) if points else float(figure.value)

            def in_profile(
                suffix: str,
                number: float,
                made: Callable[[float], Any],
                name: str = name,
                figure: Any = figure,
                key: str = key,
                figures: Any = figures,
            ) -> Constant:
                def with_figure(new: float) -> Any:
                    return replace(figure, value=np.asarray(made(new)).tolist())

                return Constant(
                    home=f"profile {key}",
                    name=name + suffix,
                    value=number,
                    places=((figures, name),),
                    whole=figure,
                    made=with_figure,
                )

            for path, number in _leaves(value):
                yield in_profile(_path_words(value, path), number, partial(_with, value, path))
            if name == "cranking_share_by_charge":
                empty = [row for row in range(1, len(value)) if value[row, 1] == 0.0]
                for row in empty[-1:]:  # an x, not a y: the charge where no power is left
                    path = ((row, 0),)
                    yield in_profile(
                        _EMPTY,
                        float(value[row, 0]),
                        partial(_with, value, path),
                    )


def _modules() -> Iterator[Any]:
    for room in ("physics", "vehicle", "simulation"):
        package = importlib.import_module(f"drainsim.{room}")
        for found in pkgutil.walk_packages(package.__path__, f"drainsim.{room}."):
            short = found.name.removeprefix("drainsim.")
            if not short.startswith(_EXCLUDED_MODULES):
                yield importlib.import_module(found.name)


def _declared(module: Any) -> Iterator[str]:
    """Yield the names in capitals a module itself assigns."""
    tree = ast.parse(Path(module.__file__).read_text(encoding="utf-8"))
    for node in tree.body:
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        for target in targets:
            if isinstance(target, ast.Name) and target.id.isupper():
                yield target.id


def _module_constants() -> Iterator[Constant]:
    for module in _modules():
        short = module.__name__.removeprefix("drainsim.")
        for name in _declared(module):
            whole = getattr(module, name)
            if f"{short}.{name}" in EXCLUDED or any(part in name for part in _EXCLUDED_PARTS):
                continue
            for path, number in _leaves(whole):
                yield Constant(
                    home=short,
                    name=name + _path_words(whole, path),
                    value=number,
                    places=_importers(name, whole),
                    whole=whole,
                    made=partial(_with, whole, path),
                )


def _preset_constants(used: Iterable[tuple[str, str]]) -> Iterator[Constant]:
    for kind, key in used:
        values = presets(kind)[key].values
        for name, whole in list(values.items()):
            in_preset = partial(
                Constant, home=f"{kind} {key}", places=((values, name),), whole=whole
            )
            if name in {"daily_low_c", "daily_high_c", "clear_share"}:
                yield in_preset(
                    name=f"{name} (all months)",
                    value=float(whole[0]),
                    made=partial(_moved if name.endswith("_c") else _scaled, whole),
                )
            else:
                for path, number in _leaves(whole):
                    yield in_preset(
                        name=name + _path_words(whole, path),
                        value=number,
                        made=partial(_with, whole, path),
                    )


def _moved(months: list[float], first: float) -> list[float]:
    return [month + first - months[0] for month in months]


def _scaled(months: list[float], first: float) -> list[float]:
    return [month * first / months[0] for month in months]


def _default_constants(examples: Iterable[Mapping[str, Any]]) -> Iterator[Constant]:
    """Yield what a scenario falls back on, as the examples meet it."""
    met: dict[str, float] = {}
    plain = Ledger.take_with_origin

    def noting(self: Ledger, parameter: str, *more: Any) -> Any:
        value, origin = plain(self, parameter, *more)
        if origin == "default" and isinstance(value, float):
            met.setdefault(str(parameter), value)
        return value, origin

    def taking(asked: str, new: float) -> Any:
        def take(self: Ledger, parameter: str, *more: Any) -> Any:
            value, origin = plain(self, parameter, *more)
            changed = parameter == asked and origin == "default" and isinstance(value, float)
            return (new if changed else value), origin

        return take

    place = ((Ledger, "take_with_origin"),)
    watched = Constant(
        home="default", name="", value=0.0, places=place, whole=plain, made=lambda _: noting
    )
    with watched.put(0.0):
        for tables in examples:
            asking.case(tables)
    for name, value in sorted(met.items()):
        yield Constant(
            home="default",
            name=name,
            value=value,
            places=place,
            whole=plain,
            made=partial(taking, name),
        )


def _rule_constants() -> Iterator[Constant]:
    """Yield rules whose numbers stand in a function: their result, as a factor."""
    plain = battery.usual_capacity_ah
    yield Constant(
        home="rule",
        name="usual capacity by engine, factor",
        value=1.0,
        places=_importers("usual_capacity_ah", plain),
        whole=plain,
        made=lambda new: lambda *args, **more: new * plain(*args, **more),
    )


def find_constants(
    examples: Iterable[Mapping[str, Any]], used_presets: Iterable[tuple[str, str]]
) -> tuple[Constant, ...]:
    """Return every constant, by home; defaults and presets are those the examples use."""
    return (
        *_profile_constants(),
        *_module_constants(),
        *_preset_constants(used_presets),
        *_default_constants(examples),
        *_rule_constants(),
    )
