"""Cut files as DXF, read back by ezdxf."""

from __future__ import annotations

from io import StringIO

import pytest

from glasswork.model.frame import CutPath
from glasswork.writers.dxf import write_dxf

SQUARE = ((10.0, 10.0), (30.0, 10.0), (30.0, 30.0), (10.0, 30.0))
ARC = CutPath(operation="hole", points=((10.0, 20.0), (30.0, 20.0)), bulges=(1.0, 1.0))


def _read(data: bytes):
    import ezdxf

    return ezdxf.read(StringIO(data.decode("utf-8")))


def test_units_version_and_layers() -> None:
    """$INSUNITS 4 is millimetres [dxf-units]; AC1024 is R2010 (ezdxf's own table)."""
    document = _read(
        write_dxf((ARC, CutPath(operation="outline", points=SQUARE)), (40.0, 40.0), title="t")
    )
    assert document.dxfversion == "AC1024"
    assert document.header["$INSUNITS"] == 4
    names = {entity.dxf.layer for entity in document.modelspace()}
    assert names == {"holes", "outline"}
    assert not document.audit().has_errors


def test_nothing_is_mirrored() -> None:
    """A corner near the file's top left stays at the top left, where DXF has y up."""
    document = _read(
        write_dxf(
            (CutPath(operation="outline", points=((1.0, 2.0), (5.0, 2.0), (1.0, 9.0))),),
            (40.0, 50.0),
            title="t",
        )
    )
    (line,) = document.modelspace()
    assert [tuple(p[:2]) for p in line.get_points()] == [(1.0, 48.0), (5.0, 48.0), (1.0, 41.0)]
    assert line.closed


def test_arcs_are_bulges_of_the_same_side() -> None:
    from ezdxf.path import make_path

    arc = CutPath(
        operation="score", points=((10.0, 20.0), (30.0, 20.0)), bulges=(1.0, 0.0), closed=False
    )
    document = _read(write_dxf((arc,), (40.0, 40.0), title="t"))
    (line,) = document.modelspace()
    ys = [point.y for point in make_path(line).flattening(0.001)]
    assert max(ys) == pytest.approx(30.0, abs=0.01)  # over the top, as in the SVG
    assert min(ys) == pytest.approx(20.0, abs=0.01)


def test_the_same_paths_give_the_same_bytes() -> None:
    first = write_dxf((ARC,), (40.0, 40.0), title="t")
    assert first == write_dxf((ARC,), (40.0, 40.0), title="t")
    assert b"ezdxf" not in first or b"2000-01-01" in first
