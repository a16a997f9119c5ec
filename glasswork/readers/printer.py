"""Printer profiles: TOML in, `PrinterProfile` out."""

from __future__ import annotations

from itertools import pairwise
from math import prod
from typing import Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from glasswork.errors import GlassworkError, ProfileError, raise_all
from glasswork.model.film import PrinterProfile
from glasswork.readers.toml import decode_toml

BANDS = 36
AXES = {"rgb": 3, "cmyk": 4}
MAX_NODES = 10_000

Curve = tuple[tuple[float, float], ...]


class NodeEntry(msgspec.Struct, frozen=True, kw_only=True):
    """One measured patch of the lattice. One of transmittance and camera; see `PrinterFile`.

    device : device values 0-1
    transmittance : relative to the bare film, 380-730 nm by 10 nm, 36 values 0-1
    camera : linear sRGB of a photo, white balanced on the bare film, 3 values 0-1
    """

    device: tuple[float, ...]
    transmittance: tuple[float, ...] | None = None
    camera: tuple[float, float, float] | None = None


class PrinterFile(msgspec.Struct, frozen=True, kw_only=True):
    """The keys of a printer profile. The nodes fill a lattice: every combination of the device
    values that occur on each axis, from 0 to 1, is there once.

    curves : for each axis, [device, effective] pairs; straight if left out
    index : of the film; the polyester most film is made of if left out
    """

    title: str
    device: Literal["rgb", "cmyk"] = "rgb"
    n: float
    node: tuple[NodeEntry, ...]
    ink_limit: float
    base: tuple[float, ...] = (1.0,) * BANDS
    curves: tuple[Curve, ...] | None = None
    index: float = 1.573
    print_scale: tuple[float, float] = (1.0, 1.0)
    print_scale_uncertainty: float = 0.002
    film_thickness_mm: float = 0.1
    unprintable_mm: tuple[float, float, float, float] = (4.0, 4.0, 4.0, 7.0)
    settings: tuple[str, ...] = ()
    invented: bool = False
    source: str = ""


def read_printer(data: bytes, *, where: str) -> PrinterProfile:
    """The printer profile in a TOML file; its name is the file's, without the ending.

    Raises: ProfileError or Faults naming the keys at fault: an unknown key, a lattice with
        holes, a tone curve that does not rise, a value out of its domain, an ink limit that
        nothing can meet
    """
    file = decode_toml(data, PrinterFile, where=where)
    axes = AXES[file.device]
    curves = file.curves or (((0.0, 0.0), (1.0, 1.0)),) * axes
    raise_all((*_value_faults(file, axes, where), *_curve_faults(curves, axes, where)))
    levels, nodes = _lattice(file, axes, where)
    return PrinterProfile(
        name=where.rsplit("/", 1)[-1].removesuffix(".toml"),
        title=file.title,
        device=file.device,
        levels=levels,
        nodes=nodes,
        curves=curves,
        n=file.n,
        base=file.base,
        index=file.index,
        ink_limit=file.ink_limit,
        print_scale=file.print_scale,
        print_scale_uncertainty=file.print_scale_uncertainty,
        film_thickness_mm=file.film_thickness_mm,
        unprintable_mm=file.unprintable_mm,
        settings=file.settings,
        invented=file.invented,
        source=file.source,
        bands="spectral" if nodes.shape[-1] == BANDS else "camera",
    )


def _value_faults(file: PrinterFile, axes: int, where: str) -> list[GlassworkError]:
    faults: list[GlassworkError] = []

    def check(key: str, value: float, low: float, high: float, hint: str) -> None:
        if not low <= value <= high:
            faults.append(
                ProfileError(
                    f"{where}, {key}", f"{value:g} is not between {low:g} and {high:g}", hint
                )
            )

    check("n", file.n, 1.0, 20.0, "film prints usually fit 1 to 2")
    check("index", file.index, 1.0, 3.0, "polyester film is about 1.57, acetate 1.48")
    check("ink_limit", file.ink_limit, 0.1, axes, "the sum over the device axes: 2.4 is 240 %")
    for axis, scale in enumerate(file.print_scale):
        check(f"print_scale[{axis}]", scale, 0.9, 1.1, "printed length over nominal length")
    check("print_scale_uncertainty", file.print_scale_uncertainty, 0.0, 0.05, "0.002 is usual")
    check("film_thickness_mm", file.film_thickness_mm, 0.01, 1.0, "about 0.1 is usual")
    for side, margin in enumerate(file.unprintable_mm):
        check(f"unprintable_mm[{side}]", margin, 0.0, 50.0, "left, top, right, bottom")
    if len(file.base) != BANDS:
        faults.append(_wrong_grid(f"{where}, base", len(file.base)))
    for place, value in enumerate(file.base):
        check(f"base[{place}]", value, 1e-3, 1.0, "internal transmittance of the bare film")
    return faults


def _curve_faults(curves: tuple[Curve, ...], axes: int, where: str) -> list[GlassworkError]:
    if len(curves) != axes:
        return [
            ProfileError(
                f"{where}, curves",
                f"{len(curves)} curves for {axes} axes",
                "give one for each axis",
            )
        ]
    faults: list[GlassworkError] = []
    for axis, curve in enumerate(curves):
        place = f"{where}, curves[{axis}]"
        if len(curve) < 2 or curve[0] != (0.0, 0.0) or curve[-1] != (1.0, 1.0):
            faults.append(
                ProfileError(place, "does not run from [0, 0] to [1, 1]", "add the end points")
            )
            continue
        for point, (before, after) in enumerate(pairwise(curve)):
            if not (after[0] > before[0] and after[1] > before[1]):
                faults.append(
                    ProfileError(
                        f"{place}[{point + 1}]",
                        f"[{after[0]:g}, {after[1]:g}] does not rise above "
                        f"[{before[0]:g}, {before[1]:g}]",
                        "a tone curve rises all the way; measure these patches again",
                    )
                )
                break
    return faults


def _lattice(
    file: PrinterFile, axes: int, where: str
) -> tuple[tuple[tuple[float, ...], ...], NDArray[np.float64]]:
    camera = _kind(file, where)
    faults: list[GlassworkError] = []
    bands = 3 if camera else BANDS
    for number, node in enumerate(file.node):
        values = node.camera if camera else node.transmittance
        place = f"{where}, node[{number}]"
        if len(node.device) != axes or not all(0.0 <= v <= 1.0 for v in node.device):
            faults.append(
                ProfileError(
                    f"{place}.device",
                    f"{list(node.device)} is not {axes} values 0-1",
                    "give one share for each axis",
                )
            )
        elif values is None or len(values) != bands:
            faults.append(_wrong_grid(f"{place}.transmittance", len(values or ())))
        elif not all(0.0 <= v <= 1.0 for v in values):
            wrong = next(v for v in values if not 0.0 <= v <= 1.0)
            faults.append(
                ProfileError(
                    f"{place}.{'camera' if camera else 'transmittance'}",
                    f"{wrong:g} is not between 0 and 1",
                    "over 1 is a density below zero: zero the reading on the bare film",
                )
            )
    raise_all(faults)
    levels = tuple(tuple(sorted({n.device[axis] for n in file.node})) for axis in range(axes))
    _check_full(file, levels, where)
    order = {node.device: node.camera if camera else node.transmittance for node in file.node}
    return levels, np.array([order[key] for key in sorted(order)], dtype=float).reshape(
        *(len(axis) for axis in levels), bands
    )


def _kind(file: PrinterFile, where: str) -> bool:
    """True if the profile knows camera bands only."""
    camera = sum(node.camera is not None for node in file.node)
    spectral = sum(node.transmittance is not None for node in file.node)
    if (camera and spectral) or camera + spectral < len(file.node):
        raise ProfileError(
            f"{where}, node",
            f"{spectral} nodes with transmittance and {camera} with camera of {len(file.node)}",
            "every node has one of them, the same for all",
        )
    return camera > 0


def _check_full(file: PrinterFile, levels: tuple[tuple[float, ...], ...], where: str) -> None:
    wanted = prod(len(axis) for axis in levels)
    if any(len(axis) < 2 or axis[0] != 0.0 or axis[-1] != 1.0 for axis in levels):
        raise ProfileError(
            f"{where}, node",
            "the lattice does not run from 0 to 1 on each axis",
            "give its corners too",
        )
    have = {node.device for node in file.node}
    if len(have) < len(file.node):
        raise ProfileError(f"{where}, node", "two nodes have the same device values", "keep one")
    if wanted > MAX_NODES:
        raise ProfileError(
            f"{where}, node", f"a lattice of {wanted} nodes is over {MAX_NODES}", "snap the levels"
        )
    if len(have) == wanted:
        return
    shape = tuple(len(axis) for axis in levels)
    for index in np.ndindex(shape):
        key = tuple(axis[i] for axis, i in zip(levels, index, strict=True))
        if key not in have:
            raise ProfileError(
                f"{where}, node",
                f"the lattice has holes: {len(have)} of {wanted} nodes, none at {list(key)}",
                "every combination of the levels must be there",
            )


def _wrong_grid(place: str, found: int) -> ProfileError:
    return ProfileError(place, f"{found} values, {BANDS} are wanted", "give 380-730 nm by 10 nm")
