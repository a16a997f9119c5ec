"""What the frame is asked to be: its opening, its boards and layers, and each role's making."""

from __future__ import annotations

from functools import partial
from typing import Any, Final

from glasswork.units import parse_length_mm
from glasswork.web.pages.shell import Bench
from glasswork.web.pages.shelves import titled
from glasswork.web.parts import button, choice, entry, tag, upload
from glasswork.web.state import Patch

SAME: Final = {"": "the same board"}
USES: Final = {
    "": "by width and role",
    "printed": "printed on the film",
    "inner": "cut, inner layers alone",
    "raised": "cut, raised on both faces",
    "raised-front": "cut, raised on the front",
    "raised-back": "cut, raised on the back",
}
BORDER_USES: Final = {"": "cut, raised on both faces"}
"""The border carries both outer layers."""
ROLES: Final = {"border": "Border", "mullion": "Mullions", "bar": "Bars", "lead": "Leads"}


class FrameSettings:
    """The settings of one tab's Frame step."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.project = bench.session.project

    def show(self) -> None:
        """Three cards of fields."""
        with tag("section", cls="card", aria_labelledby="place"):
            tag("h2", "Opening", id="place")
            self._opening()
        with tag("section", cls="card", aria_labelledby="boards"):
            tag("h2", "Boards and layers", id="boards")
            self._boards()
        with tag("section", cls="card", aria_labelledby="roles"):
            tag("h2", "Leading by role", id="roles")
            self._roles()

    def _put(self, label: str, patch: Patch) -> None:
        self.bench.tell(lambda: self.bench.session.change(patch, label=label))

    def _length(self, key: str, otherwise: float | None) -> Any:
        """A length entered; nothing entered is what stands for it."""

        def change(text: str) -> None:
            def do() -> None:
                value = parse_length_mm(text, where=key) if text.strip() else otherwise
                self.bench.session.change(Patch(values={key: value}), label=f"{key} {text}")

            self.bench.tell(do)

        return change

    # --------------------------------------------------------------------------- the opening

    def _opening(self) -> None:
        project = self.project
        wide, high = project.opening or (None, None)
        drawn = project.opening_drawing
        fields: list[tuple[str, float | None, Any, str]] = []
        if not drawn:
            fields += [
                ("Opening, width mm", wide, self._side(0), "set-opening-w"),
                ("Opening, height mm", high, self._side(1), "set-opening-h"),
            ]
        fields += [
            ("Clearance, mm", project.clearance, self._length("clearance", 0.5), "set-clearance"),
            ("Recess, mm deep", project.recess, self._length("recess", None), "set-recess"),
            ("Hidden by its lip, mm", project.rebate, self._length("rebate", 0.0), "set-rebate"),
        ]
        with tag("div", cls="fields"):
            for name, value, action, key in fields:
                entry(name, "" if value is None else f"{value:g}", action, id=key)
        if drawn:
            tag("p", f"Its outline is that of {drawn.rsplit('/', 1)[-1]}.", id="drawn-opening")
            button(
                "Give width and height instead",
                lambda: self._put("no drawn opening", Patch(values={"opening_drawing": ""})),
                cls="quiet",
            )
        with tag("details"):
            tag("summary", "It is no rectangle" if not drawn else "Another outline")
            with tag("div", cls="drop"):
                upload(
                    "SVG with the opening’s edge as one closed path",
                    "opening",
                    f"/up/{self.bench.session.record.id}/opening",
                    accept=".svg,.svgz",
                )

    def _side(self, which: int) -> Any:
        """One side of the opening; it counts once both are there."""

        def change(text: str) -> None:
            def do() -> None:
                state = self.bench.state
                sides = list(state.get("opening") or self.project.opening or (None, None))
                sides[which] = parse_length_mm(text, where="opening") if text.strip() else None
                state["opening"] = sides
                if all(sides) or not any(sides):
                    values: dict[str, Any] = {"width": None, "height": None}
                    values["opening"] = sides if all(sides) else None
                    self.bench.session.change(Patch(values=values), label="opening")

            self.bench.tell(do)

        return change

    # ---------------------------------------------------------------------------- the boards

    def _boards(self) -> None:
        project = self.project
        for key, name, same in (
            ("board", "Board", {}),
            ("outer_board", "Board of the outer layers", SAME),
            ("retainer_board", "Board of the retaining ring", SAME),
        ):
            now = str(getattr(project, key))
            shelf = titled("boards", now or project.board)
            choice(
                name,
                {**same, **shelf},
                now,
                self.bench.setting(key),
                id=f"set-{key.replace('_', '-')}",
            )
        cutters = titled("cutters", project.cutter)
        choice("Cutter", cutters, project.cutter, self.bench.setting("cutter"), id="set-cutter")
        step = "" if project.step is None else f"{project.step:g}"
        entry(
            "Outer layer stands back, mm",
            step,
            self._length("step", None),
            placeholder="as the border allows",
            id="set-step",
        )
        with tag("label", cls="check"):
            box = tag("input", type="checkbox", id="set-jig", checked=project.jig)
            tag("span", "Cut a tray to assemble the panel in")
        box.on(
            "change",
            lambda event: self.bench.setting("jig")(str(event.args).lower() == "true"),
            js_handler="(e) => emit(e.target.checked)",
        )

    # ----------------------------------------------------------------------------- the roles

    def _roles(self) -> None:
        project = self.project
        widths: dict[str, float] = dict(project.widths)  # type: ignore[arg-type]
        layers: dict[str, str] = dict(project.layers)  # type: ignore[arg-type]
        for role, title in ROLES.items():
            width = f"{widths[role]:g}" if role in widths else ""
            with tag("div", cls="fields role"):
                choice(
                    title,
                    BORDER_USES if role == "border" else USES,
                    layers.get(role, ""),
                    partial(self._layer, role),
                    id=f"set-layer-{role}",
                )
                entry(
                    "Width, mm",
                    width,
                    partial(self._width, role),
                    placeholder="as drawn",
                    aria_label=f"Width of {title.lower()}, mm",
                    id=f"set-width-{role}",
                )

    def _layer(self, role: Any, value: Any) -> None:
        self._put(f"{role} {value or 'as usual'}", Patch(layers={role: value or None}))

    def _width(self, role: Any, text: str) -> None:
        def do() -> None:
            value = parse_length_mm(text, where=f"width of {role}") if text.strip() else None
            self.bench.session.change(Patch(widths={role: value}), label=f"width of {role} {text}")

        self.bench.tell(do)
