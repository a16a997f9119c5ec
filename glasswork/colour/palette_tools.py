"""Work on palettes: what can be reached instead, look-alikes, a palette out of a photo."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.cielab import delta_e00, hue_deg, lab_of_srgb, srgb_of_lab
from glasswork.colour.separate import WITHIN, print_glasses
from glasswork.colour.spectra import Floats
from glasswork.colour.table import Cache, device_cube, encode, look_up
from glasswork.errors import ColourError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.palette import Glass, Palette

ALIKE: Final = 2.0
"""Glasses nearer than this ΔE00 in the stack are taken for one another."""

_SAMPLE: Final = 20_000
_HUES: Final = (
    (20.0, "rose"), (45.0, "red"), (70.0, "orange"), (92.0, "amber"), (112.0, "yellow"),
    (145.0, "leaf"), (190.0, "green"), (240.0, "teal"), (296.0, "blue"), (320.0, "violet"),
    (350.0, "plum"), (361.0, "rose"),
)  # fmt: skip
"""CIELAB hue up to which a colour is called so, degrees."""


def reachable_palette(
    palette: Palette, profile: PrinterProfile, light: Light, *, films: int
) -> Palette:
    """The palette with every glass out of reach replaced by the nearest that can be printed, its
    hue kept; the others stay as they are."""
    stack = print_glasses(palette.glasses, profile, light, films=films)
    glasses = []
    for i, glass in enumerate(palette.glasses):
        if stack.off[i] <= WITHIN:
            glasses.append(glass)
            continue
        lab = tuple(round(float(v), 2) for v in stack.seen[i])
        glasses.append(
            replace(
                glass,
                srgb=None,
                transmittance=None,
                lab=(lab[0], lab[1], lab[2]),
                note=f"brought into reach of {profile.name} with {films} films before "
                f"{light.name}: ΔE00 {stack.off[i]:.1f} from the glass wished for",
            )
        )
    return replace(palette, glasses=tuple(glasses))


def look_alikes(
    palette: Palette, profile: PrinterProfile, light: Light, *, films: int
) -> tuple[tuple[str, str, float], ...]:
    """Pairs of glasses that the stack makes indistinguishable though they were asked apart:
    both ids and the ΔE00 left between them, nearest first."""
    stack = print_glasses(palette.glasses, profile, light, films=films)
    found = []
    for i, glass in enumerate(palette.glasses):
        seen = delta_e00(stack.seen[i], stack.seen[i + 1 :])
        asked = delta_e00(stack.wanted[i], stack.wanted[i + 1 :])
        for k in np.flatnonzero((seen < ALIKE) & (asked >= ALIKE)):
            found.append((glass.id, palette.glasses[i + 1 + int(k)].id, float(seen[k])))
    return tuple(sorted(found, key=lambda pair: pair[2]))


def suggest_instead(
    glass: str,
    used: Sequence[str],
    palette: Palette,
    profile: PrinterProfile,
    light: Light,
    *,
    films: int,
) -> str | None:
    """The glass nearest to one that is in reach and told apart from all those used.

    glass : the one to replace; used : ids in the window, that one included
    Returns: an id, or None if the palette has no such glass
    """
    stack = print_glasses(palette.glasses, profile, light, films=films)
    ids = [entry.id for entry in palette.glasses]
    others = [ids.index(other) for other in used if other != glass]
    here = ids.index(glass)
    best, best_off = None, np.inf
    for i, other in enumerate(ids):
        if other in used or stack.off[i] > WITHIN:
            continue
        if others and delta_e00(stack.seen[i], stack.seen[others]).min() < ALIKE:
            continue
        off = float(delta_e00(stack.seen[i], stack.wanted[here]))
        if off < best_off:
            best, best_off = other, off
    return best


def palette_from_photo(
    pixels: NDArray[np.uint8], *, count: int = 12, name: str = "photo"
) -> Palette:
    """The leading colours of a picture as a palette, most common first.

    pixels : (rows, columns, 3) sRGB
    count : most glasses, 2 to 64; fewer if the picture has fewer colours
    Raises: ColourError, if the picture is empty or the count is not 2 to 64

    A photo knows nothing of a glass's spectrum and clips strong colours: treat them as a start.
    """
    if pixels.ndim != 3 or pixels.shape[-1] != 3 or not pixels.size:
        raise ColourError(name, f"a picture of shape {pixels.shape} has no colours", "sRGB wanted")
    if not 2 <= count <= 64:
        raise ColourError(name, f"{count} glasses are not 2 to 64", "12 is usual")
    flat = pixels.reshape(-1, 3)
    step = max(1, len(flat) // _SAMPLE)
    labs = lab_of_srgb(flat[step // 2 :: step] / 255.0)
    centres, share = _clusters(labs, count)
    taken: dict[str, int] = {}
    glasses = []
    for lab, part in zip(centres, share, strict=True):
        word = colour_word(lab)
        taken[word] = taken.get(word, 0) + 1
        glass_id = word if taken[word] == 1 else f"{word}-{taken[word]}"
        code = "".join(f"{round(255.0 * float(v)):02x}" for v in srgb_of_lab(lab))
        glasses.append(
            Glass(
                id=glass_id,
                title=glass_id.replace("-", " ").capitalize(),
                srgb=f"#{code}",
                note=f"{100.0 * part:.0f} % of the picture",
            )
        )
    return Palette(name=name, title=f"From {name}", glasses=tuple(glasses), source=name)


def colour_word(lab: Floats) -> str:
    """A plain name such as "deep-blue" or "pale-amber"."""
    light, chroma = float(lab[0]), float(np.hypot(lab[1], lab[2]))
    if chroma < 7.0:
        return (
            "clear"
            if light > 92.0
            else "pale-grey"
            if light > 70.0
            else ("grey" if light > 30.0 else "black")
        )
    hue = float(hue_deg(lab))
    word = next(word for limit, word in _HUES if hue < limit)
    if light < 30.0:
        return f"deep-{word}"
    return f"pale-{word}" if light > 78.0 and chroma < 35.0 else word


def _clusters(labs: Floats, count: int) -> tuple[Floats, Floats]:
    """Centres of colour clusters and their shares, largest first; always the same for the same
    picture. Begun at colours far from each other, as common as can be."""
    centres = [labs.mean(axis=0)]
    away = ((labs - centres[0]) ** 2).sum(axis=1)
    centres[0] = labs[int(away.argmin())]
    while len(centres) < count:
        away = np.min([((labs - c) ** 2).sum(axis=1) for c in centres], axis=0)
        far = away > ALIKE**2
        if not far.any():
            break
        order = np.argsort(away)
        centres.append(
            labs[order[int(0.98 * (len(order) - 1))]] if far.mean() > 0.05 else labs[order[-1]]
        )
    middle = np.array(centres)
    for _ in range(20):
        nearest = np.argmin(((labs[:, None] - middle[None]) ** 2).sum(axis=2), axis=1)
        sizes = np.bincount(nearest, minlength=len(middle))
        sums = np.stack([np.bincount(nearest, labs[:, k], len(middle)) for k in range(3)], axis=1)
        moved = np.where(sizes[:, None] > 0, sums / np.maximum(sizes, 1)[:, None], middle)
        if np.abs(moved - middle).max() < 0.05:
            break
        middle = moved
    order = np.argsort(-sizes, kind="stable")
    order = order[sizes[order] > 0]
    return middle[order], sizes[order] / len(labs)


def mapped_picture(
    pixels: NDArray[np.uint8],
    profile: PrinterProfile,
    light: Light,
    *,
    films: int,
    cache: Cache | None = None,
) -> NDArray[np.uint8]:
    """A picture as the lit stack would show it: what is out of reach brought in, hue kept.

    pixels : (rows, columns, 3) sRGB, its white the lit clear stack
    cache : keeps the device cube, see `device_cube`
    """
    from PIL import Image, ImageFilter

    from glasswork.colour.predict import make_stack

    size = 33
    axis = np.linspace(0.0, 1.0, size)
    mesh = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1)
    cube = device_cube(profile, light, films, cache=cache)
    device = np.clip(look_up(cube, encode(lab_of_srgb(mesh))) / 255.0, 0.0, 1.0)
    shown = srgb_of_lab(make_stack(profile, light, films).lab(device))
    table = np.ascontiguousarray(shown.transpose(2, 1, 0, 3), dtype=np.float32).reshape(-1)
    done = Image.fromarray(pixels).filter(ImageFilter.Color3DLUT(size, table, target_mode="RGB"))
    return np.asarray(done)
