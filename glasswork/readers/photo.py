"""Photos and transparency scans of a strip: what was read where, and how far to trust it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.errors import CalibrationError
from glasswork.model.reading import PhotoReading, Readings, Remark, StripLayout
from glasswork.readers.photo_find import Found, decode_photo, find_strip, primaries_of, slant_deg
from glasswork.readers.photo_marked import mark_photo
from glasswork.readers.photo_patches import Sampled, blur_mm, even_light, sample

Floats = NDArray[np.float64]

BLUR_REFUSED_MM: Final = 2.2
BLUR_DOUBTED_MM: Final = 1.2
"""An edge wider than the rim of a patch that is left out carries the neighbour's colour inside."""
UNEVEN_REFUSED: Final = 0.08
UNEVEN_DOUBTED: Final = 0.02
"""Relative error of the light where one clear patch is predicted by the others."""
ROUGH: Final = 0.10
GRAIN_DOUBTED: Final = 0.03
"""Noise that is cut off at zero lifts what dark patches seem to let through."""
DIM: Final = 0.10
"""Clear patches darker than this share of the range leave too few steps for the dark ones."""
LOCK_HINT: Final = (
    "lock exposure and white balance on the bare film, then turn the exposure down until bare film "
    "looks light grey"
)


def read_photo(
    data: bytes,
    *,
    where: str,
    layout_of_code: Callable[[str], StripLayout],
    layout_of_mark: Callable[[int], StripLayout | None],
    films: int = 1,
    code: str | None = None,
    linear: bool = False,
    may_clip: bool = False,
    picture: bool = True,
) -> PhotoReading:
    """The patches of the strip in a photo, relative to bare film.

    data : JPEG, PNG or TIFF, 8 or 16 bits a channel
    layout_of_code, layout_of_mark : which strip has this code; a strip with this fiducial
    films : how many copies lie on each other
    code : the strip's code, where it cannot be read
    linear : samples are linear light, not sRGB
    may_clip : a photo of longer exposure whose clear patches are over the range; useful only
        beside one where they are not, see `combine_exposures`
    Raises: ReadError, if it is no picture; CalibrationError, if it shows no strip, half of one or
        two, is blurred, or its clear patches are over the range
    """
    pixels = decode_photo(data, where=where)
    found = find_strip(
        pixels,
        where=where,
        layout_of_code=layout_of_code,
        layout_of_mark=layout_of_mark,
        code=code,
    )
    blur = blur_mm(found)
    if blur > BLUR_REFUSED_MM:
        raise CalibrationError(
            where,
            f"is blurred: edges are {blur:.1f} mm wide, at most {BLUR_REFUSED_MM:g} mm",
            "hold the camera still, focus on the patches",
        )
    sampled = sample(found, linear=linear)
    reading = _reading(
        found, sampled, blur, where=where, films=films, may_clip=may_clip, picture=picture
    )
    turn, note = primaries_of(data)
    return _in_srgb(reading, turn, note)


def _in_srgb(reading: PhotoReading, turn: Floats | None, note: str) -> PhotoReading:
    """Readings in the primaries of sRGB. Values below zero are kept: they are not cut off yet."""
    readings = reading.readings
    if note:
        readings = replace(readings, notes=(*readings.notes, note))
    if turn is None:
        return replace(reading, readings=readings)
    least = readings.least
    if least is not None:
        least = np.repeat(least.any(axis=1, keepdims=True), 3, axis=1)
    readings = replace(readings, values=readings.values @ turn.T, least=least)
    return replace(
        reading,
        readings=readings,
        linear=reading.linear @ turn.T,
        even=reading.even @ turn.T,
    )


def _reading(
    found: Found,
    sampled: Sampled,
    blur: float,
    *,
    where: str,
    films: int,
    may_clip: bool,
    picture: bool,
) -> PhotoReading:
    layout = found.layout
    clear = np.array([patch.use == "clear" for patch in layout.patches])
    full = sampled.full.max(axis=1) > 0.02
    clipped = bool(full[clear].any())
    if clipped and not may_clip:
        share, channel = _worst_clip(sampled.full[clear])
        raise CalibrationError(
            where,
            f"bare film is over the camera's range: {channel} full in {share:.0%} of a clear patch",
            LOCK_HINT,
        )
    usable = ~full & (sampled.rough < 3.0 * ROUGH)
    even, error = even_light(layout, sampled.linear, usable if not clipped else np.ones_like(full))
    if not clipped:
        _check_light(even, error, where)
    values = sampled.linear / even
    remarks = _remarks(layout, sampled, clipped=clipped)
    readings = Readings(
        kind="camera",
        device=layout.device,
        values=values,
        weight=_weights(sampled, clipped=clipped),
        films=films,
        source=where,
        strip=layout.code,
        names=tuple(patch.name for patch in layout.patches),
        instrument="camera",
        remarks=remarks,
        notes=_notes(found, blur, error, float(np.median(sampled.grain[clear])), clipped=clipped),
        # Where noise is cut at zero, what is left of it has a mean above zero.
        least=sampled.empty > 0.1,
        slant_deg=slant_deg(found),
    )
    level = np.median(sampled.linear[clear], axis=0)
    lights = sampled.linear[clear].mean(axis=1)
    return PhotoReading(
        readings=readings,
        level=(float(level[0]), float(level[1]), float(level[2])),
        clipped=clipped,
        mirrored=found.mirrored,
        strip_to_photo=tuple(found.to_photo.ravel().tolist()),
        blur_mm=blur,
        unevenness=float(lights.max() / max(lights.min(), 1e-6)),
        size_px=(found.pixels.shape[1], found.pixels.shape[0]),
        turned_deg=_turned(found.to_photo),
        linear=sampled.linear,
        even=even,
        full=full,
        marked=mark_photo(found, remarks) if picture else b"",
    )


def _worst_clip(full: Floats) -> tuple[float, str]:
    _, channel = np.unravel_index(int(full.argmax()), full.shape)
    return float(full.max()), ("red", "green", "blue")[int(channel)]


def _turned(to_photo: Floats) -> float:
    """How far the strip lies turned in the photo, in degrees clockwise."""
    from glasswork.readers.photo_find import to_pixels

    a, b = to_pixels(to_photo, np.array([[0.0, 0.0], [190.0, 0.0]]))
    return float(np.degrees(np.arctan2(b[1] - a[1], b[0] - a[0])))


def _check_light(even: Floats, error: float, where: str) -> None:
    if error > UNEVEN_REFUSED:
        raise CalibrationError(
            where,
            f"the light is too uneven: clear patches differ by {error:.0%} from a smooth fall-off, "
            f"at most {UNEVEN_REFUSED:.0%}",
            "no shadows, lamps or reflections on the film; a diffuser behind it",
        )
    if float(even.min()) < 0.01 or float(np.median(even)) < DIM * 0.4:
        raise CalibrationError(
            where,
            f"is too dark: bare film reaches {float(np.median(even)):.0%} of the range",
            "expose until bare film looks light grey",
        )


def _weights(sampled: Sampled, *, clipped: bool) -> Floats:
    weight = np.where(sampled.rough > ROUGH, 0.25, 1.0)
    weight[sampled.rough > 3.0 * ROUGH] = 0.0
    if clipped:
        weight[(sampled.full.max(axis=1) > 0.0)] = 0.0
    return np.asarray(weight, dtype=float)


def _remarks(layout: StripLayout, sampled: Sampled, *, clipped: bool) -> tuple[Remark, ...]:
    remarks = []
    for i, patch in enumerate(layout.patches):
        if sampled.rough[i] > ROUGH:
            remarks.append(Remark(patch=patch.name, what=f"uneven by {sampled.rough[i]:.0%}"))
        elif sampled.full[i].max() > 0.02 and not clipped:
            remarks.append(Remark(patch=patch.name, what="over the camera's range"))
        elif (sampled.empty[i] > 0.5).any():
            names = [
                n
                for n, e in zip(("red", "green", "blue"), sampled.empty[i], strict=True)
                if e > 0.5
            ]
            remarks.append(Remark(patch=patch.name, what=f"{' and '.join(names)} under the range"))
    return tuple(remarks)


def _notes(
    found: Found, blur: float, error: float, grain: float, *, clipped: bool
) -> tuple[str, ...]:
    notes = []
    if found.mirrored:
        notes.append("the film lay upside down or was seen from behind: read as mirrored")
    if blur > BLUR_DOUBTED_MM:
        notes.append(f"soft: edges are {blur:.1f} mm wide; a sharper photo would be surer")
    if error > UNEVEN_DOUBTED:
        notes.append(f"uneven light: clear patches differ by {error:.1%} from a smooth fall-off")
    if grain > GRAIN_DOUBTED:
        notes.append(
            f"noisy: pixels of bare film scatter by {grain:.0%}; a longer exposure at lower "
            "sensitivity would be surer"
        )
    missing = [m.number for m in found.layout.fiducials if m.number not in found.seen]
    if missing:
        notes.append(f"{len(missing)} square mark(s) not found; the others sufficed")
    if clipped:
        notes.append("bare film is over the range: used for the dark patches only")
    return tuple(notes)


def combine_exposures(photos: Sequence[PhotoReading]) -> Readings:
    """Photos of one strip (as many films each) at different exposures as one set of readings.

    Bare film is taken from the photos in which it is within the range; the longer exposures add
    the dark patches, brought onto the same scale by the patches that both show well.
    Raises: CalibrationError, if bare film is over the range in all, or they show unlike strips
    """
    where = ", ".join(photo.readings.source for photo in photos)
    if len({(p.readings.strip, p.readings.films) for p in photos}) != 1:
        raise CalibrationError(
            where,
            "are not photos of one strip with as many films",
            "give those of other strips or film counts by themselves",
        )
    sound = [photo for photo in photos if not photo.clipped]
    if not sound:
        raise CalibrationError(
            where, "bare film is over the camera's range in every photo", LOCK_HINT
        )
    first = max(sound, key=lambda photo: min(photo.level))
    if len(photos) == 1:
        return first.readings
    total = np.zeros_like(first.linear)
    trust = np.zeros_like(first.linear)
    weight = np.zeros(len(first.linear))
    least = np.ones(first.linear.shape, dtype=bool)
    for photo in photos:
        gain = _gain(first, photo)
        sound_here = ((photo.linear < 0.9) & ~photo.full[:, None]).astype(float)
        # Noise of the sensor: a floor, and shot noise that grows with the root of the light.
        variance = (3e-4**2 + 2e-5 * photo.linear) / (gain * first.even) ** 2
        part = sound_here * np.maximum(photo.readings.weight, 1e-3)[:, None] / variance
        total += part * photo.linear / (gain * first.even)
        trust += part
        weight = np.maximum(weight, photo.readings.weight * sound_here.min(axis=1))
        if photo.readings.least is not None:
            least &= photo.readings.least
    return Readings(
        kind="camera",
        device=first.readings.device,
        values=np.where(trust > 0.0, total / np.maximum(trust, 1e-12), first.readings.values),
        weight=weight,
        films=first.readings.films,
        source=where,
        strip=first.readings.strip,
        names=first.readings.names,
        instrument="camera",
        remarks=first.readings.remarks,
        notes=tuple(note for photo in photos for note in photo.readings.notes),
        least=least,
        slant_deg=first.readings.slant_deg,
    )


def _gain(first: PhotoReading, other: PhotoReading) -> Floats:
    """How much brighter the other photo is at every patch, (patches, 3): a smooth surface."""
    if other is first:
        return np.ones_like(first.linear)
    columns = [int(name[1:]) for name in first.readings.names]
    rows = [ord(name[0]) for name in first.readings.names]
    spots = np.stack(
        (np.array(columns) / 9.0 - 1.0, (np.array(rows) - rows[0]) / 6.0 - 1.0), axis=1
    )
    design = np.stack(
        [spots[:, 0] ** i * spots[:, 1] ** j for i in range(3) for j in range(3 - i)], 1
    )
    gain = np.empty_like(first.linear)
    for c in range(3):
        a, b = first.linear[:, c], other.linear[:, c]
        both = (a > 0.02) & (a < 0.9) & (b > 0.02) & (b < 0.85) & ~first.full & ~other.full
        if both.sum() < 12:
            raise CalibrationError(
                other.readings.source,
                f"shares only {int(both.sum())} well exposed patches with {first.readings.source}",
                "let exposures differ by two to four stops",
            )
        ratio = np.log(b[both] / a[both])
        gain[:, c] = np.exp(design @ (np.linalg.pinv(design[both]) @ ratio))
    return gain
