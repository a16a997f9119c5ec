"""A cube of device values for pictures of glass: one look-up a pixel instead of a search.

The cube is indexed by wide RGB: linear light with primaries wide enough for stacked film (those
of ROMM RGB [romm]), white = the lit clear stack, each channel to the power 1/3, 0-1. `encode`
makes such codes of CIELAB, `codes_of_linear` of linear light; a texture is best worked in linear
light or density and encoded last. The cube is laid out [red, green, blue], device values last,
8 bits.

What is out of reach gets the hue-keeping nearest device values, so the cube has no holes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from glasswork.cielab import D65_XYZ, lab_of_ratios, ratios_of_lab
from glasswork.colour.light import fine_power
from glasswork.colour.predict import StackModel, make_stack
from glasswork.colour.solve import HOLD_HUE, solve
from glasswork.colour.spectra import Floats
from glasswork.errors import ColourError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light

SIZE: Final = 33
GAMMA: Final = 3.0
MADE: Final = 1
"""Counts up whenever the model or the search changes what is kept."""

_MAGIC: Final = b"GWCUBE1\n"
_DIGEST: Final = 32

_PRIMARIES: Final = ((0.7347, 0.2653), (0.1596, 0.8404), (0.0366, 0.0001))
"""Chromaticities of wide RGB's red, green and blue; the white is that of D65. Source: [romm]"""


def _ratios_of_wide() -> Floats:
    """Linear wide RGB to X/Xn, Y/Yn, Z/Zn; its rows sum to 1."""
    xyz = np.array([(x, y, 1.0 - x - y) for x, y in _PRIMARIES]).T
    scaled = xyz * np.linalg.solve(xyz, D65_XYZ)
    return np.asarray(scaled / D65_XYZ[:, None])


_RATIOS_OF_WIDE: Final[Floats] = _ratios_of_wide()
_WIDE_OF_RATIOS: Final[Floats] = np.linalg.inv(_RATIOS_OF_WIDE)

Cube = NDArray[np.uint8]


class Cache(Protocol):
    """Where bytes are kept under a key; a folder of the user's, most often.

    `put` writes all or nothing. A cache may lose or refuse anything at any time.
    """

    def get(self, key: str) -> bytes | None: ...

    def put(self, key: str, data: bytes) -> None: ...


def encode(lab: Any) -> Floats:
    """Cube coordinates 0-1 of CIELAB relative to the lit clear stack, (..., 3)."""
    return codes_of_linear(ratios_of_lab(lab) @ _WIDE_OF_RATIOS.T)


def codes_of_linear(wide: Any) -> Floats:
    """Cube coordinates 0-1 of linear wide RGB; what lies outside 0-1 is cut."""
    return np.asarray(np.clip(np.asarray(wide), 0.0, 1.0) ** (1.0 / GAMMA))


def linear_of_lab(lab: Any) -> Floats:
    """Linear wide RGB of CIELAB relative to the lit clear stack; white is (1, 1, 1)."""
    return np.asarray(ratios_of_lab(lab) @ _WIDE_OF_RATIOS.T)


def decode(codes: Any) -> Floats:
    """CIELAB of cube coordinates 0-1; the inverse of `encode`."""
    return lab_of_ratios(np.asarray(codes, dtype=float) ** GAMMA @ _RATIOS_OF_WIDE.T)


def cube_key(profile: PrinterProfile, light: Light, films: int, *, size: int = SIZE) -> str:
    """A name for the cube that changes with everything it depends on, and with nothing else."""
    return f"cube-{_digest(profile, light, f'{MADE} {size} {films}')}"


def codes_key(
    profile: PrinterProfile, light: Light, films: int, wanted: Floats, *, unlike: bool
) -> str:
    """The same for the device values of single colours. wanted : (colours, 3) CIELAB"""
    colours = hashlib.sha256(np.ascontiguousarray(wanted).tobytes()).hexdigest()
    return f"codes-{_digest(profile, light, f'{MADE} {films} {unlike} {colours}')}"


def _digest(profile: PrinterProfile, light: Light, rest: str) -> str:
    digest = hashlib.sha256(f"{rest} {profile.device} {profile.bands}".encode())
    for part in _content(profile):
        digest.update(np.ascontiguousarray(part, dtype=np.float64).tobytes() + b"|")
    digest.update(np.asarray(fine_power(light) / fine_power(light).max()).tobytes())
    return digest.hexdigest()


def _content(profile: PrinterProfile) -> Iterator[Any]:
    yield from profile.levels
    yield profile.nodes
    yield from profile.curves
    yield (profile.n, profile.index, profile.ink_limit)
    yield profile.base


def device_cube(
    profile: PrinterProfile,
    light: Light,
    films: int,
    *,
    size: int = SIZE,
    cache: Cache | None = None,
) -> Cube:
    """Device values of identical films for every wide RGB colour, (size, size, size, axes) uint8.

    cache : looked into first, and given the cube if it had none; what it holds damaged is ignored
    Raises: ColourError, if the size is not 2 to 65

    For Pillow's `Color3DLUT` the table runs blue slowest: `pillow_table` turns it.
    """
    if not 2 <= size <= 65:
        raise ColourError("cube", f"size {size} is not between 2 and 65", "33 is usual")
    model = make_stack(profile, light, films)
    key = cube_key(profile, light, films, size=size)
    cube = kept_array(cache, key, (size, size, size, model.values))
    if cube is None:
        cube = _filled(model, size)
        keep_array(cache, key, cube)
    return cube


def kept_array(cache: Cache | None, key: str, shape: tuple[int, ...]) -> NDArray[np.uint8] | None:
    """What is kept under a key; None if nothing is, or if it is cut short, changed, or of another
    shape."""
    data = None if cache is None else cache.get(key)
    head = len(_MAGIC) + _DIGEST
    if data is None or len(data) != head + int(np.prod(shape)) or not data.startswith(_MAGIC):
        return None
    body = data[head:]
    if hashlib.sha256(body).digest() != data[len(_MAGIC) : head]:
        return None
    return np.frombuffer(body, dtype=np.uint8).reshape(shape)


def keep_array(cache: Cache | None, key: str, array: NDArray[np.uint8]) -> None:
    """Keep 8-bit values under a key, if there is a cache."""
    if cache is not None:
        body = array.tobytes()
        cache.put(key, _MAGIC + hashlib.sha256(body).digest() + body)


def _filled(model: StackModel, size: int) -> Cube:
    """The cube solved from coarse to fine: each finer grid starts from the one before."""
    steps = [size]
    while steps[-1] > 9 and steps[-1] % 2:
        steps.append(steps[-1] // 2 + 1)
    device: Floats | None = None
    for count in reversed(steps):
        axis = np.linspace(0.0, 1.0, count)
        mesh = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
        starts = None if device is None else _doubled(device).reshape(-1, model.values)
        coarsest = device is None
        found = solve(
            model,
            decode(mesh),
            hold_hue=HOLD_HUE,
            starts=starts,
            rounds=25 if coarsest else 6,
            thorough=coarsest,
            again=coarsest,
        )
        device = found.device.reshape(count, count, count, model.values)
    assert device is not None
    return np.asarray(np.rint(device * 255.0), dtype=np.uint8)


def _doubled(device: Floats) -> Floats:
    """A grid of n steps an axis as one of 2n - 1, by straight lines."""
    for axis in range(3):
        count = device.shape[axis]
        fine = np.repeat(device, 2, axis=axis)
        fine = np.take(fine, range(2 * count - 1), axis=axis)
        middle = [slice(None)] * 3
        middle[axis] = slice(1, None, 2)
        low = np.take(device, range(count - 1), axis=axis)
        high = np.take(device, range(1, count), axis=axis)
        fine[tuple(middle)] = 0.5 * (low + high)
        device = fine
    return device


def look_up(cube: Cube, codes: Any) -> Floats:
    """Device values 0-255, not rounded, at cube coordinates, between the eight nodes around.

    codes : (..., 3) 0-1. For whole pictures use Pillow's `Color3DLUT` with `pillow_table`
    """
    size = cube.shape[0]
    at = np.clip(np.asarray(codes, dtype=float), 0.0, 1.0) * (size - 1)
    low = np.minimum(at.astype(int), size - 2)
    share = at - low
    shares = (1.0 - share, share)
    first = (low[..., 0] * size + low[..., 1]) * size + low[..., 2]
    nodes = cube.reshape(size**3, -1)
    total = np.zeros((*first.shape, nodes.shape[-1]))
    for r, g, b in np.ndindex(2, 2, 2):
        weight = shares[r][..., 0] * shares[g][..., 1] * shares[b][..., 2]
        total += weight[..., None] * nodes.take(first + ((r * size + g) * size + b), axis=0)
    return total


def pillow_table(cube: Cube) -> NDArray[np.float32]:
    """The cube as `PIL.ImageFilter.Color3DLUT(size, table)` takes it: flat, red fastest, 0-1."""
    turned = np.ascontiguousarray(cube.transpose(2, 1, 0, 3), dtype=np.float32)
    return (turned / np.float32(255.0)).reshape(-1)
