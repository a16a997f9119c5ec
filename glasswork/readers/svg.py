"""SVG line art: bytes to marks in millimetres, everything resolved.

Read: units, viewBox, preserveAspectRatio, transforms, groups, nested svg, use and symbol, style
sheets, basic shapes, paths, fill rules, clip paths, gradients (as their mean colour). Left out and
noted: text, embedded pictures, masks, filters, markers, patterns. Other files are never fetched.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import hypot, sqrt
from xml.etree.ElementTree import Element

from msgspec import Struct
from msgspec.structs import replace

from glasswork.errors import ReadError
from glasswork.model.geometry import Affine, Regions
from glasswork.model.window import LineArt, Mark
from glasswork.planar import filled
from glasswork.readers.css import INHERITED, Sheets
from glasswork.readers.svg_clips import Clips
from glasswork.readers.svg_corners import SHAPES, Corners, State
from glasswork.readers.svg_frame import Frame, fitted, length, root_frame
from glasswork.readers.svg_marks import (
    STROKE_KEYS,
    Look,
    Paths,
    clipped,
    covered,
    evened,
    look_of,
    share,
    within,
)
from glasswork.readers.svg_paint import Paints
from glasswork.readers.svg_path import (
    flatten,
    numbers,
    parse_transform,
)
from glasswork.readers.svg_shapes import rectangle
from glasswork.readers.svg_tree import href, label_of, local, parse_tree

DEEPEST = 200
"""Levels of groups and uses that are followed."""
MOST_MARKS = 50_000
MOST_POINTS = 400_000
"""Corners of all shapes together, curves made straight."""
FLATNESS_MM = 0.005
_SILENT = frozenset(
    {"defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "filter"}
).union(("radialGradient", "metadata", "title", "desc", "style", "script", "foreignObject", "font"))


class Picture(Struct, frozen=True):
    """An embedded picture. link : its data · size : width and height in its own units, or None
    where it tells none · place : from these to mm
    """

    link: str
    size: tuple[float | None, float | None]
    place: Affine


@dataclass(slots=True)
class _Drawing:
    """One reading: the tree, what it holds, and the marks found so far."""

    name: str
    root: Element
    sheets: Sheets
    paints: Paints
    by_id: dict[str, Element]
    tolerance_mm: float
    corners: Corners = field(init=False)
    clips: Clips = field(init=False)
    marks: list[Mark] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)
    points: int = 0
    notes: dict[str, int] = field(default_factory=dict)
    looks: dict[object, Look] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.corners = Corners(self.name, self.tolerance_mm, self.note)
        self.clips = Clips(self.name, self.sheets, self.by_id, self.corners)

    def note(self, text: str) -> None:
        self.notes[text] = self.notes.get(text, 0) + 1

    # -- walking -----------------------------------------------------------------------------

    def walk(self, element: Element, state: State) -> None:
        tag = local(element)
        if tag in _SILENT or not tag:
            return
        own = self.sheets.style_of(element)
        if own.get("display") == "none":
            return
        if state.depth > DEEPEST:
            raise ReadError(
                self.name, f"groups lie deeper than {DEEPEST} levels", "ungroup the drawing"
            )
        state = self._entered(element, own, state)
        if state.opacity <= 0.0:
            return
        if tag in SHAPES:
            self._shape(element, own, state)
        elif tag in ("g", "a", "svg"):
            if tag == "svg":
                state = self._nested(element, state, (None, None))
            for child in element:
                self.walk(child, state)
        elif tag == "switch":
            for child in element:
                if local(child) and "requiredExtensions" not in child.attrib:
                    self.walk(child, state)
                    break
        elif tag == "use":
            self._use(element, state)
        elif tag == "text":
            if "".join(element.itertext()).strip():
                self.note("text is left out: turn it into paths if it belongs to the window")
        elif tag == "image":
            if not href(element).startswith("data:"):
                raise ReadError(
                    self.name,
                    "it shows a picture from another file",
                    "remove it, or trace it into paths",
                )
            self._picture(element, state)

    def _picture(self, element: Element, state: State) -> None:
        self.note("an embedded picture is left out: --embedded reads it as a scan")
        size = tuple(
            None if text in ("", "auto") else length(text, of, where=self.name)
            for text, of in zip(
                (element.get("width", ""), element.get("height", "")), state.frame, strict=True
            )
        )
        self.pictures.append(Picture(href(element), (size[0], size[1]), state.ctm))

    def _entered(self, element: Element, own: dict[str, str], state: State) -> State:
        """The state inside the element: its transform, style, names and clip added."""
        style = state.style
        fresh = {
            key: value for key, value in own.items() if key in INHERITED and value != "inherit"
        }
        if fresh:
            style = {**style, **fresh}
        ctm = state.ctm
        if "transform" in own:
            ctm = parse_transform(own["transform"]).then(ctm)
        opacity = state.opacity
        if "opacity" in own:
            opacity *= share(own["opacity"])
        named = label_of(element)
        entered = State(
            ctm=ctm,
            style=style,
            frame=state.frame,
            opacity=opacity,
            names=named + state.names if named else state.names,
            clip=state.clip,
            depth=state.depth + 1,
        )
        clip = own.get("clip-path", "none")
        if clip.startswith("url("):
            entered = replace(entered, clip=self.clips.left(clip, element, entered))
        if own.get("mask", "none") != "none":
            self.note("a mask is left out: the masked parts are read whole")
        return entered

    def _nested(self, element: Element, state: State, size: tuple[str | None, str | None]) -> State:
        """Inside a nested svg or a used symbol: its own frame, clipped to it."""
        if element is self.root:
            return state
        across, down = state.frame
        x = length(element.get("x", "0"), across, where=self.name)
        y = length(element.get("y", "0"), down, where=self.name)
        w = length(size[0] or element.get("width") or "100%", across, where=self.name)
        h = length(size[1] or element.get("height") or "100%", down, where=self.name)
        box = numbers(element.get("viewBox", ""))
        ctm = Affine.shift(x, y).then(state.ctm)
        frame: Frame = (w, h)
        if len(box) == 4 and box[2] > 0 and box[3] > 0:
            ctm = fitted(box, (w, h), element.get("preserveAspectRatio", "")).then(ctm)
            frame = (box[2], box[3])
        clip = state.clip
        if self.sheets.style_of(element).get("overflow") not in ("visible", "auto"):
            window = rectangle((x, y), (w, h), (0.0, 0.0))
            clip = within(clip, filled([flatten(window, state.ctm, tolerance_mm=1.0)]))
        return replace(state, ctm=ctm, frame=frame, clip=clip)

    def _use(self, element: Element, state: State) -> None:
        target = self._referred(href(element))
        if target is None:
            return
        x = length(element.get("x", "0"), state.frame[0], where=self.name)
        y = length(element.get("y", "0"), state.frame[1], where=self.name)
        state = replace(state, ctm=Affine.shift(x, y).then(state.ctm))
        if local(target) in ("symbol", "svg") and target is not self.root:
            own = self.sheets.style_of(target)
            if own.get("display") == "none":
                return
            inner = self._entered(target, own, state)
            inner = self._nested(target, inner, (element.get("width"), element.get("height")))
            for child in target:
                self.walk(child, inner)
            return
        self.walk(target, state)

    def _referred(self, link: str) -> Element | None:
        if not link.startswith("#"):
            raise ReadError(
                self.name,
                f'it refers to another file: "{link[:60]}"',
                "draw the part here: other files are never fetched",
            )
        return self.by_id.get(link[1:])

    # -- shapes ------------------------------------------------------------------------------

    def _shape(self, element: Element, own: dict[str, str], state: State) -> None:
        style = state.style
        if style.get("visibility", "visible") != "visible":
            return
        fill = self.paints.colour(style, "fill", "#000000", state.opacity)
        stroke = self.paints.colour(style, "stroke", "none", state.opacity)
        width = 0.0
        if stroke is not None or "stroke-width" in style:
            size = hypot(*state.frame) / sqrt(2.0)
            width = length(style.get("stroke-width", "1"), size, where=self.name)
        if stroke is None or width <= 0.0:
            stroke, width = None, 0.0
        if fill is None and stroke is None:
            return
        paths = self.corners.flat(element, state)
        if not paths:
            return
        self._count(paths)
        regions: Regions = ()
        if fill is not None and local(element) != "line":
            nonzero = style.get("fill-rule", "nonzero") != "evenodd"
            regions = covered([points for points, _ in paths], nonzero=nonzero)
        fill = fill if regions else None
        fixed = stroke is not None and own.get("vector-effect") == "non-scaling-stroke"
        if stroke is None:
            mark = Mark(paths=paths, area=regions, fill=fill, names=state.names)
        else:
            look = self._look(style, state, width=width, fixed=fixed)
            if not look["width_mm"] > 0.0:
                stroke = None
            mark = Mark(
                paths=paths, area=regions, fill=fill, stroke=stroke, names=state.names, **look
            )
        for part in [mark] if fixed else evened(mark, state.ctm):
            if part.fill is not None or part.stroke is not None:
                self.marks += clipped(part, state.clip)

    def _count(self, paths: Paths) -> None:
        """Raises: ReadError, if a shape more is too much"""
        self.points += sum([len(points) for points, _ in paths])
        if self.points > MOST_POINTS:
            raise ReadError(
                self.name,
                f"its shapes have more than {MOST_POINTS} corners",
                "leave only the line art, or simplify its paths",
            )
        if len(self.marks) >= MOST_MARKS:
            raise ReadError(
                self.name, f"it holds more than {MOST_MARKS} shapes", "leave only the line art"
            )

    def _look(self, style: dict[str, str], state: State, *, width: float, fixed: bool) -> Look:
        """How a stroke is drawn: as wide as it is on average where the map distorts it."""
        a, b, c, d, _, _ = state.ctm
        scale = self.paints.px_mm if fixed else sqrt(abs(a * d - b * c))
        told = tuple(map(style.get, STROKE_KEYS))
        key = (told, width, scale, state.frame)
        if (known := self.looks.get(key)) is None:
            known = self.looks[key] = look_of(
                style, state.frame, width_mm=width * scale, scale=scale, where=self.name
            )
        return known


def read_svg(data: bytes, *, name: str) -> LineArt:
    """The line art of an SVG.

    Raises: ReadError, if it is no SVG, refers to other files, or holds impossible numbers
    """
    drawing, size_mm, sized = _walked(data, name)
    return LineArt(
        name=name,
        size_mm=size_mm,
        marks=tuple(drawing.marks),
        sized=sized,
        notes=tuple(
            text if count == 1 else f"{text} ({count} times)"
            for text, count in drawing.notes.items()
        ),
    )


def pictures_of(data: bytes, *, name: str) -> tuple[tuple[Picture, ...], bool]:
    """The pictures that an SVG shows from within itself, and whether it tells its size.

    Raises: ReadError, as for its lines
    """
    drawing, _, sized = _walked(data, name)
    return tuple(drawing.pictures), sized


def _walked(data: bytes, name: str) -> tuple[_Drawing, tuple[float, float], bool]:
    """Everything in an SVG, its size, and whether it tells it."""
    root, styles, by_id = parse_tree(data, name=name)
    size_mm, ctm, frame, sized = root_frame(root, name=name)
    sheets = Sheets(root, styles, where=name)
    drawing = _Drawing(
        name=name,
        root=root,
        sheets=sheets,
        paints=Paints(sheets, by_id),
        by_id=by_id,
        tolerance_mm=min(FLATNESS_MM, max(size_mm) * FLATNESS_MM / 200.0),
    )
    drawing.walk(root, State(ctm=ctm, style={}, frame=frame))
    return drawing, size_mm, sized
