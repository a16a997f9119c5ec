"""Windows drawn from measures, as SVG that compose reads: `KINDS` lists them, `draw` draws one."""

from glasswork.drawing.drawn.kinds import KINDS, Kind, design, draw

__all__ = ["KINDS", "Kind", "design", "draw"]
