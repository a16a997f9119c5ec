"""report.json: what a pack promises. Keys are stable; the unit stands in the name."""

from __future__ import annotations

from typing import Final

import msgspec

REPORT_FILE: Final = "report.json"

Pair = tuple[float, float]
Triple = tuple[float, float, float]
Six = tuple[float, float, float, float, float, float]


class FilmPageReport(msgspec.Struct, frozen=True, kw_only=True):
    """Where one film lies on its page of films.pdf. page, film and copy count from 1.

    marks_mm : centres of the registration marks; rules_mm : ends of the 100 mm rules; page mm
    part, parts : of a film too large for a page; then panes : the ids of those on this part, and
        trim_mm : where it is trimmed, panel mm; both empty for a whole film
    """

    page: int
    film: int
    mirrored: bool
    panel_to_page_mm: Six
    marks_mm: tuple[Pair, ...]
    rules_mm: tuple[tuple[Pair, Pair], ...] = ()
    copy: int = 1
    part: int = 1
    parts: int = 1
    panes: tuple[str, ...] = ()
    trim_mm: tuple[Pair, ...] = ()


class PrintedLeadsReport(msgspec.Struct, frozen=True, kw_only=True):
    """How the printed leads are inked.

    device : 8-bit device values, one triple a film
    visual_density : of the stack, above the clear stack
    ink : on each film, 2.4 for 240 %
    places_mm : panel mm, the middles of the broadest, where their colour can be measured
    """

    device: tuple[tuple[int, int, int], ...]
    visual_density: float
    ink: float
    places_mm: tuple[Pair, ...]


class FilmsReport(msgspec.Struct, frozen=True, kw_only=True):
    """page_mm : size of every page of films.pdf
    leads : None where no lead is printed
    """

    count: int
    identical: bool
    pages: tuple[FilmPageReport, ...]
    page_mm: Pair = (0.0, 0.0)
    leads: PrintedLeadsReport | None = None


class PaneReport(msgspec.Struct, frozen=True, kw_only=True):
    """One pane; device holds the 8-bit integers printed, one triple a film.

    finish : "clear" for flat glass; else device is the flat colour under the surface
    seed_point_mm : where the pane's own ink has the most room, seed_room_mm all round; 0 where
        opaque paint covers all of it
    ink_outline_mm : what the ink fills, of a pane so pale that it may look like bare film
    """

    id: str
    glass: str
    area_mm2: float
    seed_point_mm: Pair
    target_lab: Triple
    predicted_lab: Triple
    delta_e00: float
    device: tuple[tuple[int, int, int], ...]
    status_a_density: Triple
    in_reach: bool
    finish: str = "clear"
    seed_room_mm: float = 1.0
    ink_outline_mm: tuple[tuple[Pair, ...], ...] = ()


class FilmsTableReport(msgspec.Struct, frozen=True, kw_only=True):
    """What this many films would do: mean over the glass area, and the share within ΔE00 3."""

    count: int
    mean_delta_e00: float
    area_within_3: float


class MemberReport(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    role: str
    width_mm: float
    made: str


class FrameReport(msgspec.Struct, frozen=True, kw_only=True):
    """One frame layer.

    area_mm2 : of the finished parts, the kerf taken off
    twin : the file of the other face that it coincides with; empty if it has none
    board : the profile of its board
    """

    file: str
    face: str
    level: str
    thickness_mm: float
    pieces: int
    min_web_mm: float
    panel_to_file_mm: Six
    area_mm2: float = 0.0
    kerf_mm: float = 0.0
    twin: str = ""
    board: str = ""


class FitReport(msgspec.Struct, frozen=True, kw_only=True):
    opening_mm: Pair | None
    clearance_mm: float
    recess_mm: float | None
    spare_mm: float | None
    thickness_worst_mm: float
    thickness_rss_mm: float
    layers_mm: tuple[tuple[str, float], ...]
    rebate_mm: float = 0.0
    step_mm: float = 0.0
    drawn_opening: bool = False


class WeakReport(msgspec.Struct, frozen=True, kw_only=True):
    """A place of the board narrower than it should be, or a member too slender.

    kind : "web", "tip" or "slender"
    value, limit : width in mm, or a slender member's sag in mm, and what is asked
    """

    kind: str
    level: str
    place_mm: Pair
    value: float
    limit: float
    member: str = ""


class StayReport(msgspec.Struct, frozen=True, kw_only=True):
    """A strip that ties a loose part. holds : its members · along : printed members it lies over"""

    holds: tuple[str, ...]
    along: tuple[str, ...]
    width_mm: float


class AssembledReport(msgspec.Struct, frozen=True, kw_only=True):
    """Panels assembled by lot: in which share light shows beside a member, and how wide it is."""

    runs: int
    seed: int
    white_share: float
    white_mean_mm: float
    colour_share: float
    colour_mean_mm: float


class ExposedReport(msgspec.Struct, frozen=True, kw_only=True):
    """An edge whose cover is smaller than the tolerance needs."""

    pane: str
    place_mm: Pair
    cover_mm: float
    needed_mm: float


class RegistrationReport(msgspec.Struct, frozen=True, kw_only=True):
    worst_case_mm: float
    rss_mm: float
    min_cover_mm: float
    bleed_mm: float
    contributions_mm: dict[str, float]
    exposed: tuple[ExposedReport, ...]
    assembled: AssembledReport | None = None


class LightReport(msgspec.Struct, frozen=True, kw_only=True):
    """The light behind the panel, and the light box planned for it.

    throughput : luminous transmittance of the lit clear stack
    panel_throughput : the same of the whole panel's glass
    leds : how many, in columns and rows pitch_mm apart; evenness : least over most light
    """

    name: str
    title: str
    cct_k: float | None
    xy: Pair | None
    throughput: float
    panel_throughput: float
    depth_mm: float
    leds: int
    pitch_mm: Pair
    evenness: float
    resistor_ohm: float
    current_ma: float


class FindingReport(msgspec.Struct, frozen=True, kw_only=True):
    severity: str
    where: str
    what: str
    hint: str
    place_mm: Pair | None = None


class CheckReport(msgspec.Struct, frozen=True, kw_only=True):
    """One line of verify: what was measured in the files against what was promised."""

    check: str
    promised: str
    measured: str
    limit: str
    ok: bool


class Report(msgspec.Struct, frozen=True, kw_only=True):
    """The whole of report.json.

    files_sha256 : every other file of the pack
    by_hand : mean ΔE00 over the window's glasses if their sRGB were printed as it is, by film
        count
    """

    version: int
    design: str
    size_mm: Pair
    thickness_mm: float
    films: FilmsReport
    panes: tuple[PaneReport, ...]
    films_table: tuple[FilmsTableReport, ...]
    by_hand: dict[str, float]
    members: tuple[MemberReport, ...]
    frames: tuple[FrameReport, ...]
    fit: FitReport
    registration: RegistrationReport
    light: LightReport
    findings: tuple[FindingReport, ...]
    cautions: tuple[str, ...]
    timings_s: dict[str, float]
    weak: tuple[WeakReport, ...] = ()
    stays: tuple[StayReport, ...] = ()
    files_sha256: dict[str, str] = {}
    verified: tuple[CheckReport, ...] = ()
