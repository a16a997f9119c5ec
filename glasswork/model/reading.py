"""Calibration strips, and what was measured of them."""

from __future__ import annotations

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.model.geometry import Box

Floats = NDArray[np.float64]

BANDS: Final = {"spectral": 36, "camera": 3, "xyz": 3, "lab": 3, "density": 3}
"""Values a reading of each kind has. spectral: transmittance relative to the bare film, 380-730 nm
by 10 nm; camera: linear sRGB relative to the bare film; xyz: relative to the bare film, Y = 1 for
it; lab: CIELAB relative to the bare film; density: Status A above the bare film, red, green, blue
(ISO 5-2 diffuse transmission density, ISO 5-3 spectral conditions)."""

AXES: Final = {"rgb": 3, "cmyk": 4}


class Patch(Struct, frozen=True, kw_only=True):
    """One square of a strip.

    name : row letter and column number, "C7"
    device : what is printed, 0-1; white is bare film
    use : "clear" evens out the light · "node" belongs to the lattice · "ramp" · "check" lies
        between the nodes and tests the profile
    box : in strip millimetres, from the top left of the strip's frame
    """

    name: str
    device: tuple[float, float, float]
    use: str
    box: Box


class Fiducial(Struct, frozen=True, kw_only=True):
    """A square mark that a photo is found by. number : of the pattern inside"""

    number: int
    box: Box


class StripLayout(Struct, frozen=True, kw_only=True):
    """Where everything measured lies on a strip, in millimetres from its frame's top left.

    code : the text of the machine-readable code; it names the layout completely
    block : the part that must be in the photo
    """

    code: str
    title: str
    steps: int
    patches: tuple[Patch, ...]
    fiducials: tuple[Fiducial, ...]
    code_box: Box
    block: Box
    width_mm: float
    height_mm: float

    @property
    def device(self) -> Floats:
        """Device values of all patches, (patches, 3)."""
        return np.array([patch.device for patch in self.patches])

    def patch(self, name: str) -> Patch:
        """Raises: KeyError, if the strip has no such patch"""
        for patch in self.patches:
            if patch.name == name:
                return patch
        raise KeyError(name)


class Remark(Struct, frozen=True, kw_only=True):
    """What is doubtful about one patch."""

    patch: str
    what: str


class Readings(Struct, frozen=True, kw_only=True, eq=False):
    """Measured patches of one kind and one number of films.

    kind : a key of BANDS
    device : (patches, 3 or 4) 0-1; rgb 1 is no ink, cmyk 0 is no ink
    values : (patches, bands), all finite; relative to the bare film
    weight : (patches,) 0-1, trust in each; 0 leaves a patch out
    least : (patches, bands) the value is the least that could be read: it is this or less
    films : how many copies lay on each other
    source : the file, or whatever it came from
    strip : the code of the strip, if it was one
    slant_deg : angle from the normal at which light went through to be read
    """

    kind: str
    device: Floats
    values: Floats
    weight: Floats
    films: int = 1
    source: str = ""
    strip: str = ""
    names: tuple[str, ...] = ()
    colorant: str = "rgb"
    instrument: str = ""
    remarks: tuple[Remark, ...] = ()
    notes: tuple[str, ...] = ()
    least: NDArray[np.bool_] | None = None
    slant_deg: float = 0.0

    def __post_init__(self) -> None:
        rows = len(self.values)
        if self.device.shape != (rows, AXES[self.colorant]) or self.weight.shape != (rows,):
            raise ValueError("device, values and weight need one row a patch")
        if self.values.shape != (rows, BANDS[self.kind]) or not np.isfinite(self.values).all():
            raise ValueError(f"{self.kind} readings need {BANDS[self.kind]} finite values")


class PhotoReading(Struct, frozen=True, kw_only=True, eq=False):
    """A photo of a strip as read, before its patches are compared with bare film.

    readings : the patches, relative to the bare film around them
    level : clear patches in the photo, 0-1 of the sensor's range, red, green, blue
    clipped : the clear patches are over the sensor's range, so only a photo of shorter exposure
        beside it makes sense of this one
    mirrored : the film lay upside down (or the photo was taken from behind); put right
    strip_to_photo : strip mm to photo pixels, 3 x 3 homography rows
    blur_mm : width of an edge from 10 % to 90 %
    unevenness : brightest over darkest clear patch
    marked : PNG of what was read where
    linear : (patches, 3) linear light as the camera saw it, 0-1 of its range
    even : the same of bare film at every patch's place
    full : (patches,) the patch is over the range
    """

    readings: Readings
    level: tuple[float, float, float]
    clipped: bool
    mirrored: bool
    strip_to_photo: tuple[float, ...]
    blur_mm: float
    unevenness: float
    size_px: tuple[int, int]
    linear: Floats
    even: Floats
    full: NDArray[np.bool_]
    turned_deg: float = 0.0
    marked: bytes = b""
