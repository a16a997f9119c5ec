"""Boards, cutters, and the frame made of them."""

from __future__ import annotations

from enum import StrEnum
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from glasswork.model.geometry import Affine, Point, Region, Regions


class Face(StrEnum):
    FRONT = "front"
    BACK = "back"


class Level(StrEnum):
    """inner: next to the film · outer: raised on the inner one · retainer: the ring behind ·
    jig: the tray to assemble in.
    """

    INNER = "inner"
    OUTER = "outer"
    RETAINER = "retainer"
    JIG = "jig"


class Made(StrEnum):
    CUT = "cut"
    PRINTED = "printed"


class Board(Struct, frozen=True, kw_only=True):
    """Sheet material of the frame layers.

    web_refuse_mm, web_warn_mm : narrowest width left standing that is refused / warned of
    growth : ± share by which it grows or shrinks with the room's damp
    modulus_mpa : Young's modulus in bending
    grain : it has a grain, so parts are not turned on the sheet
    """

    name: str
    title: str
    thickness_mm: float
    tolerance_mm: float
    web_refuse_mm: float
    web_warn_mm: float
    growth: float = 0.0
    laser: bool = True
    source: str = ""
    modulus_mpa: float = 2500.0
    grain: bool = False


class Cutter(Struct, frozen=True, kw_only=True):
    """What cuts the board.

    kerf_mm : width of the material removed; 0 for a knife
    kerf_by_thickness : pairs (board thickness, kerf), thickness rising; between them the kerf is
        interpolated, outside them the nearest counts; kerf_mm where there are none
    straight_only : it cuts straight lines only
    """

    name: str
    title: str
    kind: str
    kerf_mm: float
    accuracy_mm: float
    corner_radius_mm: float
    min_width_mm: float
    bed_mm: tuple[float, float]
    max_board_mm: float
    source: str = ""
    kerf_by_thickness: tuple[tuple[float, float], ...] = ()
    straight_only: bool = False

    def kerf_for(self, thickness_mm: float) -> float:
        """Kerf in a board of this thickness, mm."""
        table = self.kerf_by_thickness
        if not table:
            return self.kerf_mm
        if thickness_mm <= table[0][0]:
            return table[0][1]
        for (t0, k0), (t1, k1) in pairwise(table):
            if thickness_mm <= t1:
                return k0 + (k1 - k0) * (thickness_mm - t0) / (t1 - t0)
        return table[-1][1]


class MemberMade(Struct, frozen=True, kw_only=True):
    """How one member is made, and why."""

    member: str
    made: Made
    why: str


class Stay(Struct, frozen=True, kw_only=True):
    """A strip of board that ties a loose part to the frame.

    holds : members of the part · along : printed members that it lies over
    """

    holds: tuple[str, ...]
    along: tuple[str, ...]
    width_mm: float
    area: Regions


class Ear(Struct, frozen=True, kw_only=True):
    """A break-off tab with a pin hole, the same on every layer and film.

    neck : the two ends of the line at the panel's edge along which it breaks off
    """

    tab: Region
    hole_centre: Point
    hole_diameter_mm: float
    neck: tuple[Point, ...] = ()


class CutPath(Struct, frozen=True, kw_only=True):
    """A path the cutter follows, kerf applied.

    operation : "hole", "inside" or "outline" (cut in this order), "score" or "engrave"
    bulges : for each point, the tangent of a quarter of the angle of the arc that leaves it for
        the next, positive where y-down turns clockwise on paper (x towards y); 0 is a straight
        line; empty where all is straight
    """

    operation: str
    points: tuple[Point, ...]
    closed: bool = True
    label: str = ""
    bulges: tuple[float, ...] = ()

    def mapped(self, affine: Affine) -> CutPath:
        """The path moved; a map that mirrors turns the arcs over."""
        sign = -1.0 if affine.mirrors else 1.0
        return replace(
            self, points=affine.ring(self.points), bulges=tuple(sign * b for b in self.bulges)
        )


class FrameLayer(Struct, frozen=True, kw_only=True):
    """One cut layer, its finished shape in panel millimetres seen from the front.

    pieces : each one connected part, pin ears joined on, holes open
    panel_to_file : map into the cut file; back faces are mirrored so that the cut face shows
    file_mm : width and height of the cut file
    marks : what is scored and engraved, in file mm
    """

    file: str
    face: Face
    level: Level
    board: str
    thickness_mm: float
    pieces: Regions
    min_web_mm: float
    panel_to_file: Affine
    file_mm: tuple[float, float] = (0.0, 0.0)
    marks: tuple[CutPath, ...] = ()


class CutDrawing(Struct, frozen=True, kw_only=True):
    """One cut file, by its path in the pack without the ending; paths in file mm."""

    file: str
    title: str
    size_mm: tuple[float, float]
    paths: tuple[CutPath, ...]


class Fit(Struct, frozen=True, kw_only=True):
    """The panel in its opening; spare_mm is the recess less the thickness.

    layers_mm : thickness of each layer, front to back, films and glue lines included
    rebate_mm : how much of the border the opening's lip hides
    """

    panel_mm: tuple[float, float]
    thickness_mm: float
    thickness_worst_mm: float
    thickness_rss_mm: float
    opening_mm: tuple[float, float] | None
    clearance_mm: float
    recess_mm: float | None
    spare_mm: float | None
    layers_mm: tuple[tuple[str, float], ...]
    rebate_mm: float = 0.0


class ExposedEdge(Struct, frozen=True, kw_only=True):
    """A place where white light, or the neighbour's colour, may show beside a member."""

    pane: str
    place: Point
    cover_mm: float
    needed_mm: float


class WeakPlace(Struct, frozen=True, kw_only=True):
    """Board narrower than it should be, or a member too slender.

    kind : "web" (between two openings), "tip" (a pointed end) or "slender" (a long member)
    value, limit : the width in mm, or for a slender member its sag in mm, and what is asked
    """

    kind: str
    level: Level
    place: Point
    value: float
    limit: float
    member: str = ""


class Registration(Struct, frozen=True, kw_only=True):
    """The tolerance budget. contributions : (name, ± mm) at the worst place of the panel."""

    contributions: tuple[tuple[str, float], ...]
    worst_case_mm: float
    rss_mm: float
    min_cover_mm: float
    bleed_mm: float
    exposed: tuple[ExposedEdge, ...]


class Assembled(Struct, frozen=True, kw_only=True):
    """Panels assembled by lot.

    white_share, white_mean_mm : share of the panels in which bare light shows beside the border,
        and how wide on average
    colour_share, colour_mean_mm : the same for a neighbour's colour beside a lead
    """

    runs: int
    seed: int
    white_share: float
    white_mean_mm: float
    colour_share: float
    colour_mean_mm: float


class NestSheet(Struct, frozen=True, kw_only=True):
    """One bed-sized sheet: for each part its layer file, piece number and place."""

    number: int
    bed_mm: tuple[float, float]
    board: str
    parts: tuple[tuple[str, int, Affine], ...]
    used: float


class FramePlan(Struct, frozen=True, kw_only=True):
    """The frame, decided.

    outline : the panel's edge
    layers : front to back: front outer, front inner, back inner, back outer; then the retainer
    cut : what the front inner layer covers inside the panel, without ears
    printed : what is printed black on every film
    glass_limit : for each pane id, the area its ink fills, bleed under the leads included
    film_trim : where the film is trimmed, pin ears included
    weak : every weak place of the layers, worst first
    jig : floor and wall of the assembly tray, where wanted
    assembled : how panels made to this plan come out, drawn by lot
    stays : strips that hold loose parts, on the inner layers
    opening : the edge of the opening that leaves the clearance all round, or the drawn one
    opening_drawn : the maker has drawn the opening
    step_mm : how far the outer layers stand back at the glass
    """

    outline: Region
    layers: tuple[FrameLayer, ...]
    made: tuple[MemberMade, ...]
    cut: Regions
    printed: Regions
    glass_limit: tuple[tuple[str, Regions], ...]
    film_trim: Region
    ears: tuple[Ear, ...]
    fit: Fit
    registration: Registration
    sheets: tuple[NestSheet, ...]
    weak: tuple[WeakPlace, ...] = ()
    stays: tuple[Stay, ...] = ()
    assembled: Assembled | None = None
    jig: tuple[FrameLayer, ...] = ()
    opening: Region | None = None
    opening_drawn: bool = False
    step_mm: float = 0.0
