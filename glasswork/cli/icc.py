"""ICC profiles of a printer's film stacks, for the command line and the bench page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from glasswork.model.words import counted

if TYPE_CHECKING:
    from glasswork.model.film import PrinterProfile
    from glasswork.model.light import Light

COUNTS = (1, 2, 3)


def icc_profiles(profile: PrinterProfile, light: Light, *, created: str) -> dict[str, bytes]:
    """One ICC profile for each count of films, by file name.

    created : ISO 8601 date
    Raises: ColourError, if the printer cannot be modelled before this light
    """
    return {
        f"{profile.name}-{films}.icc": _icc_profile(profile, light, films, created=created)
        for films in COUNTS
    }


def _icc_profile(profile: PrinterProfile, light: Light, films: int, *, created: str) -> bytes:
    import numpy as np

    from glasswork.calibrate.tables import stack_tables
    from glasswork.cielab import delta_e00
    from glasswork.colour.predict import make_stack
    from glasswork.colour.solve import solve
    from glasswork.model.film import Floats
    from glasswork.writers.icc import write_icc

    model = make_stack(profile, light, films)

    def forward(device: Floats) -> Floats:
        return np.asarray(model.lab(device), dtype=np.float64)

    def back(lab: Floats) -> tuple[Floats, Floats]:
        device = np.asarray(
            solve(model, lab, thorough=False, hold_hue=1.0).device, dtype=np.float64
        )
        return device, np.asarray(delta_e00(model.lab(device), lab), dtype=np.float64)

    tables = stack_tables(
        forward,
        back,
        colorant=profile.device,
        films=films,
        title=f"{profile.title}, {counted(films, 'film')}",
    )
    return write_icc(
        tables.forward,
        tables.back,
        tables.off,
        colorant=tables.colorant,
        title=tables.title,
        created=created,
    )
