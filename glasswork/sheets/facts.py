"""What the guide is told."""

from __future__ import annotations

import re
from functools import cached_property

from msgspec import Struct

from glasswork.model.backlight import Backlight
from glasswork.model.cautions import CAUTIONS
from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.finding import Finding
from glasswork.model.frame import Board, Cutter, FramePlan
from glasswork.model.geometry import Region, Regions
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.sheet import InkFaces
from glasswork.model.window import Window
from glasswork.sheets.tiles import Division

_ENDING = re.compile(r"\.(svg|svgz|png|jpe?g)\Z", re.IGNORECASE)


class GuideFacts(Struct, frozen=True, kw_only=True, dict=True):
    """Everything the guide tells of.

    ink_faces : as the films are printed, see `film_pages`
    backlight : the light behind the panel, where it was planned
    division : the parts of films that are larger than their page
    other_boards : boards of single levels beside `board`
    """

    window: Window
    palette: Palette
    separation: Separation
    plan: FramePlan
    light: Light
    board: Board
    cutter: Cutter
    printer: PrinterProfile
    findings: tuple[Finding, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS
    ink_faces: InkFaces = "front"
    backlight: Backlight | None = None
    division: Division | None = None
    other_boards: tuple[Board, ...] = ()

    @property
    def title(self) -> str:
        """The window's name for people: no file ending, spaces for hyphens."""
        stem = _ENDING.sub("", self.window.name).replace("-", " ").replace("_", " ").strip()
        return stem[:1].upper() + stem[1:] if stem else self.window.name

    @cached_property
    def glass_areas(self) -> dict[str, Regions]:
        """Glass id -> its panes. The same for every picture, so that a page writes them once."""
        alike: dict[str, list[Region]] = {}
        for pane in self.window.panes:
            alike.setdefault(pane.glass or "", []).append(pane.region)
        return {glass: tuple(panes) for glass, panes in alike.items()}
