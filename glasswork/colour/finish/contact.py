"""A contact sheet: one glass in every finish, as it will look lit."""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.colour.finish.cut import cut_pane
from glasswork.colour.finish.glaze import glaze_cuts
from glasswork.colour.finish.pictures import lit_picture
from glasswork.colour.separate import separate
from glasswork.colour.table import Cache
from glasswork.model.film import PrinterProfile
from glasswork.model.finish import FINISHES, FinishSettings
from glasswork.model.geometry import Region
from glasswork.model.light import Light
from glasswork.model.palette import Glass, Palette
from glasswork.model.window import Pane, Window


def contact_tiles(
    glass: Glass,
    *,
    profile: PrinterProfile,
    light: Light,
    films: int = 2,
    settings: FinishSettings | None = None,
    side_mm: float = 40.0,
    px_per_mm: float = 10.0,
    cache: Cache | None = None,
) -> tuple[tuple[str, NDArray[np.uint8]], ...]:
    """Caption and square picture, sRGB, for each finish in the order of FINISHES.

    Raises: ColourError or ProfileError, as `separate` does
    """
    chosen = settings or FinishSettings()
    side = Region(((0.0, 0.0), (side_mm, 0.0), (side_mm, side_mm), (0.0, side_mm)))
    rack = Palette(name="contact", title="", glasses=(replace(glass, finish="clear"),))
    pane = Pane(id="contact", region=side, seed_point=(side_mm / 2, side_mm / 2), glass=glass.id)
    window = Window(name="contact", outline=side, panes=(pane,), members=())
    separation, _ = separate(window, rack, profile, light, films=films)
    cuts = [
        cut_pane(f"contact-{name}", glass.id, name, area=(side,), glass=side, seed=chosen.seed)
        for name in FINISHES
    ]
    return tuple(
        (
            cut.finish,
            lit_picture(
                glaze_cuts(
                    (cut,), separation, profile=profile, light=light, settings=chosen, cache=cache
                ),
                px_per_mm=px_per_mm,
            ).pixels,
        )
        for cut in cuts
    )
