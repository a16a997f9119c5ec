"""Where the light passes the limit between ink and paper, beside pixels of traced outlines."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from glasswork.drawing.trace_follow import Outlines
from glasswork.drawing.trace_ink import Ink, light_at
from glasswork.drawing.trace_rings import Floats, Index

_BESIDE_PX = 2
_INWARD_PX = 4.0
_ODD = 0.3

Ways = tuple[NDArray[Any], NDArray[Any]]


def outwards(outlines: Outlines, at: Index, ring: Index) -> Ways:
    """Ways from ink to paper, x and y, at some pixels of outlines.

    at, ring : numbers of the pixels, and of the outlines they belong to
    """
    begin, end = outlines.start[ring], outlines.stop[ring]
    long = end - begin
    on, back = at + 2, at - 2
    (x1, y1), (x0, y0) = (
        outlines.places(np.where(back < begin, back + long, back)),
        outlines.places(np.where(on >= end, on - long, on)),
    )
    # the paper is on the right hand
    return y1 - y0, x0 - x1


def edge_places(outlines: Outlines, at: Index, out: Ways, ink: Ink) -> Floats:
    """Where the light passes the limit beside chosen ink pixels of outlines, px.

    It is looked for towards the neighbour that lies most nearly outwards, or else the other one.
    at : numbers of the pixels, any shape · out : ways outwards, x and y, or ones like these
    Returns: x and y, (2, shape)
    """
    x, y = outlines.places(at)
    light = _Light(ink, x, y)
    sides = [np.sign(part).astype(np.intp) for part in out]
    tall = np.abs(out[1]) > np.abs(out[0])
    limit = ink.limit_near(x, y)
    found, share = light.passed(np.where(tall, sides[1] * light.columns, sides[0]), limit)
    places = np.empty((2, *at.shape))
    np.add(x, share * np.where(tall, 0, sides[0]), out=places[0])
    np.add(y, share * np.where(tall, sides[1], 0), out=places[1])
    if not found.all():
        lost = np.nonzero(~found)
        across, down, tall = (np.broadcast_to(a, at.shape)[lost] for a in (*sides, tall))
        here = light.chosen(lost)
        _, share = here.passed(np.where(tall, across, down * light.columns), limit[lost])
        places[0][lost] = x[lost] + share * np.where(tall, across, 0)
        places[1][lost] = y[lost] + share * np.where(tall, 0, down)
    _beside_grounds(places, (x, y), out, (limit, ink, light))
    return places


class _Light:
    """The light beside pixels; the picture's rim goes on outside. columns : a row's in memory"""

    def __init__(self, ink: Ink, x: NDArray[Any], y: NDArray[Any]) -> None:
        import cv2

        grey, rim = ink.grey, _BESIDE_PX
        rows, columns = grey.shape
        inside = not x.size or (
            min(x.min(), y.min()) >= rim and x.max() < columns - rim and y.max() < rows - rim
        )
        if not inside:
            grey = np.asarray(cv2.copyMakeBorder(grey, rim, rim, rim, rim, cv2.BORDER_REPLICATE))
            x, y = x + rim, y + rim
        self.columns = grey.shape[1]
        self._flat = grey.ravel()
        self._here = y.astype(np.intp) * self.columns + x

    def chosen(self, which: Any) -> _Light:
        found = object.__new__(_Light)
        found.columns, found._flat, found._here = self.columns, self._flat, self._here[which]
        return found

    def at(self, step: Any) -> NDArray[np.float32]:
        return np.asarray(self._flat.take(self._here + step), np.float32)

    def passed(self, step: Any, limit: NDArray[np.float32]) -> tuple[Any, NDArray[np.float32]]:
        """Whether the light passes a limit on the way to a neighbour, and at what share of it, 0
        where it does not.
        """
        inner, outer = self.at(0), self.at(step)
        found = outer >= limit
        share = (limit - inner) / np.maximum(outer - inner, np.float32(1e-6))
        return found, np.clip(share, 0.0, 1.0, out=share) * found


def _beside_grounds(
    found: Floats,
    here: tuple[NDArray[Any], NDArray[Any]],
    out: Ways,
    known: tuple[NDArray[np.float32], Ink, _Light],
) -> None:
    """Where the ink lies beside pencil or a wash, or the limit was lowered for a wash nearby, the
    edge is midway between the ink and what lies beside it: such places of `found` are moved.

    here, out : pixels and ways outwards from each · known : the limit between ink and paper at
    each pixel, the ink, and its light
    """
    limit, ink, light = known
    longer = np.maximum(np.maximum(np.abs(out[0]), np.abs(out[1])), 1e-9)
    across, down = (np.round(_BESIDE_PX / longer * part).astype(np.intp) for part in out)
    ground = light.at(down * light.columns + across)
    usual = limit * np.float32(ink.paper)
    odd = (np.abs(ground - usual) > np.float32(_ODD) * (usual - limit)) & (ground >= limit)
    chosen = np.nonzero(odd)
    if not len(chosen[0]):
        return
    way = np.stack([np.broadcast_to(part, odd.shape)[chosen] for part in out], axis=1)
    way = way / np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    start = np.stack([part[chosen] for part in here], axis=1).astype(np.float64)
    moved, sound = _midway(ink, (start, way), ground[chosen].astype(np.float64), limit[chosen])
    places = start[sound] + way[sound] * moved[:, None]
    for axis in (0, 1):
        found[axis][tuple(part[sound] for part in chosen)] = places[:, axis]


def _midway(
    ink: Ink, paths: tuple[Floats, Floats], ground: Floats, limit: NDArray[np.float32]
) -> tuple[Floats, NDArray[np.bool_]]:
    """How far along paths outwards, px, the light is midway between ink and ground; and which
    paths have such a place: the others are left out of the first.

    paths : starts and ways, (n, 2)
    """
    start, way = paths
    spots = np.arange(-_INWARD_PX, _BESIDE_PX + 1.01, 0.5)
    path = start[:, None] + way[:, None] * spots[None, :, None]
    light = light_at(ink.grey, path.reshape(-1, 2)).reshape(len(start), len(spots))
    midway = (ink.tone_at(start) + ground) / 2.0
    first = np.argmin(light[:, spots <= 0.0], axis=1)
    passed = (light >= midway[:, None]) & (np.arange(len(spots)) > first[:, None])
    # beyond what lies beside is no other ink
    sound = np.asarray(passed.any(axis=1) & (light[:, -1] >= limit))
    some, k = np.flatnonzero(sound), np.argmax(passed, axis=1)[sound]
    low, high = light[some, k - 1], light[some, k]
    share = np.clip((midway[some] - low) / np.maximum(high - low, 1e-9), 0.0, 1.0)
    return spots[k] - 0.5 + 0.5 * share, sound
