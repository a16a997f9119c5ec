"""Clip paths of an SVG as areas in millimetres."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from xml.etree.ElementTree import Element

from msgspec import Struct
from msgspec.structs import replace

from glasswork.model.geometry import Affine
from glasswork.planar import Area, filled
from glasswork.readers.css import Sheets
from glasswork.readers.svg_corners import SHAPES, Corners, State
from glasswork.readers.svg_frame import length
from glasswork.readers.svg_marks import within
from glasswork.readers.svg_path import parse_transform
from glasswork.readers.svg_tree import href, local

DEEPEST = 8
"""Uses within a clip path that are followed."""


class Clips(Struct, frozen=True):
    """Finds what a clip leaves in sight."""

    name: str
    sheets: Sheets
    by_id: Mapping[str, Element]
    corners: Corners

    def left(self, link: str, element: Element, state: State) -> Area | None:
        """What the clip that an element names leaves of the area it lies in; None is all."""
        target = self.by_id.get(link[4:].rstrip(") ").strip("'\" #"))
        if target is None or local(target) != "clipPath":
            return state.clip
        ctm = parse_transform(target.get("transform", "")).then(state.ctm)
        if target.get("clipPathUnits") == "objectBoundingBox":
            box = self.corners.box_of(element, state)
            if box is None:
                return state.clip
            ctm = Affine(box[2], 0.0, 0.0, box[3], box[0], box[1]).then(state.ctm)
        inner = replace(state, ctm=ctm, clip=None)
        shapes = [shape for child in target for shape in self._shapes(child, inner, 0)]
        return within(state.clip, Area.union(shapes))

    def _shapes(self, child: Element, state: State, depth: int) -> Iterator[Area]:
        tag = local(child)
        own = self.sheets.style_of(child)
        if own.get("display") == "none" or depth > DEEPEST:
            return
        state = replace(state, ctm=parse_transform(own.get("transform", "")).then(state.ctm))
        if tag == "use":
            target = self.by_id.get(href(child)[1:])
            shift = Affine.shift(
                length(child.get("x", "0"), state.frame[0], where=self.name),
                length(child.get("y", "0"), state.frame[1], where=self.name),
            )
            if target is not None:
                moved = replace(state, ctm=shift.then(state.ctm))
                yield from self._shapes(target, moved, depth + 1)
        elif tag in SHAPES:
            rings = [points for points, _ in self.corners.flat(child, state)]
            yield filled(rings, nonzero=own.get("clip-rule", "nonzero") != "evenodd")
