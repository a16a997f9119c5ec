"""Drawing: looked over, mended, its members told their roles."""

from __future__ import annotations

from typing import Any

from nicegui import ui

from glasswork.model.finding import Severity
from glasswork.web.pages.shell import Bench, head, refused
from glasswork.web.parts import button, choice, entry, findings_list, picture, say, tag
from glasswork.web.picture import drawing_svg
from glasswork.web.session import quietly
from glasswork.web.sketch import MemberSketch, Sketch, grouped
from glasswork.web.state import Patch, cast, made

ROLES = {
    "border": "border",
    "mullion": "mullion",
    "bar": "bar",
    "lead": "lead",
    "paint": "painted line",
}
MAKINGS = {"": "as cutter and board allow", "cut": "cut from board", "printed": "printed on film"}


async def build(bench: Bench) -> None:
    """Fill the step's place."""
    ui.on("member", lambda event: _chosen(bench, str(event.args["id"])))
    watched = {
        "design",
        "roles",
        "members",
        "member_roles",
        "width",
        "height",
        "opening",
        "opening_drawing",
        "widths",
        "scale",
        "clearance",
    }

    def changed(names: frozenset[str]) -> None:
        if names & watched:
            ui.timer(0.01, lambda: refresh(bench), once=True)

    bench.on_change = changed
    await refresh(bench)


async def refresh(bench: Bench) -> None:
    """Look the drawing over and show it."""
    newest = bench.turn()
    sketch, text = await quietly(bench.session.sketch())
    frame = (await quietly(bench.session.frame()))[0] if sketch and sketch.usable else None
    if not newest():
        return
    bench.body.clear()
    with bench.body:
        head(
            "Drawing",
            "What was understood of it, and what stands in the way.",
            bench=bench,
            onward=sketch is not None and sketch.usable,
        )
        if sketch is None:
            refused(text, bench)
            _sizes(bench)
            return
        bench.state |= {"sketch": sketch, "made": frame.made if frame else {}}
        with tag("div", cls="two"):
            with tag("section", aria_label="The drawing", cls="side steady"):
                with tag("div", cls="paper"):
                    picture(
                        drawing_svg(
                            sketch, bench.state["made"], marks=grouped(sketch.findings), live=True
                        ),
                        cls="picture",
                    )
                _legend()
            with tag("div", cls="side"):
                _facts(sketch)
                bench.state["member"] = tag("div", cls="side", role="status")
                _show_member(bench)
                with tag("section", cls="card", aria_labelledby="found"):
                    tag("h2", "What was found", id="found")
                    findings_list(sketch.findings, empty="Nothing stands in the way.")
                    if sketch.vector and any(f.severity != Severity.NOTE for f in sketch.findings):
                        button("Show a repair", lambda: _offer(bench))
                bench.state["repair"] = tag("div")
                _sizes(bench)
    bench.run("bench.refocus")


def _legend() -> None:
    with tag("ul", cls="legend", aria_label="Colours of the picture"):
        for name, colour in (
            ("border", "#6d4b2f"),
            ("mullion or bar", "#8a5a2b"),
            ("lead, cut", "#4a4038"),
            ("printed", "#3f6076"),
        ):
            with tag("li"):
                tag("i", style=f"background:{colour}")
                tag("span", name)


def _facts(sketch: Sketch) -> None:
    with tag("section", cls="card"):
        width, height = sketch.size_mm
        tag("h2", "A window" if sketch.usable else "Not a window yet")
        if sketch.usable:
            tag(
                "p",
                f"{width:.1f} × {height:.1f} mm, {len(sketch.panes)} panes, "
                f"{len(sketch.members)} members.",
            )
        else:
            tag("p", "The findings say what must be mended first.")


async def _offer(bench: Bench) -> None:
    """The drawing before and after repair, side by side."""
    result, text = await quietly(bench.session.mended())
    place = bench.state["repair"]
    place.clear()
    with place, tag("section", cls="card", aria_labelledby="repair"):
        tag("h2", "Repair", id="repair", tabindex="-1")
        if result is None:
            tag("p", text)
            return
        data, changes, after = result
        if not changes:
            tag("p", "There is nothing that can be mended safely: change the drawing itself.")
            return
        with tag("ul"):
            for change in changes[:30]:
                tag("li", change.what)
        before: Sketch = bench.state["sketch"]
        with tag("div", cls="row repair"):
            for name, sketch in (("before", before), ("after", after)):
                with tag("figure", style="flex:1 1 8rem;margin:0"):
                    with tag("div", cls="paper"):
                        picture(drawing_svg(sketch, {}, marks=(), live=False))
                    tag("figcaption", f"{name}: {len(sketch.panes)} panes", cls="soft")
        with tag("div", cls="row"):
            button("Take the repaired drawing", lambda: _take(bench, data), cls="main")
            button("Leave it", place.clear, cls="quiet")
    bench.run("(() => document.getElementById('repair')?.focus())")


def _take(bench: Bench, data: bytes) -> None:
    name = bench.session.project.design.rsplit("/", 1)[-1].rsplit(".", 1)[0] + ".svg"
    if bench.tell(lambda: bench.session.take_drawing(name, data, label="repaired drawing")):
        say("the repaired drawing was taken; undo brings the old one back")


def _chosen(bench: Bench, member_id: str) -> None:
    """A member was clicked."""
    bench.state["chosen"] = member_id
    if "sketch" in bench.state:
        _show_member(bench)


def _show_member(bench: Bench) -> None:
    """The chosen member with its role and how it is made; how to choose one if none is."""
    sketch: Sketch = bench.state["sketch"]
    member_id = bench.state.get("chosen", "")
    found = next((m for m in sketch.members if m.id == member_id), None)
    place = bench.state["member"]
    place.clear()
    with place, tag("section", cls="card"):
        if found is None:
            tag("h2", "Members")
            tag(
                "p",
                "Choose a length of the leading in the picture to change its role, or to have it "
                "cut or printed.",
                cls="soft",
            )
            return
        _member(bench, found)
    bench.run("bench.select", "m", [member_id])


def _member(bench: Bench, found: MemberSketch) -> None:
    project, member_id = bench.session.project, found.id
    how, why = bench.state["made"].get(member_id, ("", ""))
    tag("h2", f"{ROLES[found.role].capitalize()} {found.id}")
    tag("p", f"{found.width_mm:.2f} mm wide" + (f"; {how}: {why}" if how else "") + ".")

    def put(patch: Patch, label: str) -> None:
        bench.tell(lambda: bench.session.change(patch, label=label))

    choice(
        "How it is made",
        MAKINGS,
        project.members.get(member_id, ""),
        lambda value: put(made(member_id, _how(value)), f"member {member_id}"),
        id="member-made",
    )
    choice(
        "Role of this length alone",
        {"": f"as the drawing has it: {ROLES[found.told]}", **ROLES},
        project.member_roles.get(member_id, ""),
        lambda value: put(cast([member_id], _role(value)), f"role of {member_id}"),
        id="member-own-role",
    )
    choice(
        f"Role of everything drawn like it ({found.key})",
        {"": "as read from the drawing", **ROLES},
        project.roles.get(found.key, ""),
        lambda value: put(Patch(roles={found.key: value or None}), f"role of {found.key}"),
        id="member-role",
    )


def _how(value: str) -> Any:
    return value if value in ("cut", "printed") else None


def _role(value: str) -> Any:
    return value if value in ROLES else None


def _sizes(bench: Bench) -> None:
    """How large the panel is to be."""
    project = bench.session.project

    def put(key: str, text: str) -> None:
        from glasswork.units import parse_length_mm

        def change() -> None:
            value = parse_length_mm(text, where=key) if text.strip() else None
            values: dict[str, Any] = {"width": None, "height": None, "opening": None, key: value}
            bench.session.change(Patch(values=values), label=f"{key} {text}")

        bench.tell(change)

    def scale(text: str) -> None:
        bench.tell(
            lambda: bench.session.change(Patch(values={"scale": text or "1"}), label="scale")
        )

    with tag("section", cls="card"):
        tag("h2", "Size")
        with tag("div", cls="row"):
            width = f"{project.width:g}" if project.width else ""
            height = f"{project.height:g}" if project.height else ""
            with tag("div", cls="field small"):
                entry("Width, mm", width, lambda t: put("width", t), id="set-width")
            with tag("div", cls="field small"):
                entry("Height, mm", height, lambda t: put("height", t), id="set-height")
            with tag("div", cls="field small"):
                entry("Scale", project.scale, scale, id="set-scale")
        tag("p", "Leave width and height empty to keep the drawing's own size.", cls="soft")
