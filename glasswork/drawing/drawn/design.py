"""A drawn window before it is written: glass in the order it is painted, leads over it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

from msgspec import Struct

from glasswork.drawing.drawn.curves import Arc, Curve, Loop, area_mm2, number, path_data
from glasswork.model.window import Role

_INK = "#101010"
_ORDER = (Role.LEAD, Role.BAR, Role.MULLION, Role.BORDER)
_PLURAL = {
    Role.LEAD: "leads",
    Role.BAR: "bars",
    Role.MULLION: "mullions",
    Role.BORDER: "border",
}


class GlassPiece(Struct, frozen=True, kw_only=True):
    """A closed shape of one colour; what is painted later lies over it."""

    loop: Loop
    colour: str


class DrawnLead(Struct, frozen=True, kw_only=True):
    """A line of leading by its middle. closed : its end runs into its start"""

    curves: tuple[Curve, ...]
    role: Role
    width_mm: float
    closed: bool = False


@dataclass(slots=True, kw_only=True)
class Design:
    """A window being drawn; millimetres from its top left corner, y down.

    solid : what between leads is too small for glass, and is filled with lead
    notes : what was changed on the way, for people
    """

    title: str
    width_mm: float
    height_mm: float
    glass: list[GlassPiece] = field(default_factory=list)
    leads: list[DrawnLead] = field(default_factory=list)
    solid: list[Loop] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def paint(self, loop: Loop, colour: str | None) -> None:
        """Glass of a colour, where the scheme gives one."""
        if colour is not None and abs(area_mm2(loop)) > 1e-9:
            self.glass.append(GlassPiece(loop=loop, colour=colour))

    def lead(self, curves: Iterable[Curve], role: Role, width_mm: float) -> None:
        """A line of leading, closed if it ends where it starts."""
        line = tuple(curves)
        (x0, y0), (x1, y1) = line[0].start, line[-1].end
        closed = abs(x0 - x1) < 1e-9 and abs(y0 - y1) < 1e-9
        self.leads.append(DrawnLead(curves=line, role=role, width_mm=width_mm, closed=closed))

    def svg(self) -> bytes:
        """The design as SVG: glass below, leads above by role, 1 user unit = 1 mm."""
        wide, high = number(self.width_mm), number(self.height_mm)
        told = " ".join((self.title + ".", *self.notes))
        said = [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" '
            f'viewBox="0 0 {wide} {high}">',
            f"<title>{escape(self.title)}</title>",
            f"<desc>{escape(told)}</desc>",
        ]
        if self.glass:
            said.append('<g id="glass" stroke="none">')
            said += [
                f'<path fill="{piece.colour}" d="{path_data(piece.loop, closed=True)}"/>'
                for piece in self.glass
            ]
            said.append("</g>")
        if self.solid:
            said.append(f'<g class="mullion" data-part="solid" fill="{_INK}" stroke="none">')
            said += [f'<path d="{path_data(loop, closed=True)}"/>' for loop in self.solid]
            said.append("</g>")
        for role in _ORDER:
            said += _group(role, [lead for lead in self.leads if lead.role is role])
        said.append("</svg>\n")
        return "\n".join(said).encode()


def _group(role: Role, leads: Sequence[DrawnLead]) -> list[str]:
    """The lines of one role, one group for each width."""
    said = []
    join = "miter" if role is Role.BORDER else "round"
    cap = "round" if role is Role.LEAD else "butt"
    for width in sorted({lead.width_mm for lead in leads}):
        said.append(
            f'<g class="{role.value}" data-part="{_PLURAL[role]}" fill="none" stroke="{_INK}" '
            f'stroke-width="{number(width)}" stroke-linecap="{cap}" stroke-linejoin="{join}" '
            f'stroke-miterlimit="8">'
        )
        for lead in leads:
            if lead.width_mm == width:
                said.append(_line(lead))
        said.append("</g>")
    return said


def _line(lead: DrawnLead) -> str:
    """One line: a circle as `circle`, else a path."""
    first = lead.curves[0]
    whole = lead.closed and isinstance(first, Arc)
    if whole and all(
        isinstance(c, Arc) and c.centre == first.centre and c.radius == first.radius  # type: ignore[union-attr]
        for c in lead.curves
    ):
        assert isinstance(first, Arc)
        x, y = first.centre
        return f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(first.radius)}"/>'
    return f'<path d="{path_data(lead.curves, closed=lead.closed)}"/>'
