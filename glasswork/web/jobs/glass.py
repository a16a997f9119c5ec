"""Glass: the palette through the films, and how many films a window needs."""

from __future__ import annotations

import pickle
from typing import Any, Final

from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.project import Project
from glasswork.web.jobs.common import Begin, kit_of, window_of
from glasswork.web.sketch import TILE_MM, GlassRow, Look, Shelf, Tally

_SHELVES: Final[dict[bytes, Shelf]] = {}
"""What the last few palettes, printers and lights gave, by their content."""
_MOST_SHELVES: Final = 4


def through_films(project: Project, beside: str, *, begin: Begin) -> Shelf:
    """Every glass of the palette through one, two and three films before the light."""
    kit = kit_of(project, beside)
    begin("the palette through the films")
    content = pickle.dumps((kit.palette, kit.printer, kit.light))
    if content not in _SHELVES:
        while len(_SHELVES) >= _MOST_SHELVES:
            del _SHELVES[next(iter(_SHELVES))]
        _SHELVES[content] = _shelf(kit.palette, kit.printer, kit.light)
    return _SHELVES[content]


def _shelf(palette: Palette, printer: PrinterProfile, light: Light) -> Shelf:
    """Every glass on each number of films, its colours as the page shows them."""
    import numpy as np

    from glasswork.cielab import linear_srgb_of_lab, srgb_of_lab
    from glasswork.colour.black import printed_black
    from glasswork.colour.describe import describe_glass
    from glasswork.colour.light import describe_light
    from glasswork.colour.separate import WITHIN, print_glasses
    from glasswork.colour.targets import display_codes

    looks: dict[int, dict[str, Look]] = {}
    leads: dict[int, tuple[float, float, float]] = {}
    wanted: dict[str, str] = {}
    for films in (1, 2, 3):
        printed = print_glasses(palette.glasses, printer, light, films=films)
        rows = {}
        for i, glass in enumerate(palette.glasses):
            told = describe_glass(printed.model, printed.codes[i] / 255.0)
            raw = np.asarray(display_codes(glass, printed.wanted[i]), dtype=float)
            hand = np.clip(linear_srgb_of_lab(printed.model.lab(raw[None])[0]), 0.0, 1.0)
            rows[glass.id] = Look(
                lit=_triple(told.lit_srgb),
                unlit=_triple(told.unlit_srgb),
                by_hand=_triple(hand),
                delta_e00=float(printed.off[i]),
                in_reach=bool(printed.off[i] <= WITHIN),
                sentence=told.sentence,
            )
            code = np.clip(np.round(255 * srgb_of_lab(printed.wanted[i])), 0, 255).astype(int)
            wanted[glass.id] = "#" + "".join(f"{v:02x}" for v in code)
        looks[films] = rows
        leads[films] = printed_black(printer, light, films=films).lit_srgb
    _, (x, y) = describe_light(light)
    return Shelf(
        glasses=tuple(
            GlassRow(id=g.id, title=g.title, finish=g.finish, wanted=wanted[g.id], note=g.note)
            for g in palette.glasses
        ),
        looks=looks,
        leads=leads,
        tint=_tint(x, y),
        light=light.title,
        printer=printer.title,
        palette=palette.title,
    )


def _triple(values: Any) -> tuple[float, float, float]:
    r, g, b = (float(v) for v in values)
    return (r, g, b)


def _tint(x: float, y: float) -> tuple[float, float, float]:
    """The light's own colour as linear sRGB, its brightest part 1. Source: [iec61966-2-1]"""
    import numpy as np

    from glasswork.cielab import SRGB_OF_XYZ

    rgb = np.clip(SRGB_OF_XYZ @ np.array([x / y, 1.0, (1.0 - x - y) / y]), 0.0, None)
    return _triple(rgb / rgb.max())


def surface_tile(word: str, *, begin: Begin) -> bytes:
    """A surface as a grey PNG, to be laid over any colour in soft light: grey changes nothing.

    Soft light takes an sRGB value c to about c^(1 + k): k 0 at middle grey, 1 at black, -1/2 at
    white, which is what more or less of the glass's own density does. It is for the page alone;
    the pack's pictures are exact.
    """
    import io

    import numpy as np
    from PIL import Image

    from glasswork.colour.finish.fields import FINISH, PX_PER_MM, sheet_of

    begin("growing a surface")
    sheet = sheet_of(word, seed=1, size_px=round(TILE_MM * PX_PER_MM))
    kind = FINISH[word]
    more = (sheet.astype(np.float32) / 127.0 - 1.0) * (kind.contrast + kind.depth)
    grey = 0.5 - 0.5 * np.where(more < 0.0, 2.0 * more, more)
    pixels = np.rint(255.0 * np.clip(grey, 0.0, 1.0)).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(pixels).resize((320, 320), Image.Resampling.BOX).save(out, "PNG")
    return out.getvalue()


def tally(drawing: bytes, project: Project, beside: str, *, begin: Begin) -> Tally:
    """How many films the chosen glasses need."""
    from glasswork.cli import shelf
    from glasswork.cli.cache import FolderCache
    from glasswork.colour.palette_tools import suggest_instead
    from glasswork.colour.separate import separate

    begin("counting films")
    kit = kit_of(project, beside)
    window, _ = window_of(drawing, project, kit, beside)
    made, findings = separate(
        window,
        kit.palette,
        kit.printer,
        kit.light,
        films=project.films,
        films_differ=project.films_differ,
        cache=FolderCache(shelf.cache_folder()),
    )
    used = [glass.glass for glass in made.glasses]
    instead = {}
    for glass in made.glasses:
        if not glass.in_reach:
            other = suggest_instead(
                glass.glass, used, kit.palette, kit.printer, kit.light, films=made.count
            )
            if other is not None:
                instead[glass.glass] = other
    return Tally(
        count=made.count,
        table=tuple((r.count, r.mean_delta_e00, r.area_within_3) for r in made.table),
        findings=findings,
        instead=instead,
    )
