"""A strip in a photo: decoding, fiducials, and where on the photo each point of the strip lies."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.errors import CalibrationError, ReadError
from glasswork.model.reading import StripLayout

Floats = NDArray[np.float64]
Pixels = NDArray[Any]

MAX_PIXELS: Final = 150_000_000
SEARCH_PX: Final = 2000
"""Longer side of the picture in which fiducials are looked for."""
P3_TO_SRGB: Final[Floats] = np.array(
    [
        [1.2249402, -0.2249402, 0.0],
        [-0.0420570, 1.0420570, 0.0],
        [-0.0196376, -0.0786361, 1.0982737],
    ]
)
"""Linear Display P3 to linear sRGB; both have the white of D65 [display-p3]."""
OFF_MM: Final = 0.5
"""How far a fiducial's corner may lie from where the others say it should."""


class Found(Struct, frozen=True, eq=False):
    """A strip in a photo.

    pixels : (rows, columns, 3) red, green, blue, flipped if the strip was mirrored
    to_photo : strip mm to pixels, (3, 3)
    seen : numbers of the fiducials found
    off_mm : root mean square distance of their corners from where they should be
    """

    pixels: Pixels
    layout: StripLayout
    to_photo: Floats
    mirrored: bool
    seen: tuple[int, ...]
    off_mm: float


def decode_photo(data: bytes, *, where: str) -> Pixels:
    """A photo as red, green, blue of 8 or 16 bits.

    Raises: ReadError, if the file is empty, damaged, too large, of no known kind, or grey
    """
    import cv2
    from PIL import Image

    if not data:
        raise ReadError(where, "is empty", "save the photo again")
    try:
        with Image.open(io.BytesIO(data)) as head:
            wide, high = head.size
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as exc:
        raise ReadError(
            where, "is not a picture that can be read", "give a JPEG, PNG or TIFF of the strip"
        ) from exc
    if wide * high > MAX_PIXELS:
        raise ReadError(
            where,
            f"{wide} x {high} pixels are over {MAX_PIXELS // 10**6} million",
            "save it smaller",
        )
    array = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)
    if array is None:
        raise ReadError(where, "is damaged: its pixels cannot be decoded", "copy it anew")
    if array.ndim == 2 or array.shape[2] < 3:
        raise ReadError(where, "is a grey picture", "a strip is read in colour")
    if array.dtype not in (np.uint8, np.uint16):
        raise ReadError(where, f"has {array.dtype} samples", "save it with 8 or 16 bits a channel")
    return np.ascontiguousarray(array[:, :, 2::-1])


def primaries_of(data: bytes) -> tuple[Floats | None, str]:
    """What turns a photo's linear light into that of sRGB, and a note on its colour space.

    Phones often save the wider primaries of Display P3, with the tone curve of sRGB; fewer
    saturated colours are cut off then. Other spaces are read as sRGB, and said so.
    Source: [display-p3]
    """
    from PIL import Image, ImageCms

    with Image.open(io.BytesIO(data)) as head:
        profile = head.info.get("icc_profile")
    if not profile:
        return None, ""
    try:
        name = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(profile))).strip()
    except (ImageCms.PyCMSError, OSError):
        return None, "the embedded colour profile is damaged: read as sRGB"
    if "P3" in name:
        return P3_TO_SRGB, ""
    if "sRGB" in name:
        return None, ""
    return None, f'the embedded colour profile "{name}" is not known: read as sRGB'


def find_strip(
    pixels: Pixels,
    *,
    where: str,
    layout_of_code: Callable[[str], StripLayout],
    layout_of_mark: Callable[[int], StripLayout | None],
    code: str | None,
) -> Found:
    """The one strip in a photo.

    code : of the strip, if it is known; else the machine-readable code is read
    Raises: CalibrationError, if there is no strip, half of one, or two
    """
    flipped = np.ascontiguousarray(pixels[:, ::-1])
    tries = []
    looks = [(t, m, p) for t in (False, True) for m, p in ((False, pixels), (True, flipped))]
    for thorough, mirrored, picture in looks:
        marks = _marks(picture, thorough=thorough)
        # A mark seen from behind may resemble another one: what counts is how many agree.
        fit = _fit(marks, layout_of_mark)
        if fit is not None:
            tries.append((len(fit[2]), mirrored, picture, marks, fit))
            if len(fit[2]) >= 3:
                break
    if not tries or max(t[0] for t in tries) < 2:
        raise CalibrationError(
            where,
            "no calibration strip found in the picture",
            "all square marks must be in the picture, sharp and not glaring",
        )
    _, mirrored, picture, marks, (rough, to_photo, seen, off) = max(tries, key=lambda t: t[0])
    _refuse_two(marks, seen, where)
    _refuse_half(rough, to_photo, picture, seen, where)
    layout = layout_of_code(code if code else _read_code(picture, rough, to_photo, where))
    if {mark.number for mark in layout.fiducials} != {mark.number for mark in rough.fiducials}:
        raise CalibrationError(
            where,
            f"this is a {rough.title}, not the {layout.title} {layout.code}",
            "name the code printed on this one",
        )
    return Found(picture, layout, to_photo, mirrored, seen, off)


def _marks(picture: Pixels, *, thorough: bool) -> list[tuple[int, Floats]]:
    """Fiducials as (number, (4, 2) corners in pixels, from its own top left clockwise).

    thorough : look in smaller pictures too, where blur is less, and let more cells be wrong; that
        finds false ones as well, which the fit sorts out
    """
    import cv2

    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    if grey.dtype == np.uint16:
        grey = (grey // 256).astype(np.uint8)
    found: list[tuple[int, Floats]] = []
    for longer, wrong in (
        (SEARCH_PX, 0.6),
        *(((SEARCH_PX, 1.0), (1000, 1.0), (700, 1.0)) if thorough else ()),
    ):
        scale = min(1.0, longer / max(grey.shape))
        for number, spots in _detected(grey, scale, wrong):
            size = float(np.linalg.norm(spots[2] - spots[0]))
            near = [
                other
                for known, other in found
                if known == number
                and np.linalg.norm(other.mean(axis=0) - spots.mean(axis=0)) < 0.5 * size
            ]
            if not near:
                found.append((number, spots))
    return found


def _detected(grey: Pixels, scale: float, wrong: float) -> list[tuple[int, Floats]]:
    """Fiducials found in a reduced picture, their corners refined in the full one."""
    import cv2

    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    rules = cv2.aruco.DetectorParameters()
    rules.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    rules.errorCorrectionRate = wrong
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, numbers, _ = cv2.aruco.ArucoDetector(book, rules).detectMarkers(small)
    found = []
    for number, quad in zip(() if numbers is None else numbers.ravel(), corners, strict=True):
        spots: Floats = np.asarray((quad.reshape(4, 2) + 0.5) / scale - 0.5, dtype=np.float64)
        if scale < 1.0:
            side = float(np.linalg.norm(np.roll(spots, 1, 0) - spots, axis=1).min())
            half = int(np.clip(side / 12.0, 2, 15))
            stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.01)
            refined = cv2.cornerSubPix(
                grey, spots.astype(np.float32).reshape(-1, 1, 2), (half, half), (-1, -1), stop
            )
            spots = np.asarray(refined.reshape(4, 2), dtype=np.float64)
        found.append((int(number), spots))
    return found


def _fit(
    marks: list[tuple[int, Floats]], layout_of_mark: Callable[[int], StripLayout | None]
) -> tuple[StripLayout, Floats, tuple[int, ...], float] | None:
    """The strip and homography on which most fiducials agree."""
    import cv2

    best: tuple[StripLayout, Floats, tuple[int, ...], float] | None = None
    families: dict[str, StripLayout] = {}
    for number, _ in marks:
        layout = layout_of_mark(number)
        if layout is not None:
            families[layout.code] = layout
    for layout in families.values():
        boxes = {mark.number: mark.box for mark in layout.fiducials}
        known = [(number, quad) for number, quad in marks if number in boxes]
        strip = np.array(
            [
                point
                for number, _ in known
                for b in (boxes[number],)
                for point in (
                    (b.left, b.top),
                    (b.right, b.top),
                    (b.right, b.bottom),
                    (b.left, b.bottom),
                )
            ]
        )
        photo = np.concatenate([quad for _, quad in known])
        to_strip, _ = cv2.findHomography(photo, strip, cv2.RANSAC, OFF_MM, maxIters=4000)
        if to_strip is None:
            continue
        back = cv2.perspectiveTransform(photo[None], to_strip)[0]
        off = np.linalg.norm(back - strip, axis=1).reshape(-1, 4).max(axis=1)
        agree = off < 2.0 * OFF_MM
        seen = tuple(sorted({number for (number, _), ok in zip(known, agree, strict=True) if ok}))
        if len(seen) < 2 or (best is not None and len(seen) <= len(best[2])):
            continue
        rows = np.repeat(agree, 4)
        to_photo, _ = cv2.findHomography(strip[rows], photo[rows], 0)
        if to_photo is None:
            continue
        rms = float(np.sqrt(np.mean(np.sum((back - strip)[rows] ** 2, axis=1))))
        best = (layout, np.asarray(to_photo, dtype=float), seen, rms)
    return best


def _refuse_two(marks: list[tuple[int, Floats]], seen: tuple[int, ...], where: str) -> None:
    twice = [number for number, times in Counter(n for n, _ in marks).items() if times > 1]
    if any(number in seen for number in twice):
        raise CalibrationError(
            where, "two strips are in the picture", "photograph one strip, or one pile of copies"
        )


def _refuse_half(
    layout: StripLayout, to_photo: Floats, picture: Pixels, seen: tuple[int, ...], where: str
) -> None:
    block = layout.block
    corners = [
        (block.left, block.top),
        (block.right, block.top),
        (block.right, block.bottom),
        (block.left, block.bottom),
    ]
    spots = to_pixels(to_photo, np.array(corners))
    high, wide = picture.shape[:2]
    out = (spots < -1.0).any(axis=1) | (spots[:, 0] > wide) | (spots[:, 1] > high)
    missing = [mark.number for mark in layout.fiducials if mark.number not in seen]
    if out.any():
        raise CalibrationError(
            where,
            f"only part of the strip is in the picture: {int(out.sum())} of 4 corners lie outside",
            "step back until all square marks are in the picture",
        )
    if len(seen) < 3:
        raise CalibrationError(
            where,
            f"{len(missing)} of {len(layout.fiducials)} square marks were not found",
            "they must not be covered, cut off, blurred or drowned in glare",
        )


def to_pixels(to_photo: Floats, points: Floats) -> Floats:
    """Strip mm to photo pixels. points : (n, 2)"""
    moved = np.column_stack((points, np.ones(len(points)))) @ to_photo.T
    return np.asarray(moved[:, :2] / moved[:, 2:])


def slant_deg(found: Found) -> float:
    """Angle between the line of sight and the film's normal in the middle of the strip.

    A strip seen aslant narrows with distance; how much it does tells focal length and tilt of a
    pinhole camera that looks through the middle of the picture. Where perspective is too weak to
    tell the focal length, one as common in phones is taken.
    Source: [hartley2004], two conditions on the columns of a homography of a plane
    """
    high, wide = found.pixels.shape[:2]
    longer = float(max(wide, high))
    to_middle = np.array([[1.0, 0.0, -wide / 2.0], [0.0, 1.0, -high / 2.0], [0.0, 0.0, 1.0]])
    columns = to_middle @ found.to_photo
    best = (np.inf, 0.0)
    for focal in longer * np.geomspace(0.5, 4.0, 61):
        rays = np.diag([1.0 / focal, 1.0 / focal, 1.0]) @ columns
        one, two = rays[:, 0], rays[:, 1]
        lengths = np.linalg.norm(one), np.linalg.norm(two)
        skew = float(one @ two / (lengths[0] * lengths[1]))
        odd = float(np.log(lengths[0] / lengths[1]))
        # A hundredth of the usual focal length's distance settles what perspective cannot.
        unusual = 0.002 * np.log(focal / (0.8 * longer))
        miss = skew**2 + odd**2 + unusual**2
        if miss < best[0]:
            normal = np.cross(one, two)
            sight = rays @ np.array([*found.layout.block.centre, 1.0])
            cosine = abs(normal @ sight) / (np.linalg.norm(normal) * np.linalg.norm(sight))
            best = (float(miss), float(np.degrees(np.arccos(min(1.0, cosine)))))
    return best[1]


def flattened(
    picture: Pixels, to_photo: Floats, box: tuple[float, float, float, float], px_per_mm: float
) -> Pixels:
    """Part of a strip as if photographed straight from above. box : left, top, right, bottom mm"""
    import cv2

    left, top, right, bottom = box
    size = (round((right - left) * px_per_mm), round((bottom - top) * px_per_mm))
    to_mm = np.array(
        [
            [1.0 / px_per_mm, 0.0, left + 0.5 / px_per_mm],
            [0.0, 1.0 / px_per_mm, top + 0.5 / px_per_mm],
            [0.0, 0.0, 1.0],
        ]
    )
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpPerspective(picture, to_photo @ to_mm, size, flags=flags))


def _read_code(picture: Pixels, layout: StripLayout, to_photo: Floats, where: str) -> str:
    import cv2

    box = layout.code_box.grown(3.0)
    for scale in (12.0, 8.0, 18.0):
        part = flattened(picture, to_photo, box, scale)
        if part.dtype == np.uint16:
            part = (part // 256).astype(np.uint8)
        grey = cv2.cvtColor(part, cv2.COLOR_RGB2GRAY)
        # Copies that lie a little off thicken what is dark.
        for thicker_mm in (0.0, 0.3, 0.5, 0.7):
            side = max(1, round(thicker_mm * scale))
            thin = cv2.dilate(grey, np.ones((side, side), np.uint8))
            _, sharp = cv2.threshold(thin, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
            for image in (thin, sharp):
                try:
                    text, *_ = cv2.QRCodeDetector().detectAndDecode(image)
                except cv2.error:
                    continue
                if text:
                    return str(text)
    raise CalibrationError(
        where,
        "the code on the strip cannot be read",
        "take a sharper photo, or name the code that is printed beside it",
    )
