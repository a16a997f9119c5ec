"""The panel in its opening: outline with clearance, thickness against the recess."""

from __future__ import annotations

from math import sqrt

from glasswork.errors import FrameError
from glasswork.framing.offset import offset_region
from glasswork.model.finding import Finding, Severity
from glasswork.model.frame import Board, Fit
from glasswork.model.geometry import Region
from glasswork.planar import Area

GLUE_MM, GLUE_TOLERANCE_MM = 0.05, 0.03
FILM_TOLERANCE_SHARE = 0.05
"""Thickness of a glue line, and how well it and a film keep to it; common practice."""
LEAST_REVEAL_MM = 1.5
"""The border should show this much beside the opening's lip; common practice."""
WIDE_GAP = 3.0
_HAIR_MM = 0.001

Stack = tuple[tuple[str, float, float], ...]
"""Name, thickness and its ± tolerance, front to back."""


def build_stack(*, outer: Board, inner: Board, films: int, film_mm: float) -> Stack:
    """Front outer, front inner, films, back inner, back outer, with a glue line in every joint."""
    film = (film_mm, film_mm * FILM_TOLERANCE_SHARE)
    boards = {
        "front outer": (outer.thickness_mm, outer.tolerance_mm),
        "front inner": (inner.thickness_mm, inner.tolerance_mm),
        **{f"film {number}": film for number in range(1, films + 1)},
        "back inner": (inner.thickness_mm, inner.tolerance_mm),
        "back outer": (outer.thickness_mm, outer.tolerance_mm),
    }
    stack: list[tuple[str, float, float]] = []
    for name, (thick, tolerance) in boards.items():
        if stack:
            stack.append((f"glue under {stack[-1][0]}", GLUE_MM, GLUE_TOLERANCE_MM))
        stack.append((name, thick, tolerance))
    return tuple(stack)


def thickness_mm(stack: Stack) -> tuple[float, float, float]:
    """Sum, its worst-case ± and its root-sum-square ±.

    Source: [scholz1995]
    """
    total = sum(thick for _, thick, _ in stack)
    worst = sum(tolerance for _, _, tolerance in stack)
    return total, worst, sqrt(sum(tolerance**2 for _, _, tolerance in stack))


def opening_for(outline: Region, clearance_mm: float) -> Region:
    """The opening that leaves this clearance all round, corners kept sharp and arches true.

    Raises: FrameError, if the clearance closes the outline
    """
    return _one(outline, clearance_mm, "clearance")


def panel_for(opening: Region, clearance_mm: float) -> Region:
    """The panel that leaves this clearance all round in an opening.

    Raises: FrameError, if nothing is left of the opening, or it falls apart
    """
    return _one(opening, -clearance_mm, "clearance")


def _one(outline: Region, mm: float, what: str) -> Region:
    left = offset_region(outline, mm)
    if len(left) != 1:
        box = outline.box
        raise FrameError(
            f"frame, {what}",
            f"{abs(mm):g} mm on every side leaves "
            + ("nothing" if not left else f"{len(left)} pieces")
            + f" of {box.width:.1f} x {box.height:.1f} mm",
            f"make the {what} smaller",
        )
    return left[0]


def check_fit(
    outline: Region,
    *,
    opening_mm: tuple[float, float] | None,
    clearance_mm: float,
    recess_mm: float | None,
) -> None:
    """Raises: FrameError, if a length makes no sense or the panel is larger than its opening"""
    if not 0.0 <= clearance_mm < 100.0:
        raise FrameError(
            "frame, clearance",
            f"{clearance_mm:g} mm is not between 0 and 100",
            "0.3 to 1 mm is usual",
        )
    if recess_mm is not None and not recess_mm > 0.0:
        raise FrameError(
            "frame, recess", f"{recess_mm:g} mm is not over 0", "give the recess depth in mm"
        )
    if opening_mm is None:
        return
    if min(opening_mm) <= 2.0 * clearance_mm:
        raise FrameError(
            "frame, clearance",
            f"{clearance_mm:g} mm on every side leaves nothing of the opening "
            f"{opening_mm[0]:g} x {opening_mm[1]:g} mm",
            "make the clearance smaller",
        )
    need = (outline.box.width + 2.0 * clearance_mm, outline.box.height + 2.0 * clearance_mm)
    if need[0] > opening_mm[0] + _HAIR_MM or need[1] > opening_mm[1] + _HAIR_MM:
        raise FrameError(
            "frame, opening",
            f"panel and clearance need {need[0]:.2f} x {need[1]:.2f} mm, the opening is "
            f"{opening_mm[0]:g} x {opening_mm[1]:g} mm",
            "make the panel or the clearance smaller",
        )


def check_rebate(border_mm: float, rebate_mm: float) -> tuple[Finding, ...]:
    """What is left to see of the border when the opening's lip hides a margin of it.

    Raises: FrameError, if the lip reaches over the glass
    """
    if rebate_mm < 0.0 or rebate_mm >= border_mm:
        raise FrameError(
            "frame, rebate",
            f"{rebate_mm:g} mm is not between 0 and the border's {border_mm:.2f} mm",
            "draw a wider border, or make the rebate smaller",
        )
    seen = border_mm - rebate_mm
    if rebate_mm == 0.0 or seen >= LEAST_REVEAL_MM:
        return ()
    return (
        Finding(
            severity=Severity.WARNING,
            where="frame, rebate",
            what=f"{seen:.2f} mm of the border are seen beside a rebate of {rebate_mm:g} mm, "
            f"{LEAST_REVEAL_MM:g} mm are wanted",
            hint="draw a wider border",
        ),
    )


def check_drawn_opening(
    outline: Region, opening: Region, *, clearance_mm: float
) -> tuple[Finding, ...]:
    """The panel in an opening of any outline: nowhere nearer to its edge than the clearance.

    Raises: FrameError, if it is
    """
    hole, panel = Area.of((Region(opening.outer),)), Area.of((outline,))
    nearest = hole.edge_gap_mm(panel)
    if not (panel - hole).is_empty or nearest < clearance_mm - _HAIR_MM:
        raise FrameError(
            "frame, opening",
            f"the panel comes within {nearest if (panel - hole).is_empty else 0.0:.2f} mm of the "
            f"opening's edge, the clearance is {clearance_mm:g} mm",
            "make the panel smaller, or draw its outline after the opening's",
        )
    widest = max(hole.edge_distance_mm(point) for point in outline.outer)
    if widest <= WIDE_GAP * max(clearance_mm, 0.5):
        return ()
    return (
        Finding(
            severity=Severity.NOTE,
            where="frame, opening",
            what=f"the gap to the opening is up to {widest:.2f} mm wide, the clearance "
            f"{clearance_mm:g} mm",
            hint="draw the panel's outline after the opening's",
        ),
    )


def build_fit(
    outline: Region,
    stack: Stack,
    *,
    opening_mm: tuple[float, float] | None,
    clearance_mm: float,
    recess_mm: float | None,
    rebate_mm: float = 0.0,
) -> Fit:
    """The facts of the fit."""
    total, worst, rss = thickness_mm(stack)
    return Fit(
        panel_mm=(outline.box.width, outline.box.height),
        thickness_mm=total,
        thickness_worst_mm=total + worst,
        thickness_rss_mm=total + rss,
        opening_mm=opening_mm,
        clearance_mm=clearance_mm,
        recess_mm=recess_mm,
        spare_mm=None if recess_mm is None else recess_mm - total,
        layers_mm=tuple((name, thick) for name, thick, _ in stack),
        rebate_mm=rebate_mm,
    )


def fit_findings(fit: Fit, *, outer: Board, inner: Board, retainer: Board) -> tuple[Finding, ...]:
    """What the recess says to the thickness, and what to change."""
    if fit.recess_mm is None or fit.spare_mm is None:
        return ()
    where = "frame, recess"
    if fit.spare_mm < 0.0:
        return (
            Finding(
                severity=Severity.DECISION,
                where=where,
                what=f"the panel is {fit.thickness_mm:.2f} mm thick, the recess "
                f"{fit.recess_mm:g} mm deep: {-fit.spare_mm:.2f} mm too much",
                hint=_thinner(fit, outer, inner),
            ),
        )
    found: list[Finding] = []
    if fit.thickness_worst_mm > fit.recess_mm:
        found.append(
            Finding(
                severity=Severity.WARNING,
                where=where,
                what=f"thick boards may make the panel {fit.thickness_worst_mm:.2f} mm, over the "
                f"recess of {fit.recess_mm:g} mm (usual: up to {fit.thickness_rss_mm:.2f} mm)",
                hint="measure the boards, or deepen the recess",
            )
        )
    if fit.spare_mm < retainer.thickness_mm:
        found.append(
            Finding(
                severity=Severity.NOTE,
                where=where,
                what=f"{fit.spare_mm:.2f} mm are left behind the panel, the retaining ring is "
                f"{retainer.thickness_mm:g} mm thick and will stand proud",
                hint="cut the ring from thinner board",
            )
        )
    return tuple(found)


def _thinner(fit: Fit, outer: Board, inner: Board) -> str:
    """The board that would fit, or the layers to leave out."""
    assert fit.recess_mm is not None
    rest = fit.thickness_mm - 2.0 * (outer.thickness_mm + inner.thickness_mm)
    room = (fit.recess_mm - rest) / 4.0
    if room > 0.1:
        return f"boards of at most {room:.2f} mm in all four layers fit; or deepen the recess"
    return "films and glue alone fill the recess: deepen it"
