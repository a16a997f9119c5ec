"""The part of the Printer step that needs no camera: a sheet, and nine numbers."""

from __future__ import annotations

from functools import partial

from glasswork.calibrate.byeye import COVERS, INKS, STEPS
from glasswork.calibrate.strip_page import INK_TOTALS
from glasswork.model.words import counted
from glasswork.web.eye import limited, matched, missing
from glasswork.web.pages.shell import Bench, profile_made, save
from glasswork.web.parts import button, choice, entry, findings_list, say, tag


def show(bench: Bench) -> None:
    """The sheet, what the eye found on it, and the profile made of that."""
    place = bench.state["by-eye"]
    place.clear()
    with place, tag("section", cls="card", aria_labelledby="eye"):
        tag("h2", "Without a camera: by eye", id="eye")
        tag(
            "p",
            "On the sheet, rows of tints lie over fine lines. Say in each row which step looks as "
            "light as the lines. It mends the tones of the profile in use, not the colours of its "
            "inks: coarse, but better than none of your own.",
            cls="soft",
        )
        button("Save the sheet", partial(_save_sheet, bench))
        _answers(bench)
        _judged(bench)


async def _save_sheet(bench: Bench) -> None:
    session = bench.session
    work = session.calibration.sheet("eye", session.project.page, "")
    await save(
        work, "tones-by-eye.pdf", "application/pdf", said="the sheet was saved by your browser"
    )


def _answers(bench: Bench) -> None:
    measured = bench.session.calibration
    with tag("div", cls="eye"):
        tag("span", "lines over")
        for cover in COVERS:
            tag("span", f"{cover} %")
        for ink in INKS:
            tag("span", ink)
            for cover in COVERS:
                row = f"{ink}-{cover}"
                step = measured.answers.matches.get(row)
                _field(bench, row, "" if step is None else f"{step:g}")
    tag("small", f"Steps 1 to {STEPS}; between two steps, a half: 7.5")
    limits = {f"{total:g}": f"{100 * total:.0f} %" for total in INK_TOTALS}
    now = measured.answers.ink_limit
    choice(
        "Last good square of ink",
        {"": "as in the profile in use", **limits},
        "" if now is None else f"{now:g}",
        lambda text: measured.answer(limited(measured.answers, float(text) if text else None)),
        id="eye-limit",
    )


def _field(bench: Bench, row: str, value: str) -> None:
    """A small field for a row's step; what is no step is said and left out."""
    measured = bench.session.calibration

    def put(text: str) -> None:
        taken = bench.tell(lambda: measured.answer(matched(measured.answers, row, text)))
        field.props["aria-invalid"] = "false" if taken else "true"
        field.update()
        if taken:
            left = missing(measured.answers)
            say(f"{counted(left, 'row')} to go" if left else "all nine rows are answered")

    field = tag(
        "input",
        defaultValue=value,
        autocomplete="off",
        inputmode="decimal",
        id=f"eye-{row}",
        aria_label=f"Step of row {row}",
    )
    field.on("change", lambda event: put(str(event.args)), js_handler="(e) => emit(e.target.value)")


def _judged(bench: Bench) -> None:
    measured, state = bench.session.calibration, bench.state
    state.setdefault("eye-profile", "My printer by eye")
    entry(
        "What you call the profile",
        state["eye-profile"],
        lambda text: state.update({"eye-profile": text}),
        id="eye-name",
    )

    async def make() -> None:
        work = measured.judge(state["eye-profile"], bench.session.project)
        await profile_made(bench, work, show, place="by-eye")

    button("Make a profile of what the eye found", make, cls="main")
    made = measured.judged
    if made is not None:
        findings_list(made.findings, empty="Nothing doubtful was found.")
        button("Use this profile by eye", partial(bench.take_profile, made), cls="main")
