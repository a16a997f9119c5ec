"""Boards, cutters, and the frame made of them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from glasswork.model.geometry import Affine, Point, Region, Regions


class Face(StrEnum):
    FRONT = "front"
    BACK = "back"


class Level(StrEnum):
    """inner: next to the film · outer: raised on the inner one · retainer: the ring behind."""

    INNER = "inner"
    OUTER = "outer"
    RETAINER = "retainer"


class Made(StrEnum):
    CUT = "cut"
    PRINTED = "printed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """Sheet material of the frame layers.

    web_refuse_mm, web_warn_mm : narrowest width left standing that is refused / warned of
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutter:
    """What cuts the board. kerf_mm : width of the material removed; 0 for a knife."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberMade:
    """How one member is made, and why."""

    member: str
    made: Made
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ear:
    """A break-off tab with a pin hole, the same on every layer and film."""

    tab: Region
    hole_centre: Point
    hole_diameter_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameLayer:
    """One cut layer, its finished shape in panel millimetres seen from the front.

    pieces : each one connected part, pin ears joined on, holes open
    panel_to_file : map into the cut file; back faces are mirrored so that the cut face shows
    """

    file: str
    face: Face
    level: Level
    board: str
    thickness_mm: float
    pieces: Regions
    min_web_mm: float
    panel_to_file: Affine


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPath:
    """A path the cutter follows, kerf applied.

    operation : "hole", "inside" or "outline" (cut in this order), "score" or "engrave"
    """

    operation: str
    points: tuple[Point, ...]
    closed: bool = True
    label: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """The panel in its opening; spare_mm is the recess less the thickness.

    layers_mm : thickness of each layer, front to back, films and glue lines included
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposedEdge:
    """A place where white light may show beside a member."""

    pane: str
    place: Point
    cover_mm: float
    needed_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Registration:
    """The tolerance budget. contributions : (name, ± mm) at the worst place of the panel."""

    contributions: tuple[tuple[str, float], ...]
    worst_case_mm: float
    rss_mm: float
    min_cover_mm: float
    bleed_mm: float
    exposed: tuple[ExposedEdge, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NestSheet:
    """One bed-sized sheet: for each part its layer file, piece number and place."""

    number: int
    bed_mm: tuple[float, float]
    board: str
    parts: tuple[tuple[str, int, Affine], ...]
    used: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FramePlan:
    """The frame, decided.

    outline : the panel's edge
    layers : front to back: front outer, front inner, back inner, back outer; then the retainer
    cut : what the front inner layer covers inside the panel, without ears
    printed : what is printed as opaque black on every film
    glass_limit : for each pane id, the area its ink fills, bleed under the leads included
    film_trim : where the film is trimmed, pin ears included
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
