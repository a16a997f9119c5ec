"""What printing the palette by hand would give: its sRGB values sent to the printer as they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from glasswork.cielab import delta_e00
from glasswork.colour.predict import make_stack
from glasswork.colour.separate import Printed
from glasswork.colour.targets import display_codes, target_labs
from glasswork.errors import ColourError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.palette import Glass, Palette
from glasswork.model.window import Window


def print_by_hand(
    glasses: Sequence[Glass], profile: PrinterProfile, light: Light, *, films: int
) -> Printed:
    """The glasses' sRGB values printed as they are on every film, in 8 bits.

    Raises: ColourError, if the printer does not take RGB
    """
    if profile.device != "rgb":
        raise ColourError(
            profile.name, "takes CMYK: sRGB cannot be sent to it as it is", "choose an RGB printer"
        )
    model = make_stack(profile, light, films)
    wanted = target_labs(glasses, model)
    shown = [display_codes(glass, lab) for glass, lab in zip(glasses, wanted, strict=True)]
    codes = np.rint(np.array(shown) * 255.0).astype(np.int64)
    seen = model.lab(codes / 255.0)
    return Printed(model, wanted, codes, seen, delta_e00(seen, wanted))


def by_hand_delta_e00(
    window: Window, palette: Palette, profile: PrinterProfile, light: Light
) -> Mapping[int, float]:
    """Mean ΔE00 over the window's glasses if printed by hand, for 1, 2 and 3 films."""
    used = dict.fromkeys(pane.glass for pane in window.panes if pane.glass is not None)
    glasses = [palette.glass(glass_id) for glass_id in used]
    if not glasses or profile.device != "rgb":
        return {}
    return {
        films: float(np.mean(print_by_hand(glasses, profile, light, films=films).off))
        for films in (1, 2, 3)
    }
