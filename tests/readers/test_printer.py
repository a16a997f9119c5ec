"""Printer profiles: read whole, or refused with the key at fault."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomli_w

from glasswork.errors import Faults, GlassworkError, ProfileError
from glasswork.readers.printer import read_printer

PRINTERS = Path(__file__).parents[2] / "profiles" / "printers"


def _profile(**changes: Any) -> bytes:
    nodes = [
        {"device": list(spot), "transmittance": [0.1 + 0.3 * sum(spot)] * 36}
        for spot in product((0.0, 1.0), repeat=3)
    ]
    table: dict[str, Any] = {"title": "t", "n": 1.5, "ink_limit": 2.5, "node": nodes}
    table.update(changes)
    return tomli_w.dumps({k: v for k, v in table.items() if v is not None}).encode()


def test_a_small_profile() -> None:
    found = read_printer(_profile(), where="shed/ferry.toml")
    assert found.name == "ferry"
    assert found.levels == ((0.0, 1.0),) * 3
    assert found.nodes.shape == (2, 2, 2, 36)
    assert found.nodes[1, 0, 1, 5] == pytest.approx(0.7)
    assert found.curves == (((0.0, 0.0), (1.0, 1.0)),) * 3
    assert found.bands == "spectral"


def test_the_order_of_nodes_does_not_matter() -> None:
    table = tomllib.loads(_profile().decode())
    turned = _profile(node=table["node"][::-1])
    assert (
        read_printer(turned, where="f").nodes == read_printer(_profile(), where="f").nodes
    ).all()


def test_camera_bands() -> None:
    nodes = [
        {"device": list(spot), "camera": [0.2 + 0.8 * v for v in spot]}
        for spot in product((0.0, 0.5, 1.0), repeat=3)
    ]
    found = read_printer(_profile(node=nodes), where="f")
    assert found.bands == "camera"
    assert found.nodes.shape == (3, 3, 3, 3)


def test_cmyk() -> None:
    nodes = [
        {"device": list(spot), "transmittance": [0.2] * 36}
        for spot in product((0.0, 1.0), repeat=4)
    ]
    found = read_printer(_profile(node=nodes, device="cmyk", ink_limit=3.0), where="f")
    assert len(found.levels) == 4


def _nodes(change: Callable[[list[dict[str, Any]]], Any]) -> bytes:
    table = tomllib.loads(_profile().decode())
    change(table["node"])
    return tomli_w.dumps(table).encode()


@pytest.mark.parametrize(
    ("data", "key", "what"),
    [
        (_profile(n=0.8), "n", "0.8 is not between 1 and 20"),
        (_profile(ink_limit=0.0), "ink_limit", "not between 0.1"),
        (_profile(ink_limit=3.5), "ink_limit", "not between 0.1 and 3"),
        (_profile(index=0.9), "index", "not between 1"),
        (_profile(print_scale=[1.0, 1.5]), "print_scale[1]", "1.5 is not"),
        (_profile(base=[1.0] * 35), "base", "35 values, 36"),
        (_profile(base=[1.0] * 35 + [1.1]), "base[35]", "1.1 is not"),
        (_profile(curves=[[[0, 0], [1, 1]]] * 2), "curves", "2 curves for 3 axes"),
        (
            _profile(curves=[[[0, 0], [0.4, 0.5], [0.6, 0.5], [1, 1]], *[[[0, 0], [1, 1]]] * 2]),
            "curves[0][2]",
            "does not rise",
        ),
        (_profile(curves=[[[0, 0.1], [1, 1]], *[[[0, 0], [1, 1]]] * 2]), "curves[0]", "[0, 0]"),
        (_nodes(lambda n: n.pop(3)), "node", "the lattice has holes: 7 of 8 nodes"),
        (_nodes(lambda n: n.append(n[0])), "node", "same device values"),
        (_nodes(lambda n: n[2].update(device=[0.0, 2.0, 0.0])), "node[2].device", "3 values 0-1"),
        (_nodes(lambda n: n[2].update(device=[0.0, 1.0])), "node[2].device", "3 values 0-1"),
        (
            _nodes(lambda n: n[1].update(transmittance=[0.5] * 31)),
            "node[1].transmittance",
            "31 values, 36",
        ),
        (
            _nodes(lambda n: n[1].update(transmittance=[0.5] * 35 + [1.02])),
            "node[1].transmittance",
            "1.02 is not between 0 and 1",
        ),
        (
            _nodes(lambda n: n[1].update(transmittance=[-0.01] + [0.5] * 35)),
            "node[1].transmittance",
            "-0.01",
        ),
        (_nodes(lambda n: n[1].pop("transmittance")), "node", "7 nodes with transmittance"),
        (_nodes(lambda n: n.clear()), "node", "does not run from 0 to 1"),
        (_profile(device="rgbw"), "device", "rgbw"),
        (_profile(inklimit=2.0), "f.toml", 'unknown key "inklimit"'),
        (_profile(title=None), "f.toml", '"title" is missing'),
    ],
)
def test_what_is_refused(data: bytes, key: str, what: str) -> None:
    with pytest.raises(ProfileError) as caught:
        read_printer(data, where="f.toml")
    assert key in caught.value.where
    assert what in caught.value.what


def test_several_faults_at_once() -> None:
    with pytest.raises(Faults) as caught:
        read_printer(_profile(n=0.1, index=9.0, ink_limit=-1.0), where="f.toml")
    assert len(caught.value.faults) == 3


@pytest.mark.parametrize("name", ["dye-film", "pigment-film"])
def test_shipped_printers_are_what_their_maker_script_writes(name: str) -> None:
    import importlib.util

    script = Path(__file__).parents[1] / "colour" / "invented_printers.py"
    spec = importlib.util.spec_from_file_location("invented_printers", script)
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    import sys

    sys.modules["invented_printers"] = maker
    spec.loader.exec_module(maker)
    made = {printer.name: printer for printer in (maker.DYE, maker.PIGMENT)}[name]
    kept = (PRINTERS / f"{name}.toml").read_text("utf-8")
    assert tomllib.loads(kept)["invented"] is True
    written, read = tomllib.loads(maker.toml_text(made)), tomllib.loads(kept)
    for one, other in zip(written.pop("node"), read.pop("node"), strict=True):
        assert one["device"] == other["device"]
        # Four digits are kept; other processors may round the last one elsewhere.
        assert np.array(one["transmittance"]) == pytest.approx(other["transmittance"], rel=2e-3)
    assert written.keys() == read.keys()


def test_any_cut_of_a_profile_is_refused_or_read() -> None:
    whole = (PRINTERS / "dye-film.toml").read_bytes()
    for length in range(0, len(whole), 997):
        with pytest.raises(GlassworkError):
            read_printer(whole[:length], where="cut.toml")
