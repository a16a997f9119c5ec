"""The guide's facts: size, films, parts, glasses, and what asks for a decision."""

from __future__ import annotations

from glasswork.cielab import delta_e00, lab_of_srgb, parse_hex
from glasswork.model.film import FilmBlack, GlassOnFilm
from glasswork.model.finding import Severity
from glasswork.model.frame import FrameLayer, Level, Made
from glasswork.model.geometry import Box
from glasswork.model.words import counted
from glasswork.sheets.drawings import elevation, numbered_glasses
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.flow import INK, SMALL_PT, SOFT, Cell, Column, Flow
from glasswork.sheets.tint import asked_colour, lit_colour

_WARN = (168, 66, 20)


def opening(flow: Flow, facts: GuideFacts) -> None:
    width, height = facts.window.size_mm
    films = facts.separation.count
    flow.title(
        facts.title,
        f"Panel of {width:.1f} × {height:.1f} mm, {facts.plan.fit.thickness_mm:.2f} mm thick: "
        f"{counted(len(facts.window.panes), 'pane')} on {counted(films, 'film')}, "
        f"for {facts.light.title}.",
    )
    flow.picture(98.0, lambda box: elevation(facts, box))
    flow.space(1.5)
    flow.caption("The panel from the front, as it looks lit. Numbers: see the glasses below.")


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
    flow.heading("Parts and cut list")
    plan = facts.plan
    film = plan.film_trim.box
    rows = [
        [
            Cell(text="film, printed"),
            Cell(text=str(facts.separation.count)),
            Cell(text=facts.printer.title),
            Cell(text=f"{film.width:.1f} × {film.height:.1f}"),
            Cell(text=""),
            Cell(text="films.pdf"),
        ]
    ]
    rows += [_board_row(facts, layer) for layer in (*plan.layers, *plan.jig)]
    pin = max((ear.hole_diameter_mm for ear in plan.ears), default=0.0)
    if plan.ears:
        rows.append(
            [
                Cell(text="pins"),
                Cell(text=str(len(plan.ears))),
                Cell(text="straight pin or rod"),
                Cell(text=f"{pin:g} × {plan.fit.thickness_mm + 8.0:.0f} or longer"),
                Cell(text=""),
                Cell(text="align, then pull out"),
            ]
        )
    flow.table(
        [
            Column(title="part", share=0.15),
            Column(title="pieces", share=0.08, anchor="end"),
            Column(title="material", share=0.23),
            Column(title="size with ears, mm", share=0.2),
            Column(title="narrowest", share=0.12, anchor="end"),
            Column(title="file", share=0.22),
        ],
        rows,
    )
    cut = sum(made.made is Made.CUT for made in plan.made)
    bed = plan.sheets[0].bed_mm if plan.sheets else None
    sheets = (
        f" Board to have ready: {counted(len(plan.sheets), 'sheet')} of {bed[0]:g} × {bed[1]:g} mm "
        "(frames/sheet-N), or the same parts one by one."
        if bed
        else ""
    )
    flow.space(1.0)
    flow.paragraph(
        f"Leading: {counted(cut, 'length')} cut from board, {len(plan.made) - cut} printed on the "
        f"films in black.{sheets} Also: a diffuser, a low-voltage LED supply, glue that "
        "dries clear, and paint or gilding for the frame.",
        size_pt=SMALL_PT,
        colour=SOFT,
    )


def _board_row(facts: GuideFacts, layer: FrameLayer) -> list[Cell]:
    box = Box.around(point for piece in layer.pieces for point in piece.outer)
    titles = {board.name: board.title for board in (facts.board, *facts.other_boards)}
    ring = layer.level is Level.RETAINER
    return [
        Cell(text="retaining ring" if ring else layer.file.replace("-", " ")),
        Cell(text=str(len(layer.pieces))),
        Cell(text=titles.get(layer.board, layer.board)),
        Cell(text=f"{box.width:.1f} × {box.height:.1f}"),
        Cell(text=f"{layer.min_web_mm:.1f} mm"),
        Cell(text=f"frames/{layer.file}.svg"),
    ]


def glass_legend(flow: Flow, facts: GuideFacts) -> None:
    flow.heading("Glasses", keep_mm=40.0)
    flow.caption(
        "Density: Status A of the whole stack, above the clear stack. ΔE00: expected difference "
        "between the glass asked for and the lit stack."
    )
    numbers = numbered_glasses(facts)
    panes: dict[str, list[float]] = {}
    for pane in facts.window.panes:
        panes.setdefault(pane.glass or "", []).append(pane.region.area_mm2)
    titles = {glass.id: glass.title for glass in facts.palette.glasses}
    rows = []
    for glass in facts.separation.glasses:
        if glass.glass not in numbers:
            continue
        good = glass.in_reach
        areas = panes[glass.glass]
        rows.append(
            [
                Cell(text=str(numbers[glass.glass])),
                Cell(
                    text=titles.get(glass.glass, glass.glass),
                    swatches=(asked_colour(glass), lit_colour(glass)),
                ),
                Cell(text=f"{len(areas)}"),
                Cell(text=f"{sum(areas) / 100.0:.1f}"),
                Cell(text=_films_text(glass), swatches=glass.device),
                Cell(text=" ".join(f"{value:.2f}" for value in glass.status_a)),
                Cell(text=f"{glass.delta_e00:.1f}", bold=not good, colour=INK if good else _WARN),
            ]
        )
    if facts.plan.printed:
        rows.append(_leads_row(facts))
    flow.table(
        [
            Column(title="no.", share=0.05),
            Column(title="glass: asked for | lit", share=0.31),
            Column(title="panes", share=0.07, anchor="end"),
            Column(title="cm²", share=0.08, anchor="end"),
            Column(title="printed, film by film", share=0.25),
            Column(title="density R G B", share=0.15, anchor="end"),
            Column(title="ΔE00", share=0.09, anchor="end"),
        ],
        rows,
    )


def _leads_row(facts: GuideFacts) -> list[Cell]:
    """How printed leads are inked."""
    black = facts.separation.black
    printed = sum(made.made is Made.PRINTED for made in facts.plan.made)
    return [
        Cell(text=""),
        Cell(text="printed leads", swatches=((0, 0, 0), lit_colour(black))),
        Cell(text=f"{printed}"),
        Cell(text=f"{sum(region.area_mm2 for region in facts.plan.printed) / 100.0:.1f}"),
        Cell(text=_films_text(black), swatches=black.device),
        Cell(text=" ".join(f"{value:.2f}" for value in black.status_a)),
        Cell(text=""),
    ]


def _films_text(glass: GlassOnFilm | FilmBlack) -> str:
    """The device values once where all films are alike, else of each film."""
    return " ".join(f"#{bytes(device).hex()}" for device in dict.fromkeys(glass.device))


def out_of_reach(flow: Flow, facts: GuideFacts) -> None:
    """Glasses that the films cannot show, what they will look like, and the nearest others."""
    numbers = numbered_glasses(facts)
    lost = [g for g in facts.separation.glasses if not g.in_reach and g.glass in numbers]
    if not lost:
        return
    flow.heading("Out of reach")
    titles = {glass.id: glass.title for glass in facts.palette.glasses}
    for glass in lost:
        near = _nearest(facts, glass)
        instead = f" What it will look like is nearest to {near}." if near else ""
        flow.bullet(
            f"{titles.get(glass.glass, glass.glass)} (no. {numbers[glass.glass]}): ΔE00 "
            f"{glass.delta_e00:.1f} with {counted(facts.separation.count, 'film')}; "
            f"3 passes for the same glass.{instead} Take it as it is, choose that glass, or "
            "calibrate the printer."
        )


def _nearest(facts: GuideFacts, glass: GlassOnFilm) -> str:
    """The other palette glass whose colour is nearest to what will be seen."""
    found = []
    for other in facts.palette.glasses:
        lab = lab_of_srgb(parse_hex(other.srgb)) if other.srgb else other.lab
        if lab is not None and other.id != glass.glass:
            found.append((float(delta_e00(lab, glass.predicted_lab)), other.title))
    return min(found)[1] if found else ""
