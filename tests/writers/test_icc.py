"""ICC profiles of film stacks, opened by LittleCMS (through Pillow)."""

from __future__ import annotations

import io
from hashlib import md5
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from glasswork.calibrate.tables import StackTables, stack_tables
from glasswork.cielab import delta_e00
from glasswork.colour.predict import StackModel, make_stack
from glasswork.colour.solve import solve
from glasswork.readers.light import read_light
from glasswork.readers.printer import read_printer
from glasswork.writers.icc import write_icc

PROFILES = Path(__file__).parents[2] / "profiles"


def model_of(films: int) -> StackModel:
    printer = PROFILES / "printers" / "dye-film.toml"
    lamp = PROFILES / "lights" / "led-b3.toml"
    light = read_light(lamp.read_bytes(), where=lamp.name, sibling=lambda _: b"")
    return make_stack(read_printer(printer.read_bytes(), where=printer.name), light, films)


def tables_of(model: StackModel) -> StackTables:
    def invert(lab: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        device = solve(model, lab, thorough=False, again=False, hold_hue=1.0, rounds=15).device
        return device, delta_e00(model.lab(device), lab)

    return stack_tables(
        model.lab, invert, colorant="rgb", films=model.films, title="Varnholt dye (invented), é"
    )


@pytest.fixture(scope="module", params=[1, 2], ids=["one film", "two films"])
def stack(request: pytest.FixtureRequest) -> tuple[StackModel, StackTables, bytes]:
    model = model_of(request.param)
    t = tables_of(model)
    data = write_icc(
        t.forward, t.back, t.off, colorant="rgb", title=t.title, created="2026-01-02T10:00:00Z"
    )
    return model, t, data


def opened(data: bytes) -> ImageCms.ImageCmsProfile:
    return ImageCms.ImageCmsProfile(io.BytesIO(data))


def to_lab(data: bytes, device: np.ndarray) -> np.ndarray:
    """Device codes (n, 3) to CIELAB by LittleCMS."""
    lab = ImageCms.createProfile("LAB", 5000)
    change = ImageCms.buildTransform(
        opened(data),
        lab,
        "RGB",
        "LAB",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        ImageCms.Flags.NOOPTIMIZE,
    )
    picture = Image.fromarray(device.reshape(1, -1, 3))
    codes = np.asarray(ImageCms.applyTransform(picture, change)).reshape(-1, 3).astype(float)
    # Pillow holds a* and b* as signed bytes.
    ab = (codes[:, 1:] + 128.0) % 256.0 - 128.0
    return np.column_stack((codes[:, 0] * 100.0 / 255.0, ab))


def test_header_says_what_it_is(stack: tuple[StackModel, StackTables, bytes]) -> None:
    _, _, data = stack
    profile = opened(data).profile
    assert profile.version == pytest.approx(4.3)
    assert profile.device_class == "prtr"
    assert profile.xcolor_space.strip() == "RGB"
    assert profile.connection_space.strip() == "Lab"
    assert profile.profile_description == "Varnholt dye (invented), é"
    assert int.from_bytes(data[:4], "big") == len(data)
    assert data[36:40] == b"acsp"
    assert data[56:64] == (1).to_bytes(8, "big")  # transparency
    zeroed = bytearray(data)
    zeroed[44:48], zeroed[64:68], zeroed[84:100] = bytes(4), bytes(4), bytes(16)
    assert md5(bytes(zeroed), usedforsecurity=False).digest() == data[84:100]
    for intent in (0, 1, 2):
        assert profile.is_intent_supported(intent, ImageCms.Direction.OUTPUT)


def test_little_cms_agrees_with_the_model(stack: tuple[StackModel, StackTables, bytes]) -> None:
    """400 random device colours: mean ΔE00 at most 1 (8-bit CIELAB out of Pillow included)."""
    model, _, data = stack
    device = np.random.default_rng(1).integers(0, 256, (400, 3), dtype=np.uint8)
    off = delta_e00(to_lab(data, device), model.lab(device / 255.0))
    assert off.mean() < 0.5
    assert np.percentile(off, 95) < 1.0


def test_the_way_back_gives_the_colour(stack: tuple[StackModel, StackTables, bytes]) -> None:
    model, _, data = stack
    device = np.random.default_rng(2).integers(0, 256, (400, 3), dtype=np.uint8)
    wanted = to_lab(data, device)
    lab = ImageCms.createProfile("LAB", 5000)
    change = ImageCms.buildTransform(
        lab,
        opened(data),
        "LAB",
        "RGB",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        ImageCms.Flags.NOOPTIMIZE,
    )
    codes = np.column_stack((wanted[:, 0] * 2.55, wanted[:, 1:] % 256.0)).round().astype(np.uint8)
    picture = Image.frombytes("LAB", (400, 1), codes.tobytes())
    back = np.asarray(ImageCms.applyTransform(picture, change)).reshape(-1, 3)
    off = delta_e00(model.lab(back / 255.0), wanted)
    assert off.mean() < 1.0


def test_white_is_the_clear_stack(stack: tuple[StackModel, StackTables, bytes]) -> None:
    _, _, data = stack
    lab = to_lab(data, np.array([[255, 255, 255]], dtype=np.uint8))
    assert np.abs(lab[0] - [100, 0, 0]).max() < 0.6


def test_gamut_knows_what_is_out_of_reach(stack: tuple[StackModel, StackTables, bytes]) -> None:
    _, tables, _ = stack
    middle = tables.off.shape[0] // 2
    assert tables.off[middle, middle, middle] < 3.0
    assert tables.off[0, -1, -1] > 10.0


def test_four_inks_and_wrong_tables() -> None:
    forward = np.zeros((3, 3, 3, 3, 3))
    forward[..., 0] = 50.0
    back, off = np.zeros((5, 5, 5, 4)), np.zeros((5, 5, 5))
    data = write_icc(forward, back, off, colorant="cmyk", title="x", created="2026-01-02")
    assert opened(data).profile.xcolor_space == "CMYK"
    with pytest.raises(ValueError, match="axes"):
        write_icc(forward, back, off, colorant="rgb", title="x", created="2026-01-02")


def test_same_input_gives_the_same_bytes(stack: tuple[StackModel, StackTables, bytes]) -> None:
    _, t, data = stack
    again = write_icc(
        t.forward, t.back, t.off, colorant="rgb", title=t.title, created="2026-01-02T10:00:00Z"
    )
    assert again == data
