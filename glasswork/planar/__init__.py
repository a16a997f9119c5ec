"""The polygon engine's only adapter: everything planar is asked of shapely in this package.

An `Area` is any number of disjoint regions. Stages compute with areas and hand `Regions` on.
Engine faults become `GlassworkError`s here and nowhere else.
"""

from glasswork.planar.area import Area
from glasswork.planar.area_set import AreaSet
from glasswork.planar.engine import Cap, Join
from glasswork.planar.gaps import Gap, Slit, ring_gaps, slits
from glasswork.planar.lines import stretches
from glasswork.planar.mesh import Mesh, mesh_of
from glasswork.planar.outlines import outline_round, outlines
from glasswork.planar.painting import Pen, drawn, filled, seen
from glasswork.planar.places import (
    depths,
    inner_points,
    last_holding,
    lines_at,
    near_edge,
    nearest_mm,
    noded,
    outside_mm,
    polygon_set,
    regions_of_rings,
    sound_regions,
    sound_rings,
    valid,
)

__all__ = [
    "Area",
    "AreaSet",
    "Cap",
    "Gap",
    "Join",
    "Mesh",
    "Pen",
    "Slit",
    "depths",
    "drawn",
    "filled",
    "inner_points",
    "last_holding",
    "lines_at",
    "mesh_of",
    "near_edge",
    "nearest_mm",
    "noded",
    "outline_round",
    "outlines",
    "outside_mm",
    "polygon_set",
    "regions_of_rings",
    "ring_gaps",
    "seen",
    "slits",
    "sound_regions",
    "sound_rings",
    "stretches",
    "valid",
]
