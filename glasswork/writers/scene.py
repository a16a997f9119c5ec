"""The panel standing in space, drawn layer by layer: what the previews then light.

A pinhole camera looks at the middle of the film. Each frame layer is drawn from its far to its
near face in thin steps, so walls appear where the eye sees them, through the glass too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import islice
from math import cos, hypot, radians, sin
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.model.frame import Ear, Face, FrameLayer, FramePlan, Level
from glasswork.model.geometry import Box, Point, Region, Regions, Ring
from glasswork.planar import Area
from glasswork.writers.raster import opencv

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float64]

_SUBPIXEL_BITS = 4
_STEP_PX = 1.6
MARGIN = 0.13
TALLEST = 1.5
"""Room round the panel as a share of its longer side; most height of a picture over its width."""


class Camera(Struct, frozen=True, kw_only=True):
    """Where panel millimetres land in the picture.

    centre : the panel point looked at, on the film
    origin_px : where it lands
    px_per_mm : scale in the plane of the film
    distance_mm : from the eye to the film
    turn_deg : how far the panel is turned about its upright axis, its right side away
    behind : seen from the back
    """

    centre: Point
    origin_px: Point
    px_per_mm: float
    distance_mm: float
    turn_deg: float = 0.0
    behind: bool = False

    def project(self, points: Floats, z_mm: float) -> Floats:
        """(n, 2) panel mm in the plane z (towards the front) -> (n, 2) pixels, edges at 0."""
        side = -1.0 if self.behind else 1.0
        x, y = (points[:, 0] - self.centre[0]) * side, points[:, 1] - self.centre[1]
        z = z_mm * side
        c, s = cos(radians(self.turn_deg)), sin(radians(self.turn_deg))
        near = self.distance_mm / (self.distance_mm - (z * c - x * s))
        scale = self.px_per_mm * near
        return np.stack(
            [self.origin_px[0] + scale * (x * c + z * s), self.origin_px[1] + scale * y], axis=1
        )

    def shift_px(self, box: Box, z0_mm: float, z1_mm: float) -> float:
        """The furthest that a corner of the box moves between two planes, in pixels."""
        corners = np.array(
            [(box.left, box.top), (box.right, box.top), (box.left, box.bottom), box[2:]]
        )
        moved = self.project(corners, z1_mm) - self.project(corners, z0_mm)
        return float(np.hypot(moved[:, 0], moved[:, 1]).max())


class Packed(Struct, frozen=True):
    """Rings in one array. points : (n, 2) mm; ends : where each ring but the last ends."""

    points: Floats
    ends: tuple[int, ...]

    @classmethod
    def of(cls, regions: Iterable[Region]) -> Packed:
        rings: list[Ring] = [ring for region in regions for ring in region.rings]
        if not rings:
            return cls(np.zeros((0, 2)), ())
        ends = np.cumsum([len(ring) for ring in rings])
        points = np.array([point for ring in rings for point in ring], dtype=np.float64)
        return cls(points, tuple(ends[:-1].tolist()))


Film = Callable[[Camera, tuple[int, int]], Bytes]
"""Draws the film: (rows, columns, 3) sRGB, 255 = clear, 0 outside the panel."""


class Scene(Struct, frozen=True, kw_only=True, eq=False):
    """What the eye meets in each pixel, not yet lit.

    film : (rows, columns, 3) sRGB of the film by itself, 255 = clear, 0 outside the panel
    through : (rows, columns) how much of the light behind reaches the film past the frame on
        its far side: 255 all, less where a wall of that frame stands in the way
    near : (rows, columns, 3): cover by the frame on the near side; how much of a wall that is,
        brightest next to the film; height of its face, 255 the highest
    panel : (rows, columns) cover by the panel as a whole
    rise_mm : from the film to the highest face
    """

    camera: Camera
    film: Bytes
    through: Bytes
    near: Bytes
    panel: Bytes
    rise_mm: float

    @property
    def px_per_mm(self) -> float:
        return self.camera.px_per_mm


def camera_for(
    outline: Region, *, width_px: int, turn_deg: float = 0.0, behind: bool = False
) -> tuple[Camera, tuple[int, int]]:
    """A camera that shows the whole panel with room round it, and the picture's (rows, columns)."""
    box = outline.box
    room = MARGIN * max(box.width, box.height)
    wide, high = box.width + 2.0 * room, box.height + 2.0 * room
    wide = max(wide, high / TALLEST)
    scale = width_px / wide
    rows = round(high * scale)
    camera = Camera(
        centre=box.centre,
        origin_px=(width_px / 2.0, rows / 2.0),
        px_per_mm=scale,
        distance_mm=1.7 * hypot(box.width, box.height),
        turn_deg=turn_deg,
        behind=behind,
    )
    return camera, (rows, width_px)


def build_scene(plan: FramePlan, film: Film, *, camera: Camera, shape: tuple[int, int]) -> Scene:
    """Draw the panel.

    film : draws the film as the camera sees it, see `seen`
    shape : rows and columns of the picture
    """
    fronts, backs = _sides(plan)
    near, far = (backs, fronts) if camera.behind else (fronts, backs)
    panel = np.zeros(shape, np.uint8)
    draw(panel, Packed.of((plan.outline,)), camera, 0.0, (255,))
    return Scene(
        camera=camera,
        film=film(camera, shape),
        through=_through(far, plan, camera, shape),
        near=_near(near, plan, camera, panel),
        panel=panel,
        rise_mm=sum(layer.thickness_mm for layer in near),
    )


def draw(image: Any, shape: Packed, camera: Camera, z_mm: float, value: Sequence[int]) -> None:
    """Fill rings, even-odd, with soft edges, into the picture."""
    cv2 = opencv()
    if len(shape.points):
        fixed = np.rint((camera.project(shape.points, z_mm) - 0.5) * (1 << _SUBPIXEL_BITS))
        rings = np.split(fixed.astype(np.int32), shape.ends)
        cv2.fillPoly(image, rings, tuple(value), cv2.LINE_AA, _SUBPIXEL_BITS)


def draw_each(
    image: Any,
    areas: Sequence[Regions],
    camera: Camera,
    z_mm: float,
    values: Sequence[Sequence[int]],
) -> None:
    """As `draw` one area after the other, each in its own value."""
    cv2 = opencv()
    packed = Packed.of(region for area in areas for region in area)
    if not len(packed.points):
        return
    fixed = np.rint((camera.project(packed.points, z_mm) - 0.5) * (1 << _SUBPIXEL_BITS))
    fixed = fixed.astype(np.int32)
    starts, ends = (0, *packed.ends), (*packed.ends, len(fixed))
    rings = iter([fixed[start:end] for start, end in zip(starts, ends, strict=True)])
    for area, value in zip(areas, values, strict=True):
        mine = list(islice(rings, sum(len(region.rings) for region in area)))
        if mine:
            cv2.fillPoly(image, mine, tuple(value), cv2.LINE_AA, _SUBPIXEL_BITS)


def place(
    picture: Any, box: Box, camera: Camera, shape: tuple[int, int], *, smaller: int = 1
) -> Any:
    """A picture in the plane of the film as the camera sees it; 0 outside it.

    picture : (rows, columns[, channels]) over the box in panel mm
    smaller : make the result so many times smaller than the shape, rounded up
    """
    cv2 = opencv()
    rows, columns = picture.shape[:2]
    left, top, right, bottom = box
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    seen = camera.project(corners, 0.0) / smaller - 0.5
    own = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)]) - 0.5
    matrix = cv2.getPerspectiveTransform(own.astype(np.float32), seen.astype(np.float32))
    size = (-(-shape[1] // smaller), -(-shape[0] // smaller))
    return cv2.warpPerspective(picture, matrix, size, flags=cv2.INTER_LINEAR)


def _sides(plan: FramePlan) -> tuple[list[FrameLayer], list[FrameLayer]]:
    """The layers of each face, from the film outwards."""
    order = {Level.INNER: 0, Level.OUTER: 1, Level.RETAINER: 2}
    layers = sorted(plan.layers, key=lambda layer: order[layer.level])
    return (
        [layer for layer in layers if layer.face is Face.FRONT],
        [layer for layer in layers if layer.face is Face.BACK],
    )


def _through(
    layers: Sequence[FrameLayer], plan: FramePlan, camera: Camera, shape: tuple[int, int]
) -> Bytes:
    """Far walls, furthest first: lit at their far end, dark against the film."""
    image = np.full(shape, 255, np.uint8)
    depth = sum(layer.thickness_mm for layer in layers)
    for layer, z0, z1 in reversed(list(_spans(layers, camera))):
        packed = Packed.of(without_ears(layer.pieces, plan))
        for z in _steps(camera, plan.outline.box, z1, z0):
            share = abs(z) / depth if depth else 0.0
            draw(image, packed, camera, z, (round(34 + 150 * share**1.3),))
    return image


def _near(layers: Sequence[FrameLayer], plan: FramePlan, camera: Camera, panel: Bytes) -> Bytes:
    """Near walls from the film outwards, each layer closed by its face."""
    image = np.zeros((*panel.shape, 3), np.uint8)
    rise = sum(layer.thickness_mm for layer in layers)
    for layer, z0, z1 in _spans(layers, camera):
        packed = Packed.of(without_ears(layer.pieces, plan))
        for z in _steps(camera, plan.outline.box, z0, z1)[:-1]:
            share = abs(z) / rise
            draw(image, packed, camera, z, (255, round(255 - 190 * share), round(255 * share)))
        draw(image, packed, camera, z1, (255, 0, round(255 * abs(z1) / rise)))
    return image


def _spans(
    layers: Sequence[FrameLayer], camera: Camera
) -> Iterable[tuple[FrameLayer, float, float]]:
    """Each layer with the planes of its faces, from the film outwards."""
    z = 0.0
    for layer in layers:
        sign = 1.0 if layer.face is Face.FRONT else -1.0
        yield layer, sign * z, sign * (z + layer.thickness_mm)
        z += layer.thickness_mm
    del camera


def _steps(camera: Camera, box: Box, z0_mm: float, z1_mm: float) -> list[float]:
    """Planes from one face to the other, close enough that no gap shows between them."""
    count = max(2, round(camera.shift_px(box, z0_mm, z1_mm) / _STEP_PX) + 1)
    return [float(z) for z in np.linspace(z0_mm, z1_mm, count)]


def without_ears(pieces: Regions, plan: FramePlan) -> Regions:
    """A layer as it is once the pin ears are broken off."""
    if not plan.ears:
        return pieces
    panel = Area.of((plan.outline,))
    found: list[Region] = []
    for piece in pieces:
        holes = tuple(hole for hole in piece.holes if not _is_pin_hole(hole, plan.ears))
        rings = (Area.of((Region(piece.outer),)) & panel).regions()
        found += [Region(ring.outer, holes if n == 0 else ()) for n, ring in enumerate(rings)]
    return tuple(found)


def _is_pin_hole(hole: Ring, ears: Sequence[Ear]) -> bool:
    x, y = hole[0]
    return any(
        hypot(x - ear.hole_centre[0], y - ear.hole_centre[1]) < ear.hole_diameter_mm for ear in ears
    )
