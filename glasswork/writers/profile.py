"""Printer profiles as TOML that `readers/printer.py` reads back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product

import numpy as np

from glasswork.model.film import PrinterProfile


def write_profile(profile: PrinterProfile, *, comments: Sequence[str] = ()) -> bytes:
    """A printer profile as TOML.

    comments : lines for the head of the file: what was read, when, hashes, errors

    Transmittances keep four significant digits: a hundredth of a ΔE00.
    """
    lines = [*(f"# {line}" for text in comments for line in text.splitlines())]
    lines += [
        f"title = {_text(profile.title)}",
        f"source = {_text(profile.source)}",
        f"invented = {'true' if profile.invented else 'false'}",
        f"device = {_text(profile.device)}",
        f"n = {profile.n:.4g}",
        f"index = {profile.index:.5g}",
        f"ink_limit = {profile.ink_limit:.4g}",
        f"print_scale = {_row(profile.print_scale, 6)}",
        f"print_scale_uncertainty = {profile.print_scale_uncertainty:.4g}",
        f"film_thickness_mm = {profile.film_thickness_mm:.4g}",
        f"unprintable_mm = {_row(profile.unprintable_mm, 4)}",
        "settings = [" + ", ".join(_text(line) for line in profile.settings) + "]",
        "curves = [",
        *("  [" + ", ".join(_row(point, 6) for point in curve) + "]," for curve in profile.curves),
        "]",
        f"base = {_row(profile.base, 4)}",
    ]
    key = "transmittance" if profile.bands == "spectral" else "camera"
    rows = profile.nodes.reshape(-1, profile.nodes.shape[-1])
    for device, values in zip(product(*profile.levels), rows, strict=True):
        lines += ["", "[[node]]", f"device = {_row(device, 6)}", f"{key} = {_row(values, 4)}"]
    return ("\n".join(lines) + "\n").encode()


def _row(values: Iterable[float], digits: int) -> str:
    return "[" + ", ".join(f"{float(np.float64(v)):.{digits}g}" for v in values) + "]"


def _text(text: str) -> str:
    """A basic string of TOML 1.0."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    safe = "".join(c if c >= " " and c != "\x7f" else f"\\u{ord(c):04x}" for c in escaped)
    return f'"{safe}"'
