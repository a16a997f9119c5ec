"""The window at the size wished for, its top left corner at (0, 0)."""

from __future__ import annotations

from glasswork.errors import DrawingError
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Affine
from glasswork.model.window import Sizing, Window

SMALLEST_MM = 1.0
LARGEST_MM = 100_000.0


def at_size(window: Window, sizing: Sizing) -> tuple[Window, tuple[Finding, ...]]:
    """The window scaled evenly to the panel's size and moved to the origin.

    Raises: DrawingError, if the clearance leaves nothing, or the panel is no size for a window
    """
    place, findings = drawing_to_panel(window, sizing)
    return window.mapped(place, width_factor=place.a), findings


def drawing_to_panel(window: Window, sizing: Sizing) -> tuple[Affine, tuple[Finding, ...]]:
    """The map from the drawing's millimetres to the panel's, and what to know of it.

    Raises: DrawingError, if the clearance leaves nothing, or the panel is no size for a window
    """
    box = window.box
    findings: list[Finding] = []
    factor = sizing.scale
    if sizing.width_mm is not None:
        factor = sizing.width_mm / box.width
    elif sizing.height_mm is not None:
        factor = sizing.height_mm / box.height
    elif sizing.opening_mm is not None:
        wide, high = (side - 2.0 * sizing.clearance_mm for side in sizing.opening_mm)
        if wide <= 0.0 or high <= 0.0:
            w, h = sizing.opening_mm
            raise DrawingError(
                window.name,
                f"a clearance of {sizing.clearance_mm:g} mm leaves nothing of the opening "
                f"{w:g} × {h:g} mm",
                "0.3 to 1 mm is usual",
            )
        across, down = wide / box.width, high / box.height
        factor = min(across, down)
        findings += _spare(window, factor, (wide, high))
    wide, high = box.width * factor, box.height * factor
    if not SMALLEST_MM <= min(wide, high) <= max(wide, high) <= LARGEST_MM:
        raise DrawingError(
            window.name,
            f"the panel would be {wide:.4g} × {high:.4g} mm, outside "
            f"{SMALLEST_MM:g} to {LARGEST_MM:g} mm",
            "give its width in mm",
        )
    place = Affine(factor, 0.0, 0.0, factor, -box.left * factor, -box.top * factor)
    return place, tuple(findings)


def _spare(window: Window, factor: float, wanted: tuple[float, float]) -> list[Finding]:
    """A remark if the opening's shape is not the drawing's."""
    sides = zip(("across", "down"), (window.box.width, window.box.height), wanted, strict=True)
    return [
        Finding(
            severity=Severity.DECISION,
            where=window.name,
            what=f"the opening is {want - size * factor:.1f} mm larger {way} than the panel of the "
            f"drawing's shape, beside the clearance",
            hint="draw the window in the opening's proportions, or fill the rest",
        )
        for way, size, want in sides
        if want - size * factor > 0.1
    ]
