"""The guide's steps in working order, the tolerance summary, and the cautions."""

from __future__ import annotations

from typing import Final

from glasswork.model.words import counted
from glasswork.sheets.drawings import exploded
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.flow import SMALL_PT, SOFT, Cell, Column, Flow
from glasswork.sheets.section import cut_at, section, section_height_mm
from glasswork.sheets.step_pictures import STEP_MM, step_picture

_FACES: Final = {
    "front": "Every film lies with its ink towards the viewer, as its page says.",
    "back": "The films are printed mirrored and lie with their ink away from the viewer.",
    "together": "The front film is printed mirrored: it lies ink to ink with the next one.",
}


def stack(flow: Flow, facts: GuideFacts) -> None:
    """The exploded picture and the section."""
    flow.heading("How it goes together", keep_mm=93.0)
    flow.picture(92.0, lambda box: exploded(facts, box))
    at = cut_at(facts)
    flow.together(lambda part: _section(part, facts, at))


def _section(flow: Flow, facts: GuideFacts, at: float) -> None:
    flow.space(2.0)
    flow.picture(section_height_mm(facts, at, flow.width), lambda box: section(facts, at, box))
    flow.space(1.0)
    flow.caption(
        "Level section through the left side, to scale: the opening's wall, the panel with its "
        "clearance, and the first lead. The retaining ring lies behind it, not drawn."
    )


def steps(flow: Flow, facts: GuideFacts) -> None:
    flow.heading("Steps", keep_mm=30.0)
    for number, (title, text) in enumerate(_steps(facts), start=1):
        flow.numbered(number, title, text, picture=step_picture(title, facts), picture_mm=STEP_MM)


def _tray(facts: GuideFacts) -> str:
    if not facts.plan.jig:
        return ""
    return (
        "The tray helps: glue jig-wall on jig-floor, set the pins in its holes, and lay the layers "
        "in from front to back, face down. "
    )


def _steps(facts: GuideFacts) -> list[tuple[str, str]]:
    plan, films = facts.plan, facts.separation.count
    fit = plan.fit
    settings = "; ".join(facts.printer.settings)
    film = ("the film", "both films")[films - 1] if films < 3 else f"all {films} films"
    opening = (
        f"the opening of {fit.opening_mm[0]:g} × {fit.opening_mm[1]:g} mm"
        if fit.opening_mm
        else "its opening"
    )
    return [
        (
            "Print the films",
            f"Print films.pdf at 100 %, not fitted to the page, on the coated side, with colour "
            f"management off. {settings[:1].upper()}{settings[1:]}{'.' if settings else ''} "
            f"{_FACES[facts.ink_faces]} Measure both rules: they must be 100 mm. Let {film} dry "
            "lying flat for at least 30 minutes, better overnight; nothing may touch the ink.",
        ),
        (
            "Cut the boards",
            f"Cut the layers in frames/ ({facts.cutter.title}); the kerf is already in the paths, "
            "so do not offset them again. To cut by hand, stick template.pdf on the board. The "
            "ears stay on: the letters on them say F for front or B for back, I for inner or O for "
            "outer, and read upright on the side that shows.",
        ),
        (
            "Colour the frame",
            "Paint or gild the front layers now, edges included: once the film is glued in, paint "
            "would creep under it. Let it dry.",
        ),
        (
            "Try it dry",
            f"Stack everything on pins through the three ears, without glue, and try the panel in "
            f"{opening}. {_tray(facts)}It is {fit.thickness_mm:.2f} mm thick"
            + (
                f", the recess {fit.recess_mm:g} mm: {fit.spare_mm:.2f} mm to spare."
                if fit.recess_mm is not None and fit.spare_mm is not None
                else "."
            ),
        ),
        (
            "Trim the films",
            "Cut each film along its thin grey line, ears included, and punch the three pin holes "
            "at their crosses."
            + (
                ""
                if facts.division is None
                else " Each film comes in parts: see Films in parts for how they join."
            ),
        ),
        (
            "Pin and glue",
            "Pin through the ears in this order: front outer, front inner, "
            + ("the film" if films == 1 else f"film 1 to film {films}")
            + ", back inner, back outer. Check that no white shows beside a lead. Glue sparingly "
            "along the border and the cut leads only; weigh it down flat until it is dry.",
        ),
        (
            "Break off the ears",
            "Score each ear along its neck on both faces, break it off and sand the edge.",
        ),
        (
            "Light it",
            f"Set the panel before a diffuser lit by {facts.light.title}. The clear stack lets "
            f"{100.0 * facts.separation.throughput:.0f} % of the light through. Lying in front "
            "light alone the film looks dark and dull: that is right, it is made to be lit from "
            "behind. The retaining ring holds the panel from the back.",
        ),
    ]


def tolerances(flow: Flow, facts: GuideFacts) -> None:
    budget = facts.plan.registration
    flow.heading("How exact it must be", keep_mm=20.0 + 5.3 * len(budget.contributions))
    flow.table(
        [
            Column(title="what may shift", share=0.7),
            Column(title="± mm", share=0.3, anchor="end"),
        ],
        [
            *([Cell(text=name), Cell(text=f"{value:.3f}")] for name, value in budget.contributions),
            [Cell(text="all at their worst", bold=True), Cell(text=f"{budget.worst_case_mm:.2f}")],
            [Cell(text="usually (root of squares)", bold=True), Cell(text=f"{budget.rss_mm:.2f}")],
        ],
    )
    bare = len(budget.exposed)
    flow.space(1.0)
    flow.paragraph(
        f"The glass runs on for {budget.bleed_mm:.2f} mm under the leads; the least cover is "
        f"{budget.min_cover_mm:.2f} mm."
        + (
            f" {counted(bare, 'edge')} covered by less than the worst case asks for."
            if bare
            else ""
        )
        + _by_lot(facts),
        size_pt=SMALL_PT,
        colour=SOFT,
    )


def _by_lot(facts: GuideFacts) -> str:
    """What came of panels assembled by lot."""
    lot = facts.plan.assembled
    if lot is None:
        return ""
    told = [
        f"{100.0 * share:.1f} % show {what}, {mean:.2f} mm wide on average"
        for share, mean, what in (
            (lot.white_share, lot.white_mean_mm, "bare light beside the border"),
            (lot.colour_share, lot.colour_mean_mm, "a neighbour's colour beside a lead"),
        )
        if share > 0.0
    ]
    seen = " and ".join(told) if told else "none shows light or a wrong colour beside a lead"
    return f" Of {lot.runs} panels assembled by lot within these tolerances {seen}."


def cautions(flow: Flow, facts: GuideFacts) -> None:
    flow.heading("Before you start: cautions", keep_mm=40.0)
    for text in facts.cautions:
        flow.bullet(text)
