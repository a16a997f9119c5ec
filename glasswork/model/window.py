"""The drawing as read, and the window made of it."""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.model.geometry import (
    Affine,
    Box,
    Point,
    Region,
    Regions,
    mapped_groups,
    mapped_rings,
)


class Role(StrEnum):
    """What a member does in the window. PAINT is painted on the glass, not leaded."""

    BORDER = "border"
    MULLION = "mullion"
    BAR = "bar"
    LEAD = "lead"
    PAINT = "paint"


class Mark(Struct, frozen=True, kw_only=True):
    """One drawn thing: a stroke, a filled area, or both.

    paths : flattened subpaths, mm; each with its closed flag
    area : what the fill covers, its fill rule resolved; empty if nothing is filled
    stroke, fill : colour as #rrggbb, or None
    names : id, classes and group labels, from the innermost outwards, for the roles map
    dashes_mm : lengths drawn and left out in turn, an even number of them; empty if unbroken

    Cannot occur: units, transforms, references, style sheets, curves, hidden things.
    """

    paths: tuple[tuple[tuple[Point, ...], bool], ...]
    area: Regions = ()
    stroke: str | None = None
    width_mm: float = 0.0
    cap: str = "butt"
    join: str = "miter"
    dashes_mm: tuple[float, ...] = ()
    fill: str | None = None
    names: tuple[str, ...] = ()
    dash_offset_mm: float = 0.0
    miter_limit: float = 4.0


class LineArt(Struct, frozen=True, kw_only=True):
    """A vector drawing as read: marks in the order they are painted, in mm.

    sized : the file tells its size; if not, a pixel counts as 1/96 in until a size is given
    notes : what was left out in reading
    """

    name: str
    size_mm: tuple[float, float]
    marks: tuple[Mark, ...]
    sized: bool = True
    notes: tuple[str, ...] = ()


class Scan(Struct, frozen=True, kw_only=True):
    """A raster drawing as read: 8-bit grey, (rows, columns), upright; mm per pixel if it says so.

    rgb : the same picture in colour, (rows, columns, 3), or None if it has none
    """

    name: str
    grey: NDArray[np.uint8]
    mm_per_px: float | None
    rgb: NDArray[np.uint8] | None = None


class Sizing(Struct, frozen=True, kw_only=True):
    """How large the panel is to be; lengths of the finished panel in mm.

    opening_mm : the hole it drops into; the panel is smaller by the clearance on every side
    scale : multiplies the drawing's own size; 1/24 for 1:24

    Cannot occur: more than one of width_mm, height_mm and opening_mm.
    """

    width_mm: float | None = None
    height_mm: float | None = None
    opening_mm: tuple[float, float] | None = None
    clearance_mm: float = 0.5
    scale: float = 1.0


class Pane(Struct, frozen=True, kw_only=True):
    """A piece of glass.

    id : stable, made from the place
    seed_point : a point well inside
    fill : colour in the drawing as #rrggbb, or None
    glass : id of a palette glass, or None while not chosen
    """

    id: str
    region: Region
    seed_point: Point
    fill: str | None = None
    glass: str | None = None


class Member(Struct, frozen=True, kw_only=True):
    """A strip between panes, or around them: one length of the leading between two joints.

    width_mm : its drawn width
    centreline : its middle, or empty where it has none
    area : what it covers; members and panes tile the outline
    """

    id: str
    role: Role
    width_mm: float
    area: Regions
    centreline: tuple[Point, ...] = ()

    def __post_init__(self) -> None:
        if not self.width_mm > 0.0:
            raise ValueError(f"member {self.id}: width {self.width_mm} mm is not positive")


class PaintStroke(Struct, frozen=True, kw_only=True):
    """A line or area painted on the glass, part of no pane's border.

    tone : 1 is opaque: printed black on the film; less is a shade, matted over the glass
    """

    area: Regions
    width_mm: float
    tone: float = 1.0

    def __post_init__(self) -> None:
        if not 0.0 < self.tone <= 1.0:
            raise ValueError(f"a paint stroke's tone {self.tone} is not above 0 and at most 1")

    @property
    def opaque(self) -> bool:
        """Printed black, not as a shade."""
        return self.tone >= 1.0


class Window(Struct, frozen=True, kw_only=True):
    """The whole design. Panes and members tile the outline: no gap, no overlap.

    Cannot occur: a pane outside the outline, a member without width, two panes with one id.
    """

    name: str
    outline: Region
    panes: tuple[Pane, ...]
    members: tuple[Member, ...]
    paint: tuple[PaintStroke, ...] = ()

    def __post_init__(self) -> None:
        ids = [pane.id for pane in self.panes]
        if not ids:
            raise ValueError("a window needs a pane")
        if len(set(ids)) != len(ids):
            raise ValueError("two panes share one id")

    @property
    def box(self) -> Box:
        return self.outline.box

    @property
    def size_mm(self) -> tuple[float, float]:
        return (self.box.width, self.box.height)

    def mapped(self, affine: Affine, *, width_factor: float) -> Window:
        """The window moved and scaled; widths are multiplied by the factor.

        Raises: ValueError, if the map is flat
        """
        if affine == Affine() and width_factor == 1.0:
            return self

        groups: list[Regions] = [(self.outline,), *[(pane.region,) for pane in self.panes]]
        groups += [member.area for member in self.members]
        groups += [stroke.area for stroke in self.paint]
        (outline,), *areas = mapped_groups(groups, affine)
        panes, members = len(self.panes), len(self.members)
        lines = mapped_rings([member.centreline for member in self.members], affine)
        return Window(
            name=self.name,
            outline=outline,
            panes=tuple(
                [
                    Pane(
                        id=p.id,
                        region=region,
                        seed_point=affine.apply(p.seed_point),
                        fill=p.fill,
                        glass=p.glass,
                    )
                    for p, (region,) in zip(self.panes, areas[:panes], strict=True)
                ]
            ),
            members=tuple(
                [
                    Member(
                        id=m.id,
                        role=m.role,
                        width_mm=m.width_mm * width_factor,
                        area=area,
                        centreline=line,
                    )
                    for m, line, area in zip(
                        self.members, lines, areas[panes : panes + members], strict=True
                    )
                ]
            ),
            paint=tuple(
                PaintStroke(area=area, width_mm=stroke.width_mm * width_factor, tone=stroke.tone)
                for stroke, area in zip(self.paint, areas[panes + members :], strict=True)
            ),
        )
