"""The part of the Printer step for later: does the profile in use still hold?"""

from __future__ import annotations

from functools import partial

from glasswork.calibrate.drift import HOLDS_MEAN, HOLDS_P95
from glasswork.web.pages.shell import Bench, save
from glasswork.web.parts import button, tag, upload
from glasswork.web.sketch import StripCheck

READINGS = "image/jpeg,image/png,image/tiff,.csv,.txt,.ti3,.cgats,.it8"
"""What a reading of a strip may be."""


def show(bench: Bench) -> None:
    """A quick strip against the profile in use."""
    session = bench.session
    with tag("section", cls="card", aria_labelledby="drift"):
        tag("h2", "Does it still hold?", id="drift")
        tag(
            "p",
            "After new ink, another film or some months: print the quick strip on an offcut, "
            "photograph one film of it as before, and it is compared with the profile in use.",
            cls="soft",
        )
        button("Save the quick strip", partial(_save_strip, bench))
        with tag("div", cls="drop"):
            upload(
                "Photo or readings of it, up to 48 MiB",
                "check",
                f"/up/{session.record.id}/check",
                accept=READINGS,
            )
        said = session.calibration.check_of(session.project)
        if said is not None:
            _said(bench, said)


async def _save_strip(bench: Bench) -> None:
    session = bench.session
    await save(
        session.calibration.sheet("quick", session.project.page, session.record.title),
        "quick-strip.pdf",
        "application/pdf",
        said="the quick strip was saved by your browser",
    )


def _said(bench: Bench, said: StripCheck) -> None:
    with tag("div", cls="side", id="drift-said", role="status"):
        tag(
            "p",
            "The profile holds." if said.holds else "The profile no longer holds: calibrate anew.",
            cls="calm" if said.holds else "off",
        )
        tag(
            "p",
            f"Read against foretold: mean ΔE00 {said.mean:.2f}, 95 % of "
            f"{said.read.patches} patches under {said.p95:.2f}. "
            f"It holds up to {HOLDS_MEAN:g} and {HOLDS_P95:g}.",
            cls="soft",
        )
        with tag("ul"):
            for sentence in said.changed:
                tag("li", sentence)
        for note in said.read.notes:
            tag("p", note, cls="soft")
        if said.read.marked:
            tag(
                "img",
                cls="plot",
                src=f"/file/{bench.session.record.id}/check.png?{id(said)}",
                alt="The photo of the quick strip with the patches that were read marked",
            )
