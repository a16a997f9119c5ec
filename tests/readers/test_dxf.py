"""Cut files in DXF read back, beside ezdxf."""

from __future__ import annotations

from io import StringIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glasswork.errors import ReadError
from glasswork.model.frame import CutPath
from glasswork.readers.dxf import read_dxf
from glasswork.writers.dxf import write_dxf

CUT = frozenset({"outline", "inside", "holes"})
POINT = st.tuples(st.integers(0, 300), st.integers(0, 300))
BULGE = st.one_of(st.just(0.0), st.floats(0.01, 3.0), st.floats(-3.0, -0.01))
PATH = st.builds(
    CutPath,
    operation=st.sampled_from(("outline", "hole", "inside")),
    points=st.lists(POINT, min_size=3, max_size=5, unique=True).map(tuple),
    closed=st.booleans(),
).flatmap(
    lambda path: st.tuples(*[BULGE] * len(path.points)).map(
        lambda bulges: CutPath(
            operation=path.operation, points=path.points, closed=path.closed, bulges=bulges
        )
    )
)


@settings(max_examples=40, deadline=None)
@given(paths=st.lists(PATH, min_size=1, max_size=4))
def test_extents_and_unit_are_those_that_ezdxf_finds(paths: list[CutPath]) -> None:
    """Within the error of its arcs, which it takes as Bézier curves: 0.03 % of the radius."""
    import ezdxf
    from ezdxf.bbox import extents

    data = write_dxf(paths, (300.0, 300.0), title="t")
    drawing = read_dxf(data, name="sheet")
    known = ezdxf.read(StringIO(data.decode()))
    box = extents(known.modelspace())
    assert drawing.units == known.units == 4
    assert drawing.extents(CUT) == pytest.approx(
        (box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y), abs=0.002 * 300.0
    )


def test_a_drawing_of_a_stranger_is_read() -> None:
    """Written by ezdxf without any help of ours, in inches."""
    import ezdxf

    document = ezdxf.new("R2000", units=1)
    document.modelspace().add_lwpolyline(
        [(0, 0), (2, 0), (2, 1)], close=True, dxfattribs={"layer": "OUTLINE"}
    )
    stream = StringIO()
    document.write(stream)
    drawing = read_dxf(stream.getvalue().encode(), name="sheet")
    assert drawing.units == 1
    assert drawing.extents(CUT) == (0.0, 0.0, 2.0, 1.0)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (b"LWPOLYLINE", b"CIRCLE", "holds a CIRCLE"),
        (b"  0\nEOF\n", b"", "cut short"),
        (b" 10\n5.0", b" 10\nfive", "no number"),
        (b" 90\n", b"ninety\n", "no DXF text"),
    ],
)
def test_damage_is_told(old: bytes, new: bytes, told: str) -> None:
    path = CutPath(operation="outline", points=((5.0, 5.0), (9.0, 5.0), (9.0, 9.0)))
    data = write_dxf((path,), (20.0, 20.0), title="t")
    with pytest.raises(ReadError, match=told):
        read_dxf(data.replace(old, new), name="sheet")


def test_nothing_to_cut_is_no_box() -> None:
    drawing = read_dxf(write_dxf((), (20.0, 20.0), title="t"), name="sheet")
    with pytest.raises(ValueError, match="nothing"):
        drawing.extents(CUT)
