"""What colour a glass asks for, relative to the lit clear stack."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from glasswork.cielab import lab_of_ratios, lab_of_srgb, parse_hex, srgb_of_lab
from glasswork.colour.predict import StackModel
from glasswork.colour.spectra import Floats, check_spectrum
from glasswork.errors import ColourError
from glasswork.model.palette import Glass


def target_lab(glass: Glass, model: StackModel) -> Floats:
    """CIELAB of a glass, (3,). A spectral glass is seen before the model's light; the others say
    how they look, whatever the light.

    Raises: ColourError, if the glass says no colour, or its spectrum is wrong
    """
    if glass.transmittance is not None:
        spectrum = check_spectrum(np.asarray(glass.transmittance), where=f"glass {glass.id}")
        return lab_of_ratios((spectrum * model.clear) @ model.weights)
    if glass.lab is not None:
        return np.asarray(glass.lab, dtype=float)
    if glass.srgb is not None:
        return lab_of_srgb(parse_hex(glass.srgb))
    raise ColourError(f"glass {glass.id}", "says no colour", "srgb, lab or transmittance")


def target_labs(glasses: Iterable[Glass], model: StackModel) -> Floats:
    """`target_lab` of several glasses, (glasses, 3)."""
    return np.array([target_lab(glass, model) for glass in glasses]).reshape(-1, 3)


def display_codes(glass: Glass, lab: Floats) -> Floats:
    """sRGB code values 0-1 that a picture editor would print for this glass, (3,)."""
    return parse_hex(glass.srgb) if glass.srgb is not None else srgb_of_lab(lab)
