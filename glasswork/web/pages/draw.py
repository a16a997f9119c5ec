"""A window drawn from measures: a form, and its picture drawn again with every change."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Any, Final

from nicegui import ui

from glasswork.drawing.drawn import KINDS
from glasswork.drawing.drawn.measures import Setting
from glasswork.errors import GlassworkError
from glasswork.model.project import Project
from glasswork.web.parts import choice, fault, picture, say, tag
from glasswork.web.picture import drawn_svg
from glasswork.web.sessions import Sessions
from glasswork.web.sketch import DrawnSketch

FIRST: Final = "lancet"
LIMIT_S: Final = 6.0
"""Seconds a window may take to be drawn."""
GROUPS: Final[tuple[tuple[str, tuple[str, ...]], ...]] = (
    ("Size", ("width_mm", "height_mm", "diameter_mm", "scale")),
    ("Shape", ("rise", "lights", "light_head", "tracery", "transoms", "bars",
               "petals", "rings", "eye", "rounds")),
    ("Glass", ("pattern", "quarry_width_mm", "quarry_height_mm", "glass_border_mm", "roundel",
               "colours", "seed")),
    ("Leading", ("border_mm", "mullion_mm", "bar_mm", "lead_mm")),
)  # fmt: skip
OTHERS: Final = "Further measures"

SUBMIT: Final = """(event) => {
  event.preventDefault();
  const fields = event.target.querySelectorAll("[data-measure]");
  emit(Object.fromEntries([...fields].map((field) => [field.dataset.measure, field.value])));
}"""


class DrawForm:
    """One tab's form: what is entered, what was drawn last, what is wrong."""

    def __init__(self, sessions: Sessions) -> None:
        self.sessions = sessions
        self.kind = FIRST
        self.given: dict[str, str] = {}
        self.drawn: DrawnSketch | None = None
        self._asked = 0
        self._done = 0
        self._turn = asyncio.Lock()
        self._fields: dict[str, tuple[Any, Any]] = {}
        self._parts: dict[str, Any] = {}

    def show(self) -> None:
        """The picture beside the form."""
        with tag("div", cls="two draw"):
            with tag("section", cls="side steady", aria_label="The window as drawn"):
                self._parts["stage"] = tag("div", cls="stage drawn")
                self._parts["notes"] = tag("div", cls="side", role="status")
            with tag("form", cls="side", aria_label="Measures of the window", novalidate=True) as f:
                f.on("submit", lambda event: self.use(event.args), js_handler=SUBMIT)
                choice(
                    "Kind of window",
                    {name: name.capitalize() for name in KINDS},
                    self.kind,
                    self._take_kind,
                    id="draw-kind",
                )
                self._parts["kind"] = tag("p", KINDS[self.kind].title, cls="soft")
                self._parts["form"] = tag("div", cls="side")
                self._parts["faults"] = tag("div")
                with tag("div", cls="row"):
                    tag("button", "Use this window", type="submit", cls="btn main", id="draw-use")
        self._fill()
        ui.timer(0.01, self.draw, once=True)

    async def _take_kind(self, kind: str) -> None:
        if kind in KINDS:
            self.kind = kind
            self._parts["kind"].text = KINDS[kind].title
            known = {setting.name for setting in KINDS[kind].settings}
            self.given = {name: text for name, text in self.given.items() if name in known}
            self._fill()
            await self.draw()

    def _fill(self) -> None:
        """A field for every measure of the kind, in groups."""
        form = self._parts["form"]
        form.clear()
        self._fields.clear()
        settings = {setting.name: setting for setting in KINDS[self.kind].settings}
        grouped = {name for _, names in GROUPS for name in names}
        rest = (OTHERS, tuple(name for name in settings if name not in grouped))
        with form:
            for title, names in (*GROUPS, rest):
                here = [settings[name] for name in names if name in settings]
                if here:
                    with tag("fieldset"):
                        tag("legend", title)
                        for setting in here:
                            self._field(setting)

    def _field(self, setting: Setting) -> None:
        name, now = setting.name, self.given.get(setting.name, "")
        unit = f", {setting.unit}" if setting.unit else ""
        about = {"id": f"draw-{name}", "data_measure": name, "aria_describedby": f"why-{name}"}
        with tag("label", cls="field"):
            tag("span", name.removesuffix("_mm").replace("_", " ").capitalize() + unit)
            if setting.choices:
                field = tag("select", **about)
                with field:
                    for word in setting.choices:
                        chosen = word == (now or setting.default)
                        tag("option", word, value=word, selected=chosen)
            else:
                usual = f"{setting.default:g}" if setting.default is not None else "usual"
                mode = "numeric" if setting.kind is int else "decimal"
                field = tag(
                    "input",
                    defaultValue=now,
                    placeholder=usual,
                    inputmode=mode,
                    autocomplete="off",
                    **about,
                )
            why = tag("small", setting.help, id=f"why-{name}")
        field.on(
            "input",
            lambda event, n=name: self._entered(n, str(event.args)),
            js_handler="(e) => emit(e.target.value)",
            throttle=0.1,
        )
        self._fields[name] = (field, why)

    async def _entered(self, name: str, text: str) -> None:
        self.given[name] = text
        await self.draw()

    # --------------------------------------------------------------------------- the picture

    async def draw(self) -> None:
        """Draw what is entered; of the entries made meanwhile the last alone is drawn."""
        self._asked += 1
        async with self._turn:
            if self._done != self._asked:
                self._done = self._asked
                await self._draw_once()

    async def _draw_once(self) -> None:
        given = {name: text[:40] for name, text in self.given.items()}
        try:
            work = self.sessions.crew.run("draw_window", self.kind, given, limit_s=LIMIT_S)
            self.drawn = await work
        except GlassworkError as found:
            self.drawn = None
            self._wrong(found)
            return
        self._wrong(None)
        self._parts["stage"].clear()
        self._parts["notes"].clear()
        with self._parts["stage"]:
            picture(drawn_svg(self.drawn))
        with self._parts["notes"]:
            width, height = self.drawn.size_mm
            tag("p", f"{width:.1f} × {height:.1f} mm", cls="soft", id="draw-size")
            for note in self.drawn.notes:
                tag("p", note, cls="soft")

    def _wrong(self, found: GlassworkError | None) -> None:
        """Say each fault at its field, and those of no single field below the form."""
        faults = found.each() if found is not None else ()
        by_field = {one.where.rpartition(", ")[2]: one for one in faults}
        settings = {setting.name: setting for setting in KINDS[self.kind].settings}
        for name, (field, why) in self._fields.items():
            one = by_field.get(name)
            told = settings[name].help
            if one is not None:
                told = f"{one.what}; {one.hint}" if one.hint else one.what
            if why.text != told:
                why.text = told
                why.classes(replace="off" if one is not None else "")
                field.props["aria-invalid"] = str(one is not None).lower()
                field.update()
        self._parts["stage"].classes(replace="stage drawn" + (" stale" if faults else ""))
        rest = [one for one in faults if one.where.rpartition(", ")[2] not in self._fields]
        self._parts["faults"].clear()
        if rest:
            with self._parts["faults"]:
                fault("\n".join(f"{one.what}; {one.hint}".rstrip("; ") for one in rest))

    # --------------------------------------------------------------------------- the project

    async def use(self, entered: Mapping[str, str]) -> None:
        """Make a project of the window. entered : every field as it stands"""
        for setting in KINDS[self.kind].settings:
            text = str(entered.get(setting.name, ""))
            if setting.name in self.given or text != (setting.default if setting.choices else ""):
                self.given[setting.name] = text
        await self.draw()
        drawn = self.drawn
        if drawn is None:
            say("there is no window yet: mend what is marked first")
            return
        name = f"{self.kind}.svg"
        try:
            record = await asyncio.to_thread(
                self.sessions.store.create,
                drawn.title,
                name,
                drawn.svg,
                project=Project(design=name, note=f"drawn as {drawn.said}"),
            )
        except GlassworkError as found:
            say(str(found))
            return
        ui.navigate.to(f"/bench/{record.id}/drawing")
