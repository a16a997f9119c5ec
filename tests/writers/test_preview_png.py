"""PNG bytes, read back by Pillow and by the chunks the standard asks for."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from glasswork.writers.png import encode_png

LARGE = ((900, 701), (700, 601, 3), (2, 600_000), (1201, 599, 4))
"""Deflated a block of rows at a time; two rows are a block each."""


@pytest.mark.parametrize("shape", [(1, 1), (5, 7), (1, 9, 3), (64, 33, 3), (12, 5, 4), *LARGE])
def test_pillow_reads_the_same_pixels(shape) -> None:
    pixels = np.random.default_rng(3).integers(0, 256, shape, dtype=np.uint8)
    with Image.open(io.BytesIO(encode_png(pixels))) as picture:
        assert np.array_equal(np.asarray(picture), pixels)


def test_scale_is_told_in_pixels_per_metre() -> None:
    """PNG pHYs: unit 1 is the metre; Pillow gives it back as dots per inch."""
    with Image.open(io.BytesIO(encode_png(np.zeros((2, 2, 3), np.uint8), px_per_mm=10.0))) as read:
        assert read.info["dpi"] == pytest.approx((254.0, 254.0))


@pytest.mark.parametrize("shape", [(0, 4, 3), (3, 3, 2), (2,), (2, 2, 2, 2)])
def test_other_shapes_are_refused(shape) -> None:
    with pytest.raises(ValueError, match="no PNG"):
        encode_png(np.zeros(shape, np.uint8))


def test_smooth_pictures_become_small() -> None:
    ramp = np.tile(np.arange(256, dtype=np.uint8)[None, :, None], (256, 1, 3))
    assert len(encode_png(ramp)) < ramp.size / 20
