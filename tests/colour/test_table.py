"""The device cube: what it holds, and that a damaged cache is never believed."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.cielab import delta_e00
from glasswork.colour.predict import make_stack
from glasswork.colour.solve import within_limit
from glasswork.colour.table import (
    cube_key,
    decode,
    device_cube,
    encode,
    look_up,
    pillow_table,
)
from glasswork.errors import ColourError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light


class _Shelf(dict[str, bytes]):
    """A cache in memory."""

    def get(self, key: str) -> bytes | None:  # type: ignore[override]
        return super().get(key)

    def put(self, key: str, data: bytes) -> None:
        self[key] = data


@pytest.fixture(scope="module")
def cube(dye: PrinterProfile, led: Light) -> np.ndarray:
    return device_cube(dye, led, 2)


def test_reachable_colours_come_back(cube: np.ndarray, dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    device = within_limit(np.random.default_rng(5).random((4000, 3)), model)
    wanted = model.lab(device)
    seen = model.lab(np.clip(look_up(cube, encode(wanted)) / 255.0, 0.0, 1.0))
    off = delta_e00(seen, wanted)
    assert off.mean() < 0.3
    assert np.quantile(off, 0.95) < 0.8


def test_codes_go_there_and_back() -> None:
    codes = np.random.default_rng(2).random((200, 3))
    assert encode(decode(codes)) == pytest.approx(codes, abs=1e-9)
    assert decode([1.0, 1.0, 1.0]) == pytest.approx((100.0, 0.0, 0.0), abs=1e-6)


def test_white_prints_no_ink_and_black_does(cube: np.ndarray) -> None:
    assert cube.shape == (33, 33, 33, 3)
    assert cube[-1, -1, -1].tolist() == [255, 255, 255]
    assert cube[0, 0, 0].sum() < 200


def test_pillow_looks_up_the_same(cube: np.ndarray) -> None:
    from PIL import Image, ImageFilter

    codes = np.random.default_rng(1).integers(0, 256, (16, 16, 3)).astype(np.uint8)
    table = ImageFilter.Color3DLUT(33, pillow_table(cube), target_mode="RGB")
    found = np.asarray(Image.fromarray(codes).filter(table), dtype=float)
    assert np.abs(found - look_up(cube, codes / 255.0)).max() <= 1.6


def test_the_cache_is_used_and_checked(dye: PrinterProfile, led: Light) -> None:
    shelf = _Shelf()
    first = device_cube(dye, led, 1, size=5, cache=shelf)
    key = cube_key(dye, led, 1, size=5)
    assert list(shelf) == [key]
    kept = bytearray(shelf[key])
    assert (device_cube(dye, led, 1, size=5, cache=shelf) == first).all()
    for damaged in (b"", bytes(kept[:-1]), bytes(kept[:-1]) + b"\x00\x00", b"x" * len(kept)):
        shelf[key] = damaged
        assert (device_cube(dye, led, 1, size=5, cache=shelf) == first).all()
        assert shelf[key] == bytes(kept)
    kept[-1] ^= 0xFF
    shelf[key] = bytes(kept)
    assert (device_cube(dye, led, 1, size=5, cache=shelf) == first).all()
    good = bytearray(shelf[key])
    shelf[key] = bytes(good)
    assert (device_cube(dye, led, 1, size=5, cache=shelf) == first).all()


def test_the_key_follows_the_content(
    dye: PrinterProfile, led: Light, lights: dict[str, Light]
) -> None:
    key = cube_key(dye, led, 2)
    assert key == cube_key(replace(dye, title="another title"), led, 2)
    others = [
        cube_key(replace(dye, n=dye.n + 0.01), led, 2),
        cube_key(replace(dye, nodes=dye.nodes * 0.999), led, 2),
        cube_key(replace(dye, ink_limit=2.0), led, 2),
        cube_key(dye, lights["led-b1"], 2),
        cube_key(dye, led, 3),
        cube_key(dye, led, 2, size=17),
    ]
    assert len({key, *others}) == 7


def test_a_silly_size_is_refused(dye: PrinterProfile, led: Light) -> None:
    with pytest.raises(ColourError, match="size 1"):
        device_cube(dye, led, 2, size=1)
