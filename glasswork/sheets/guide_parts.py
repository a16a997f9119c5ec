"""The guide's facts: size, films, parts, glasses, and what asks for a decision."""

from __future__ import annotations

from glasswork.model.film import GlassOnFilm
from glasswork.model.finding import Severity
from glasswork.model.frame import Made
from glasswork.model.sheet import Colour
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.flow import SOFT, Cell, Column, Flow

_WARN = (168, 66, 20)


def opening(flow: Flow, facts: GuideFacts) -> None:
    width, height = facts.window.size_mm
    films = facts.separation.count
    flow.title(
        facts.window.name,
        f"Panel of {width:.1f} × {height:.1f} mm, {facts.plan.fit.thickness_mm:.2f} mm thick: "
        f"{len(facts.window.panes)} panes on {films} {'film' if films == 1 else 'films'}, "
        f"lit by {facts.light.title}.",
    )


def decisions(flow: Flow, facts: GuideFacts) -> None:
    """What the maker has to decide or look at before printing."""
    asked = [f for f in facts.findings if f.severity is Severity.DECISION]
    warned = [f for f in facts.findings if f.severity is Severity.WARNING]
    if not asked and not warned:
        return
    flow.heading("Look at this first")
    for finding in (*asked, *warned)[:12]:
        hint = f" {finding.hint[0].upper()}{finding.hint[1:]}." if finding.hint else ""
        flow.bullet(f"{finding.where}: {finding.what}.{hint}")
    left = len(asked) + len(warned) - 12
    if left > 0:
        flow.paragraph(f"{left} more stand in report.json.", colour=SOFT, indent_mm=4.0)


def films_table(flow: Flow, facts: GuideFacts) -> None:
    if not facts.separation.table:
        return
    flow.heading("How many films")
    flow.table(
        [
            Column(title="films", share=0.2),
            Column(title="mean ΔE00 by glass area", share=0.35, anchor="end"),
            Column(title="glass area within ΔE00 3", share=0.35, anchor="end"),
            Column(title="", share=0.1),
        ],
        [
            [
                Cell(text=str(row.count), bold=row.count == facts.separation.count),
                Cell(text=f"{row.mean_delta_e00:.2f}"),
                Cell(text=f"{100.0 * row.area_within_3:.0f} %"),
                Cell(text="chosen" if row.count == facts.separation.count else ""),
            ]
            for row in facts.separation.table
        ],
    )
    flow.space(1.0)
    flow.paragraph(
        "ΔE00 is the difference that the eye sees between the glass asked for and the lit stack: "
        "1 is just seen side by side, 3 passes for the same glass.",
        colour=SOFT,
        size_pt=7.5,
    )


def parts_list(flow: Flow, facts: GuideFacts) -> None:
    flow.heading("Parts")
    plan = facts.plan
    width, height = facts.window.size_mm
    film = plan.film_trim.box
    rows = [
        [
            Cell(text="film, printed"),
            Cell(text=str(facts.separation.count)),
            Cell(text=facts.printer.title),
            Cell(text=f"{film.width:.1f} × {film.height:.1f} mm with pin ears"),
            Cell(text="films.pdf"),
        ]
    ]
    rows += [
        [
            Cell(text=layer.file.replace("-", " ")),
            Cell(text=str(len(layer.pieces))),
            Cell(text=f"{layer.thickness_mm:g} mm {layer.board}"),
            Cell(text=f"{width:.1f} × {height:.1f} mm, web {layer.min_web_mm:.2f} mm"),
            Cell(text=f"frames/{layer.file}.svg"),
        ]
        for layer in plan.layers
    ]
    flow.table(
        [
            Column(title="part", share=0.17),
            Column(title="pieces", share=0.08, anchor="end"),
            Column(title="material", share=0.27),
            Column(title="size, narrowest board", share=0.27),
            Column(title="file", share=0.21),
        ],
        rows,
    )
    cut = sum(made.made is Made.CUT for made in plan.made)
    flow.space(1.0)
    flow.paragraph(
        f"Leading: {cut} lengths are cut from board, {len(plan.made) - cut} are printed on the "
        f"films as opaque black. The cutter's bed holds everything on {len(plan.sheets)} "
        f"{'sheet' if len(plan.sheets) == 1 else 'sheets'} (frames/sheet-N).",
        size_pt=7.5,
        colour=SOFT,
    )


def glass_legend(flow: Flow, facts: GuideFacts) -> None:
    flow.heading("Glasses")
    counts: dict[str, int] = {}
    for pane in facts.window.panes:
        counts[pane.glass or ""] = counts.get(pane.glass or "", 0) + 1
    titles = {glass.id: glass.title for glass in facts.palette.glasses}
    rows = []
    for glass in facts.separation.glasses:
        if glass.glass not in counts:
            continue
        good = glass.in_reach
        rows.append(
            [
                Cell(text=titles.get(glass.glass, glass.glass), swatch=lit_colour(glass)),
                Cell(text=str(counts[glass.glass])),
                Cell(text=" · ".join("#" + bytes(film).hex() for film in glass.device)),
                Cell(text=f"{glass.delta_e00:.1f}", colour=(34, 38, 44) if good else _WARN),
                Cell(
                    text="in reach" if good else "out of reach",
                    colour=SOFT if good else _WARN,
                ),
            ]
        )
    flow.table(
        [
            Column(title="glass, as it looks lit", share=0.34),
            Column(title="panes", share=0.08, anchor="end"),
            Column(title="printed, film by film", share=0.32),
            Column(title="ΔE00", share=0.1, anchor="end"),
            Column(title="", share=0.16),
        ],
        rows,
    )


def lit_colour(glass: GlassOnFilm) -> Colour:
    """8-bit sRGB of the lit glass, white = the lit clear stack.

    Source: [iec61966-2-1]
    """
    red, green, blue = (
        round(255 * (12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055))
        for v in (min(1.0, max(0.0, float(value))) for value in glass.lit_srgb)
    )
    return (red, green, blue)
