"""Measures of drawn windows: typed settings with their help, checked, and turned to scale.

A length is that of the panel in mm. Where a scale is given (12 for 1:12) a length is that of the
real window, and defaults are those of real windows; everything is then divided by the scale, but
no lead is drawn under 0.2 mm.

Sources: cames 5-12 mm, edges 10-25 mm [putney-came] [glasstips]; quarry 4 × 6 in [common-quarry];
saddle bars 6-12 mm [chestofbooks-bars]; scales [senrabe-scales]; floor of printed lines
[common-line-floor].
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import Field, dataclass, field, fields
from difflib import get_close_matches
from math import isfinite
from typing import Any, get_args, get_type_hints

from glasswork.errors import DrawingError, GlassworkError, raise_all

THINNEST_MM = 0.2
"""The thinnest lead that is drawn: 0.104 mm, a 5 mm came at 1:48, is 2.5 dots at 600 dpi."""
SCALES = (1, 12, 24, 48)
LEAST_LIGHT_MM = 3.0


def length(text: str, *, panel: float | None, real: float | None, least: float = 0.0,
           most: float = 20000.0) -> Any:  # fmt: skip
    """A length in mm, or None for its default: `panel` in a panel, `real` in a real window."""
    return field(
        default=None,
        metadata={"help": text, "unit": "mm", "panel": panel, "real": real, "least": least,
                  "most": most},
    )  # fmt: skip


def choice(text: str, default: str, among: tuple[str, ...]) -> Any:
    return field(default=default, metadata={"help": text, "choices": among})


def scale_choice() -> Any:
    """The scale of a model, as `Measures` reads it."""
    told = "Model scale: lengths are then those of the real window."
    return choice(told, "1:1", tuple(f"1:{s}" for s in SCALES))


def count(text: str, default: int, least: int, most: int) -> Any:
    return field(default=default, metadata={"help": text, "least": least, "most": most})


def ratio(text: str) -> Any:
    """A number or None, checked where it is used."""
    return field(default=None, metadata={"help": text, "least": 0.0, "most": 3.0})


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One parameter of a kind of window, as a command line or a form shows it.

    kind : int, float or str · default : in panel mm; None if it follows from others
    """

    name: str
    kind: type
    default: Any
    help: str
    choices: tuple[str, ...] = ()
    unit: str = ""
    least: float | None = None
    most: float | None = None


def settings_of(params: type) -> tuple[Setting, ...]:
    """The parameters of a kind of window, in order."""
    hints = get_type_hints(params)
    found = []
    for one in fields(params):
        meta = one.metadata
        kinds = [
            k for k in (get_args(hints[one.name]) or (hints[one.name],)) if k is not type(None)
        ]
        found.append(
            Setting(
                name=one.name,
                kind=kinds[0],
                default=meta.get("panel", one.default),
                help=meta["help"],
                choices=meta.get("choices", ()),
                unit=meta.get("unit", ""),
                least=meta.get("least"),
                most=meta.get("most"),
            )
        )
    return tuple(found)


def built(params: type, given: Mapping[str, Any], *, where: str) -> Any:
    """The parameters with what is given, all of it checked.

    Raises: DrawingError, or Faults, for unknown names, wrong kinds and values out of range
    """
    known = {setting.name: setting for setting in settings_of(params)}
    faults: list[GlassworkError] = []
    values = {}
    for name, value in given.items():
        if name not in known:
            near = get_close_matches(name, known, n=1)
            hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(known)}"
            faults.append(DrawingError(where, f'"{name}" is no parameter of this window', hint))
        elif value is not None:
            try:
                values[name] = _checked(known[name], value, where)
            except DrawingError as exc:
                faults.append(exc)
    raise_all(faults)
    return params(**values)


def _checked(setting: Setting, value: Any, where: str) -> Any:
    if setting.choices:
        if value not in setting.choices:
            raise DrawingError(
                f"{where}, {setting.name}", f'"{value}" is none', f"one of: {_list(setting)}"
            )
        return value
    try:
        number = setting.kind(value)
        whole = setting.kind is not int or float(value) == number
    except (TypeError, ValueError):
        number, whole = 0, False
    if not whole or isinstance(value, bool) or not isfinite(number):
        wanted = "a whole number" if setting.kind is int else "a number"
        raise DrawingError(
            f"{where}, {setting.name}", f'"{value}" is not {wanted}', f"write {wanted} for it"
        )
    low = setting.least if setting.least is not None else number
    high = setting.most if setting.most is not None else number
    if not low <= number <= high:
        unit = f" {setting.unit}" if setting.unit else ""
        raise DrawingError(
            f"{where}, {setting.name}",
            f"{number:g}{unit} is outside {low:g} to {high:g}{unit}",
            "give a value within the limits",
        )
    return number


def _list(setting: Setting) -> str:
    return ", ".join(setting.choices)


class Measures:
    """Lengths of one window in panel mm, and what was changed to get them."""

    def __init__(self, params: Any) -> None:
        """params : a dataclass of measures whose `scale` is a `scale_choice`"""
        self._params = params
        self._fields: dict[str, Field[Any]] = {f.name: f for f in fields(params)}
        self.scale = int(params.scale.removeprefix("1:"))
        self.notes: list[str] = []

    def of(self, name: str) -> float | None:
        """A length in panel mm; None if none is given and there is no default."""
        given: float | None = getattr(self._params, name)
        meta = self._fields[name].metadata
        if self.scale == 1:
            panel: float | None = meta["panel"]
            return given if given is not None else panel
        real: float | None = given if given is not None else meta["real"]
        return None if real is None else real / self.scale

    def sure(self, name: str) -> float:
        """A length that has a default."""
        value = self.of(name)
        assert value is not None
        return value

    def lead(self, name: str) -> float:
        """Width of a lead, never under what prints; a lead that had to grow is noted."""
        value = self.sure(name)
        if value >= THINNEST_MM:
            return value
        spoken = name.removesuffix("_mm").replace("_", " ")
        self.notes.append(
            f"A {spoken} of {value * self.scale:g} mm is {value:.3f} mm at 1:{self.scale}: "
            f"drawn {THINNEST_MM} mm wide."
        )
        return THINNEST_MM
