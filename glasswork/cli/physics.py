"""The colour engine as calibration is handed it: stages do not import each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from glasswork.model.light import Light

if TYPE_CHECKING:
    from glasswork.calibrate.physics import Physics

READ_UNDER = "d50"
"""Instruments' XYZ and CIELAB are told for this light."""


def physics_for(light: Light) -> Physics:
    """Film model, stack, colour difference and densities, for fitting before this light."""
    import numpy as np

    from glasswork.calibrate.physics import Physics
    from glasswork.cli.kit import load_light
    from glasswork.colour.density import broadband_density
    from glasswork.colour.film import make_film
    from glasswork.colour.light import tristimulus_weights
    from glasswork.colour.stack import stack_transmittance

    tiny = 1e-9
    one_band_each = np.eye(len(light.spectrum)) + tiny
    return Physics(
        make_film=make_film,
        stack=stack_transmittance,
        weights=np.asarray(tristimulus_weights(light), dtype=float),
        power=np.asarray(light.spectrum, dtype=float),
        instrument=np.asarray(tristimulus_weights(load_light(READ_UNDER)), dtype=float),
        status_a=np.asarray(
            10.0 ** -broadband_density(one_band_each)[:, :3] - tiny, dtype=np.float64
        ),
        light=light.name,
    )
