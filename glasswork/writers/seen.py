"""The film as the camera sees it: flat glass, glass with a surface, or films that lie awry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec.structs import replace

from glasswork.cielab import encode_value
from glasswork.model.film import GlassOnFilm, Separation
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Point
from glasswork.model.sheet import Picture
from glasswork.model.window import Window
from glasswork.writers.raster import Bytes, opencv
from glasswork.writers.scene import Camera, Film, Packed, draw, draw_each, place

Srgb = tuple[float, float, float]
"""0-1."""

_HEAVIEST_SHADE = 0.85
_UNLIT = 0.05
"""Of the light that goes through the film twice, where the separation does not say."""


def flat_film(window: Window, separation: Separation, plan: FramePlan, *, lit: bool) -> Film:
    """Panes and printed leads in the colours that the separation foresees.

    lit : by the light behind, or by room light with the light behind off
    """
    colours = {glass.glass: _seen(glass, lit=lit) for glass in separation.glasses}
    black = _black(separation) if lit else (0.0, 0.0, 0.0)
    return lambda camera, shape: _drawn(window, plan, colours, black, camera, shape)


def surfaced_film(glass: Picture, separation: Separation, plan: FramePlan) -> Film:
    """The panes with their surfaces.

    glass : as they look, in panel mm
    """
    black = _bytes(_black(separation))

    def film(camera: Camera, shape: tuple[int, int]) -> Bytes:
        panel = np.zeros((*shape, 3), np.uint8)
        draw(panel, Packed.of((plan.outline,)), camera, 0.0, (255, 255, 255))
        image: Bytes = place(glass.pixels, glass.box, camera, shape)
        np.minimum(image, panel, out=image)
        draw(image, Packed.of(plan.printed), camera, 0.0, black)
        return image

    return film


def awry_film(
    window: Window, separation: Separation, plan: FramePlan, *, shifts_mm: Sequence[Point]
) -> Film:
    """Each film moved by itself.

    shifts_mm : right and down, for each film, front film first

    A film's share of a pane's colour is that of its Status A density; where all films lie over
    each other the colour is the separation's.
    """
    shares = [
        {glass.glass: _share(glass, film) for glass in separation.glasses}
        for film in range(separation.count)
    ]

    r, g, b = (value ** (1.0 / separation.count) for value in _black(separation))

    def film(camera: Camera, shape: tuple[int, int]) -> Bytes:
        cv2 = opencv()
        image: Bytes = np.full((*shape, 3), 255, np.uint8)
        for colours, (dx, dy) in zip(shares, shifts_mm, strict=True):
            moved = replace(camera, centre=(camera.centre[0] - dx, camera.centre[1] - dy))
            one = _drawn(window, plan, colours, (r, g, b), moved, shape)
            image = cv2.multiply(image, one, scale=1.0 / 255.0)
        return image

    return film


def _seen(glass: GlassOnFilm, *, lit: bool) -> Srgb:
    if lit:
        r, g, b = glass.lit_srgb
    elif any(glass.unlit_srgb):
        r, g, b = glass.unlit_srgb
    else:
        r, g, b = (_UNLIT * value * value for value in glass.lit_srgb)
    return encode_value(r), encode_value(g), encode_value(b)


def _black(separation: Separation) -> Srgb:
    """Printed leads, lit."""
    r, g, b = separation.black.lit_srgb
    return encode_value(r), encode_value(g), encode_value(b)


def _bytes(colour: Srgb) -> tuple[int, int, int]:
    r, g, b = (round(255.0 * value) for value in colour)
    return r, g, b


def _share(glass: GlassOnFilm, film: int) -> Srgb:
    """What one film adds to the colour of the stack, as a factor on sRGB values."""
    whole = _seen(glass, lit=True)
    total = [sum(one[k] for one in glass.film_status_a) for k in range(3)]
    own = glass.film_status_a[film]
    parts = [
        own[k] / total[k] if total[k] > 1e-6 else 1.0 / len(glass.film_status_a) for k in range(3)
    ]
    r, g, b = (max(value, 1e-4) ** part for value, part in zip(whole, parts, strict=True))
    return r, g, b


def _drawn(
    window: Window,
    plan: FramePlan,
    colours: Mapping[str, Srgb],
    black: Srgb,
    camera: Camera,
    shape: tuple[int, int],
) -> Bytes:
    image = np.zeros((*shape, 3), np.uint8)
    draw(image, Packed.of((plan.outline,)), camera, 0.0, (255, 255, 255))
    limits = dict(plan.glass_limit)
    shown = {glass: _bytes(rgb) for glass, rgb in colours.items()}
    draw_each(
        image,
        [limits.get(pane.id) or (pane.region,) for pane in window.panes],
        camera,
        0.0,
        [shown.get(pane.glass or "", (255, 255, 255)) for pane in window.panes],
    )
    _shade(image, window, camera)
    draw(image, Packed.of(plan.printed), camera, 0.0, _bytes(black))
    return image


def _shade(image: Bytes, window: Window, camera: Camera) -> None:
    """Dim what painted shades cover, nearly as their pictures will."""
    for stroke in window.paint:
        if stroke.tone < 1.0:
            dim = np.full(image.shape, 255, np.uint8)
            left = round(255.0 * (1.0 - _HEAVIEST_SHADE * stroke.tone))
            draw(dim, Packed.of(stroke.area), camera, 0.0, (left, left, left))
            image[...] = opencv().multiply(image, dim, scale=1.0 / 255.0)
