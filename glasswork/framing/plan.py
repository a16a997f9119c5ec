"""The frame, decided: a line per step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor

from msgspec import Struct, field

from glasswork.framing.advice import Bed, Choices, check_border, larger_panel, smaller_panel
from glasswork.framing.assembled import assemble, sample_edges
from glasswork.framing.bleed import Edges, edges_of, exposed_edges, glass_limits
from glasswork.framing.border import border_width_mm
from glasswork.framing.ears import ear_size, film_outline, place_ears, with_ears
from glasswork.framing.fit import (
    build_fit,
    build_stack,
    check_drawn_opening,
    check_fit,
    check_rebate,
    fit_findings,
    opening_for,
)
from glasswork.framing.jig import build_jig
from glasswork.framing.kerf import file_place
from glasswork.framing.labels import ear_marks
from glasswork.framing.layers import Shapes, build_shapes
from glasswork.framing.made import (
    CutSet,
    check_means,
    check_window,
    cut_in_one_piece,
    decide,
    narrowest_cut_mm,
)
from glasswork.framing.nest import nest, parts_of
from glasswork.framing.printed import printed_area
from glasswork.framing.slender import slender_members
from glasswork.framing.tolerance import (
    Contributions,
    bleed_for,
    contributions,
    rss_mm,
    worst_case_mm,
)
from glasswork.framing.uses import role_uses
from glasswork.framing.weak import weak_findings, weak_places, with_narrow_members
from glasswork.model.film import PrinterProfile
from glasswork.model.finding import Finding, Severity
from glasswork.model.frame import (
    Assembled,
    Board,
    Cutter,
    Ear,
    Face,
    FrameLayer,
    FramePlan,
    Level,
    Made,
    Registration,
    WeakPlace,
)
from glasswork.model.geometry import Region, Regions
from glasswork.model.window import Role, Window
from glasswork.planar import AreaSet

MARGIN_MM = 2.0
FILM_INSET_MM = 1.0
"""Room round a part in its file, and how far the film's edge stays inside the panel's."""


class Means(Struct, frozen=True, kw_only=True):
    """What the frame is made with."""

    inner: Board
    outer: Board
    retainer: Board
    cutter: Cutter
    grained: frozenset[str] = field(default=frozenset())

    @property
    def boards(self) -> dict[Level, Board]:
        return {
            Level.INNER: self.inner,
            Level.OUTER: self.outer,
            Level.RETAINER: self.retainer,
        }


def plan_frame(
    window: Window,
    board: Board,
    cutter: Cutter,
    *,
    printer: PrinterProfile,
    films: int,
    opening_mm: tuple[float, float] | None = None,
    clearance_mm: float = 0.5,
    recess_mm: float | None = None,
    members: Mapping[str, str] | None = None,
    boards: Mapping[Level, Board] | None = None,
    step_mm: float | None = None,
    rebate_mm: float = 0.0,
    opening: Region | None = None,
    jig: bool = False,
    uses: Mapping[Role, str] | None = None,
    choices: Choices = Choices(),  # noqa: B008 - frozen
) -> tuple[FramePlan, tuple[Finding, ...]]:
    """The frame of a window.

    films : how many lie in the stack
    opening_mm, recess_mm : size and depth of what the panel drops into, where known
    members : member id -> "cut" or "printed"
    boards : a board of its own for a level
    step_mm : how far the outer layer stands back; chosen from board and border if not given
    rebate_mm : how much of the border the opening's lip hides
    opening : the opening's own outline in panel mm, where it is known
    jig : an assembly tray is wanted
    uses : role -> printed, inner, raised, raised-front or raised-back, where not as usual
    choices : what could be changed, for the advice of a refusal

    Raises: FrameError, or Faults, if the frame cannot be cut or does not fit
    """
    means = _means(board, cutter, boards or {})
    check_fit(window.outline, opening_mm=opening_mm, clearance_mm=clearance_mm, recess_mm=recess_mm)
    check_window(window, cutter)
    seen = (
        ()
        if opening is None
        else check_drawn_opening(window.outline, opening, clearance_mm=clearance_mm)
    )
    limit = narrowest_cut_mm(means.inner, cutter)
    by_role = role_uses(uses or {})
    wished = by_role.wished(window, members or {})
    made = decide(window, limit, wished=wished, straight_only=cutter.straight_only)
    bed = Bed(boards=tuple(means.boards.values()), cutter=cutter, jig=jig, margin_mm=MARGIN_MM)
    cut, loose = cut_in_one_piece(
        window,
        made,
        web_mm=means.inner.web_refuse_mm,
        stay_mm=limit,
        check_border=lambda items: check_border(window, items, bed, choices),
    )
    hidden = check_rebate(border_width_mm(window), rebate_mm)
    shapes, low = build_shapes(
        window,
        cut,
        inner_kerf_mm=cutter.kerf_for(means.inner.thickness_mm),
        retainer_kerf_mm=cutter.kerf_for(means.retainer.thickness_mm),
        outer=means.outer,
        cutter=cutter,
        step_mm=step_mm,
        raised=by_role.raised,
    )
    parts = contributions(window.size_mm, means.inner, means.cutter, printer)
    panes = AreaSet.of_regions([pane.region for pane in window.panes])
    edges = _edges(window, cut, panes, parts)
    limits = glass_limits(panes, cut.leads, edges)
    registration, assembled, bare = _register(window, cut, (panes, edges), parts)
    with ThreadPoolExecutor(1) as aside:  # the engine computes beside Python
        printed = aside.submit(printed_area, window, cut, shapes.inner, (limits, edges))
        ears = place_ears(
            window.outline,
            ear_size(window.size_mm, _widest_web(means)),
            advice=lambda: larger_panel(window, bed, choices),
        )
        tray = build_jig(window.outline, ears, means.inner, margin_mm=MARGIN_MM) if jig else ()
        layers, narrow = _layers(shapes, ears, means)
        narrow = with_narrow_members(narrow, window, cut, means.inner)
        weak = (*narrow, *slender_members(window, cut.made, means.inner, leads=cut.leads))
        stack = build_stack(
            outer=means.outer, inner=means.inner, films=films, film_mm=printer.film_thickness_mm
        )
        fit = build_fit(
            window.outline,
            stack,
            opening_mm=opening_mm,
            clearance_mm=clearance_mm,
            recess_mm=recess_mm,
            rebate_mm=rebate_mm,
        )
        sheets = nest(
            parts_of((*layers, *tray), grained=means.grained),
            cutter.bed_mm,
            advice=lambda: smaller_panel(window, bed, choices),
        )
    plan = FramePlan(
        outline=window.outline,
        layers=layers,
        made=cut.made,
        cut=shapes.inner.regions(),
        printed=printed.result(),
        glass_limit=tuple(
            (pane.id, limit) for pane, limit in zip(window.panes, limits, strict=True)
        ),
        film_trim=film_outline(window.outline, ears, inset_mm=_inset_mm(window), glass=panes),
        ears=ears,
        fit=fit,
        registration=registration,
        sheets=sheets,
        weak=weak,
        stays=cut.stays,
        assembled=assembled,
        opening=opening or opening_for(window.outline, clearance_mm),
        opening_drawn=opening is not None,
        jig=tray,
        step_mm=shapes.step_mm,
    )
    fits = fit_findings(fit, outer=means.outer, inner=means.inner, retainer=means.retainer)
    return plan, (*seen, *hidden, *loose, *low, *weak_findings(weak, means.boards), *fits, *bare)


def _means(board: Board, cutter: Cutter, boards: Mapping[Level, Board]) -> Means:
    chosen = {level: boards.get(level, board) for level in Level}
    for one in dict.fromkeys(chosen.values()):
        check_means(one, cutter)
    return Means(
        inner=chosen[Level.INNER],
        outer=chosen[Level.OUTER],
        retainer=chosen[Level.RETAINER],
        cutter=cutter,
        grained=frozenset(one.name for one in chosen.values() if one.grain),
    )


def _widest_web(means: Means) -> float:
    return max(means.inner.web_refuse_mm, means.outer.web_refuse_mm)


def _inset_mm(window: Window) -> float:
    return min(FILM_INSET_MM, border_width_mm(window) / 3.0)


def _layers(
    shapes: Shapes, ears: Sequence[Ear], means: Means
) -> tuple[tuple[FrameLayer, ...], tuple[WeakPlace, ...]]:
    """Front outer, front inner, back inner, back outer, retainer, and their weak places."""
    inner = with_ears(shapes.inner.regions(), ears)
    front, back = (with_ears(shapes.outer[face].regions(), ears) for face in Face)
    weak: dict[WeakPlace, None] = {}
    built: dict[tuple[Level, Regions], float] = {}
    for level, pieces, board in (
        (Level.INNER, inner, means.inner),
        (Level.OUTER, front, means.outer),
        (Level.OUTER, back, means.outer),
        (Level.RETAINER, shapes.retainer.regions(), means.retainer),
    ):
        if (level, pieces) not in built:
            found, built[level, pieces] = weak_places(pieces, level, board)
            weak |= dict.fromkeys(found)

    def layer(face: Face, level: Level, board: Board, pieces: Regions) -> FrameLayer:
        least = built[level, pieces]
        back = face is Face.BACK
        place, size = file_place(pieces, mirrored=back, margin_mm=MARGIN_MM)
        ring = level is Level.RETAINER
        return FrameLayer(
            file=level.value if ring else f"{face.value}-{level.value}",
            face=face,
            level=level,
            board=board.name,
            thickness_mm=board.thickness_mm,
            pieces=pieces,
            min_web_mm=least,
            panel_to_file=place,
            file_mm=size,
            marks=() if ring else ear_marks(_code(face, level), ears, place),
        )

    return (
        layer(Face.FRONT, Level.OUTER, means.outer, front),
        layer(Face.FRONT, Level.INNER, means.inner, inner),
        layer(Face.BACK, Level.INNER, means.inner, inner),
        layer(Face.BACK, Level.OUTER, means.outer, back),
        layer(Face.BACK, Level.RETAINER, means.retainer, shapes.retainer.regions()),
    ), tuple(weak)


def _code(face: Face, level: Level) -> str:
    """F or B, and I or O: what is engraved on a layer's ears."""
    return face.value[0].upper() + level.value[0].upper()


def _edges(window: Window, cut: CutSet, panes: AreaSet, parts: Contributions) -> Edges:
    """What ink runs on under, by the bleed that the tolerance budget asks for."""
    bleed = bleed_for(worst_case_mm(parts))
    return edges_of(window, panes, cut.leads, bleed_mm=bleed, printed=cut.which(Made.PRINTED))


def _register(
    window: Window, cut: CutSet, ink: tuple[AreaSet, Edges], parts: Contributions
) -> tuple[Registration, Assembled, tuple[Finding, ...]]:
    """The tolerance budget, and the edges that it leaves bare."""
    panes, edges = ink
    worst = worst_case_mm(parts)
    bare, least = exposed_edges(
        window, cut.made, edges, panes=panes, leads=cut.leads, needed_mm=worst
    )
    registration = Registration(
        contributions=parts,
        worst_case_mm=worst,
        rss_mm=rss_mm(parts),
        min_cover_mm=least,
        bleed_mm=edges.bleed_mm,
        exposed=bare,
    )
    sample = sample_edges(window, edges, cut.made, panes=panes, leads=cut.leads)
    assembled = assemble(sample, parts, half_mm=max(window.size_mm) / 2.0)
    return registration, assembled, _bare_findings(registration)


def _bare_findings(registration: Registration) -> tuple[Finding, ...]:
    bare = registration.exposed
    if not bare:
        return ()
    likely = registration.min_cover_mm < registration.rss_mm
    return (
        Finding(
            severity=Severity.WARNING if likely else Severity.NOTE,
            where="frame, registration",
            what=f"{len(bare)} edges of cut leads cover {registration.min_cover_mm:.2f} mm, "
            f"the worst case is {registration.worst_case_mm:.2f} mm (usual "
            f"{registration.rss_mm:.2f} mm)",
            hint="have these members printed, widen them, or measure the print scale",
            place=bare[0].place,
        ),
    )
