"""The usual cautions, said wherever the work can hurt someone: guide, report, web page."""

from __future__ import annotations

from typing import Final

CAUTIONS: Final[tuple[str, ...]] = (
    "Blades: fit a fresh blade, cut away from yourself along a metal rule, keep the other hand "
    "behind the edge, and cap the knife when you put it down.",
    "Laser: never cut PVC or vinyl (it gives off hydrogen chloride). Film melts under a laser: "
    "cut it with a knife. Extract the fumes, stay with the machine, keep an extinguisher near.",
    "Spray varnish, glue and solvents: highly flammable, and the vapour makes you drowsy. Work in "
    "moving air, away from flames, and try a scrap first: solvent can dissolve printed ink.",
    "Light: use a low-voltage LED supply bought ready-made and fused, leave room for air behind "
    "the panel, and check after an hour that nothing is too hot to touch.",
    "Cells: keep coin and button cells away from children, in a compartment closed with a screw; "
    "a swallowed cell can kill within hours. Use no bare lithium cells.",
    "Mains: do no mains wiring on the word of this guide. Follow your local codes and the makers' "
    "instructions, and ask a licensed person where mains or fixed wiring is involved.",
)
