"""Unlike films: where two kinds of print on each other come nearer than the same print twice.

A half tone lets bare film shine through. The same half tone on every film lets it through on
every film; all the ink of one kind on the first film and all of the other on the second does
not, so bright strong colours come out stronger. The price: films can be taken for one another,
and each must lie in its own place.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from glasswork.cielab import delta_e00
from glasswork.colour.predict import make_stack
from glasswork.colour.quantise import quantise
from glasswork.colour.solve import solve

if TYPE_CHECKING:
    from glasswork.colour.separate import Printed
    from glasswork.model.film import PrinterProfile
    from glasswork.model.light import Light

PAYS: Final = 0.5
"""Unlike films are taken for a glass where they lower ΔE00 by at least this much."""

_TRIES: Final = 6


def improve(stack: Printed, profile: PrinterProfile, light: Light) -> Printed:
    """The same glasses with unlike films where they pay; all glasses then have values for each
    film, alike or not.

    stack : glasses on identical films
    """
    films = stack.model.films
    if films == 1:
        return stack
    model = make_stack(profile, light, films, unlike=True)
    same = np.tile(stack.codes, (1, films))
    poor = np.flatnonzero(stack.off >= PAYS)
    if not len(poor):
        return replace(stack, model=model, codes=same)
    wanted = stack.wanted[poor]
    scatter = np.random.default_rng(films).normal(0.0, 0.15, (_TRIES, 1, model.values))
    starts = np.clip(same[poor][None] / 255.0 + scatter, 0.0, 1.0).reshape(-1, model.values)
    found = solve(model, np.tile(wanted, (_TRIES, 1)), starts=starts, again=False)
    miss = found.miss.reshape(_TRIES, -1)
    best = miss.argmin(axis=0), np.arange(len(poor))
    device = found.device.reshape(_TRIES, len(poor), -1)[best]
    codes = quantise(model, device, wanted, miss[best])
    off = delta_e00(model.lab(codes / 255.0), wanted)
    pays = off <= stack.off[poor] - PAYS
    chosen = same.copy()
    chosen[poor[pays]] = codes[pays]
    seen = model.lab(chosen / 255.0)
    return replace(stack, model=model, codes=chosen, seen=seen, off=delta_e00(seen, stack.wanted))
