"""One tab on the Glass step: what it holds in hand, what it has chosen, how its panes look."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from glasswork.model.finish import BY_PALETTE
from glasswork.web.pages.shell import Bench
from glasswork.web.parts import say
from glasswork.web.picture import LEAD, Linear, hex_of, seen
from glasswork.web.sketch import FrameSketch, Shelf, Sketch, Tally

AS_ALL: Final = "as-all"
"""In place of a surface: the pane has the one that is said for all."""


class GlassStep:
    """What one tab shows and does.

    hand : what is given to the next pane that is clicked: ("glass" or "surface", its name)
    """

    def __init__(
        self,
        bench: Bench,
        sketch: Sketch,
        shelf: Shelf,
        *,
        tally: Tally | None,
        frame: FrameSketch | None,
    ) -> None:
        self.bench = bench
        self.sketch = sketch
        self.shelf = shelf
        self.tally = tally
        self.frame = frame
        self.view = "lit"
        self.films = tally.count if tally else 2
        self.bright = 1.0
        self.tinted = False
        self.alike = False
        self.hand: tuple[str, str] | None = None
        self.chosen: set[str] = set()
        self.base = {pane.id: pane.glass for pane in sketch.panes}
        self.titles = {row.id: row.title for row in shelf.glasses}
        self.own_finish = {row.id: row.finish for row in shelf.glasses}

    def keep(self, old: GlassStep) -> None:
        """Go on as the tab was before its step was worked out again."""
        self.view, self.films = old.view, old.films
        self.bright, self.tinted = old.bright, old.tinted
        self.alike, self.hand = old.alike, old.hand
        self.chosen = old.chosen & self.base.keys()

    def glass_of(self, pane: str) -> str:
        """The glass of a pane, chosen or given by the drawing."""
        return self.bench.session.project.glass.get(pane, self.base[pane])

    def surface_of(self, pane: str) -> str:
        """The surface of a pane: its own, the one said for all, or that of its glass."""
        project = self.bench.session.project
        if pane in project.surfaces:
            return project.surfaces[pane]
        if project.finish == BY_PALETTE:
            return self.own_finish.get(self.glass_of(pane), "clear")
        return project.finish

    def colour(self, glass: str) -> str:
        """How a glass looks in the view that is shown."""
        films = 2 if self.view == "by-hand" and self.films < 2 else self.films
        look = self.shelf.looks[films].get(glass)
        return "#777777" if look is None else self._lit(seen(look, self.view))

    def ink(self) -> str:
        """How printed leads look in the view that is shown."""
        if self.view in ("unlit", "by-hand"):
            return LEAD
        return self._lit(self.shelf.leads[self.films])

    def _lit(self, colour: Linear) -> str:
        lit = self.view != "unlit"
        return hex_of(
            colour,
            bright=self.bright if lit else 1.0,
            tint=self.shelf.tint if lit and self.tinted else (1.0, 1.0, 1.0),
        )

    def fills(self, panes: Iterable[str]) -> dict[str, str]:
        """Colours of panes, each glass looked up once."""
        known: dict[str, str] = {}
        found = {}
        for pane in panes:
            glass = self.glass_of(pane)
            if glass not in known:
                known[glass] = self.colour(glass)
            found[pane] = known[glass]
        return found

    def surfaces(self, panes: Iterable[str]) -> dict[str, str]:
        """Surfaces of panes."""
        return {pane: self.surface_of(pane) for pane in panes}

    def labels(self, panes: Iterable[str]) -> dict[str, str]:
        """What a screen reader says of panes."""
        found = {}
        for pane in panes:
            surface = self.surface_of(pane)
            found[pane] = f"pane {pane}, {self.titles.get(self.glass_of(pane), 'no glass')}" + (
                f", {surface}" if surface != "clear" else ""
            )
        return found

    # ------------------------------------------------------------------------- what is done

    def pane(self, pane: str, *, more: bool) -> None:
        """A pane was clicked."""
        if pane not in self.base:
            return
        panes = self.like(pane) if self.alike else {pane}
        if self.hand is not None:
            self.lay(panes, *self.hand)
            return
        if more:
            self.chosen = self.chosen ^ panes
        else:
            self.chosen = set() if self.chosen == panes else panes
        self.show_chosen()

    def like(self, pane: str) -> set[str]:
        """The panes of the same glass."""
        glass = self.glass_of(pane)
        return {other for other in self.base if self.glass_of(other) == glass}

    def lay(self, panes: Iterable[str], what: str, name: str | None) -> None:
        """Give panes a glass or a surface; every tab is told by the session.

        name : None takes back what was chosen
        """
        chosen, session = sorted(panes), self.bench.session
        if not chosen:
            return
        if what == "surface":
            word = None if name in (None, AS_ALL) else name
            done = self.bench.tell(lambda: session.surface(chosen, word))
            said = f"{word} surface" if word else "the surface said for all"
        else:
            done = self.bench.tell(lambda: session.glaze(chosen, name))
            said = self.titles.get(name or "", "the drawing’s own glass")
        if done:
            many = f"{len(chosen)} panes" if len(chosen) > 1 else f"pane {chosen[0]}"
            say(f"{said} for {many}")

    def take(self, what: str, name: str) -> None:
        """A glass or surface was clicked: for the chosen panes, else into the hand."""
        if self.chosen:
            self.lay(self.chosen, what, name)
            return
        self.hand = None if self.hand == (what, name) else (what, name)
        self.show_hand()
        if self.hand is None:
            say("nothing in hand: choose panes first")
        else:
            say(f"{self.titles.get(name, name.replace('-', ' '))} in hand: choose panes")

    def let_go(self) -> None:
        """Choose no pane, hold nothing."""
        self.chosen, self.hand = set(), None
        self.show_chosen()
        self.show_hand()

    def show_chosen(self) -> None:
        """Mark the chosen panes in the picture, and say how many they are."""
        self.mark_chosen()
        if self.chosen:
            many = f"{len(self.chosen)} panes" if len(self.chosen) > 1 else "one pane"
            say(f"{many} chosen; now choose a glass or a surface")

    def mark_chosen(self) -> None:
        """Mark the chosen panes in the picture."""
        self.bench.run("bench.select", "p", sorted(self.chosen))

    def show_hand(self) -> None:
        """Mark what is held in hand."""
        for key, element in self.bench.state["in_hand"].items():
            element.props["aria-pressed"] = str(key == self.hand).lower()
            element.update()

    def repaint(self, panes: Iterable[str] | None = None) -> None:
        """Send the looks of panes, of all if none are named."""
        which = list(self.base) if panes is None else [p for p in panes if p in self.base]
        self.bench.run("bench.fill", self.fills(which), self.labels(which), self.surfaces(which))
        if panes is None:
            self.bench.run("bench.ink", self.ink())
