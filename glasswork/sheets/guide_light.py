"""The guide's light plan: where the LEDs stand, what they draw, how long they run."""

from __future__ import annotations

from glasswork.model.backlight import Backlight
from glasswork.model.geometry import Affine, Box
from glasswork.model.sheet import Fill, Item, Lines
from glasswork.model.words import counted
from glasswork.sheets.dimensions import level_dimension, upright_dimension
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.flow import Cell, Column, Flow
from glasswork.sheets.marks import rectangle, ring_round
from glasswork.sheets.tint import DIMENSION

_LED_MM = 0.9
_LEDS_HIGH_MM = 52.0


def light_plan(flow: Flow, facts: GuideFacts) -> None:
    """Nothing, where no light was planned."""
    plan = facts.backlight
    if plan is None:
        return
    flow.heading("Light behind the panel", keep_mm=70.0)
    if plan.places:
        flow.picture(_LEDS_HIGH_MM, lambda box: leds(facts, plan, box))
        flow.space(1.5)
        flow.caption("The LEDs in the light box, seen from the front, with their pitch.")
    flow.together(
        lambda part: part.table(
            [Column(title="light box", share=0.45), Column(title="", share=0.55)],
            [[Cell(text=name), Cell(text=value)] for name, value in _rows(plan)],
        )
    )
    flow.space(1.0)
    for text in (*plan.advice, *(one for one in plan.cautions if one not in facts.cautions)):
        flow.bullet(text[:1].upper() + text[1:])


def _rows(plan: Backlight) -> list[tuple[str, str]]:
    pitch, resistor = plan.pitch_mm, plan.resistor
    rows = [
        ("LEDs", f"{plan.count}: {plan.columns} across, {plan.rows} down"),
        ("pitch across, down", f"{pitch[0]:.1f} mm, {pitch[1]:.1f} mm"),
        ("from the LEDs to the diffuser", f"{plan.depth_mm:.1f} mm"),
        ("evenness, least over most light", f"{100.0 * plan.evenness:.0f} %"),
        ("wiring", f"{plan.strings} strings of {plan.in_series} in series at {plan.supply_v:g} V"),
        (
            "resistor of each string",
            f"{resistor.ohm:g} Ω, {resistor.rating_mw:g} mW or more ({resistor.current_ma:.1f} mA)",
        ),
        ("current and power", f"{plan.current_ma:.0f} mA, {plan.power_w:.2f} W"),
        ("light let out by the panel", f"{100.0 * plan.throughput:.1f} %"),
    ]
    rows.insert(2, ("or LED strip instead", _strip(plan)))
    for run in plan.running:
        hours = f"{run.hours:.1f} h" if run.hours is not None else ""
        rows.append((run.supply, f"{hours}{'; ' if hours and run.advice else ''}{run.advice}"))
    return rows


def _strip(plan: Backlight) -> str:
    """Lengths of strip in the place of the rows of LEDs."""
    if plan.strip_mm > 0.0:
        return f"{plan.strip_mm:.0f} mm"
    width = plan.size_mm[0]
    lengths = counted(plan.rows, "length")
    apart = "" if plan.rows == 1 else f", {plan.pitch_mm[1]:.1f} mm apart"
    total = plan.rows * width / 1000.0
    return (
        f"{lengths} of {width:.0f} mm{apart}, {total:.2f} m in all; its LEDs at most "
        f"{plan.pitch_mm[0]:.0f} mm apart"
    )


def leds(facts: GuideFacts, plan: Backlight, box: Box) -> tuple[Item, ...]:
    """The panel's outline and the LEDs behind it."""
    outline = facts.plan.outline
    panel = outline.box
    room = Box(box.left + 6.0, box.top + 5.0, box.right, box.bottom)
    scale = min(room.width / panel.width, room.height / panel.height)
    place = Affine(
        a=scale,
        d=scale,
        e=room.centre[0] - scale * panel.centre[0],
        f=room.centre[1] - scale * panel.centre[1],
    )
    spots = [place.apply(spot) for spot in plan.places]
    items: list[Item] = [
        Lines(
            paths=(rectangle(panel).mapped(place).outer,),
            width_mm=0.12,
            colour=DIMENSION,
            closed=True,
            dashes_mm=(1.2, 0.8),
        ),
        Lines(paths=(outline.mapped(place).outer,), width_mm=0.2, colour=DIMENSION, closed=True),
        Fill(
            area=tuple(
                ring_round(s, _LED_MM / 2.0, width_mm=_LED_MM - 0.1, chords=16) for s in spots
            ),
            colour=(226, 160, 30),
        ),
    ]
    lying = outline.mapped(place).box
    if plan.columns > 1:
        items += level_dimension(
            (spots[0][0], spots[1][0]), lying.top - 2.5, f"{plan.pitch_mm[0]:.1f} mm"
        )
    if plan.rows > 1:
        below = next((s for s in spots if abs(s[1] - spots[0][1]) > 1e-6), spots[0])
        items += upright_dimension(
            (min(spots[0][1], below[1]), max(spots[0][1], below[1])),
            lying.left - 2.5,
            f"{plan.pitch_mm[1]:.1f} mm",
        )
    return tuple(items)
