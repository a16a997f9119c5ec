"""Photos of strips, taken by the independent chain of tests/calibrate/simulate.py."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from glasswork.calibrate.strip import strip_code, strip_layout
from glasswork.errors import CalibrationError, ReadError
from glasswork.readers.photo import combine_exposures
from tests.calibrate.conftest import SIZE, photo_of, read, strip_pdf
from tests.calibrate.simulate import (
    DEVICES,
    SCENES,
    Scene,
    camera,
    led,
    matrix_to_srgb,
    photograph,
)

DEVICE = DEVICES[0]
PLAIN = SCENES[0].but(size=SIZE)


def truth(scene: Scene, films: int = 1) -> np.ndarray:
    """Linear sRGB relative to bare film that a faultless camera would have seen, (216, 3)."""
    device = strip_layout(strip_code()).device
    light = led(scene.light, scene.lamp_tilt)
    weights = camera(scene.camera) * light[:, None]
    raw = DEVICE.stack([DEVICE.film(device)] * films) @ weights / (DEVICE.clear(films) @ weights)
    return np.clip(raw @ matrix_to_srgb(camera(scene.camera), light).T, 0.0, None)


@pytest.mark.parametrize("scene", SCENES, ids=lambda s: s.name)
def test_strip_is_found_and_patches_read(scene: Scene) -> None:
    """Perspective, rotation, mirror, fall-off, vignetting, blur, noise and JPEG: patches come out
    within 3 % of bare film, half of them within 1 %."""
    scene = scene.but(size=SIZE)
    photo = read(photo_of(DEVICE, scene))
    assert photo.readings.strip == strip_code()
    assert photo.mirrored == scene.mirrored
    off = np.abs(photo.readings.values - truth(scene)).max(axis=1)
    assert np.percentile(off, 95) < 0.03
    assert np.median(off) < 0.01
    clear = np.array([p.use == "clear" for p in strip_layout(strip_code()).patches])
    assert np.abs(photo.readings.values[clear] - 1.0).max() < 0.02
    assert photo.blur_mm < 1.2


@pytest.mark.parametrize(("tilt", "turn"), [(0, 0), (20, 0), (0, -30), (-14, 14), (40, 10)])
def test_slant_of_the_camera_is_told_from_the_perspective(tilt: float, turn: float) -> None:
    photo = read(photo_of(DEVICE, PLAIN.but(tilt=float(tilt), turn=float(turn))), picture=False)
    true = np.degrees(np.arccos(np.cos(np.radians(tilt)) * np.cos(np.radians(turn))))
    assert photo.readings.slant_deg == pytest.approx(true, abs=3.0)


def test_unevenness_of_the_light_is_taken_out() -> None:
    even, dim = PLAIN.but(fall_off=0.0, vignette=0.0), PLAIN.but(fall_off=0.5, vignette=0.4)
    flat, steep = read(photo_of(DEVICE, even)), read(photo_of(DEVICE, dim))
    assert flat.unevenness < 1.1
    assert steep.unevenness > 1.5
    off = np.abs(flat.readings.values - steep.readings.values).max(axis=1)
    assert np.percentile(off, 95) < 0.02


def test_picture_marks_what_was_read() -> None:
    photo = read(photo_of(DEVICE, PLAIN))
    with Image.open(io.BytesIO(photo.marked)) as picture:
        assert max(picture.size) == 1600
        pixels = np.asarray(picture.convert("RGB")).astype(int)
    green = (pixels[:, :, 1] > 150) & (pixels[:, :, 0] < 100) & (pixels[:, :, 2] < 110)
    assert green.sum() > 3000


def test_a_patch_with_dirt_on_it_is_marked_and_counts_little() -> None:
    picture = cv2.imdecode(np.frombuffer(photo_of(DEVICE, PLAIN), np.uint8), cv2.IMREAD_COLOR)
    clean = read(photo_of(DEVICE, PLAIN))
    layout = strip_layout(strip_code())
    at = next(i for i, p in enumerate(layout.patches) if p.use == "node" and min(p.device) > 0.4)
    matrix = np.array(clean.strip_to_photo).reshape(3, 3)
    x, y, w = matrix @ [*layout.patches[at].box.centre, 1.0]
    cv2.circle(picture, (round(x / w) + 8, round(y / w)), 9, (10, 10, 10), -1)
    photo = read(cv2.imencode(".png", picture)[1].tobytes())
    assert photo.readings.weight[at] < 0.5
    assert layout.patches[at].name in {r.patch for r in photo.readings.remarks}


def test_sixteen_bits_are_read_as_finely_as_they_are() -> None:
    """Three dark films: in 8 bits without noise values fall on few steps, in 16 they do not."""
    scene = PLAIN.but(noise=0.0005, misfit_mm=0.0)
    deep = photograph(strip_pdf(), DEVICE, scene, films=3, deep=True)
    photo = read(deep, films=3)
    dark = (truth(scene, 3) > 2e-4) & (truth(scene, 3) < 5e-3)
    ratio = photo.readings.values[dark] / truth(scene, 3)[dark]
    assert dark.sum() > 50
    assert np.median(np.abs(np.log(ratio))) < 0.15


def test_sixteen_bit_tiff_is_read_as_the_same_png() -> None:
    deep = photograph(strip_pdf(), DEVICE, PLAIN, deep=True)
    pixels = cv2.imdecode(np.frombuffer(deep, np.uint8), cv2.IMREAD_UNCHANGED)
    tiff = cv2.imencode(".tiff", pixels)[1].tobytes()
    one, two = read(deep), read(tiff)
    assert np.array_equal(one.readings.values, two.readings.values)


def test_wider_primaries_are_read_as_what_they_are() -> None:
    """The matrix is that of colour-science; a photo saved with Display P3 gives the readings of
    the same photo in sRGB where that was not cut off."""
    import colour

    from glasswork.readers.photo_find import P3_TO_SRGB

    spaces = colour.RGB_COLOURSPACES
    want = colour.matrix_RGB_to_RGB(spaces["Display P3"], spaces["sRGB"], None)
    assert np.abs(want - P3_TO_SRGB).max() < 5e-4
    pixels = pixels_of(photo_of(DEVICE, PLAIN))[:, :, ::-1] / 255.0
    linear = np.where(pixels <= 0.04045, pixels / 12.92, ((pixels + 0.055) / 1.055) ** 2.4)
    wide = np.clip(linear @ np.linalg.inv(want).T, 0.0, 1.0)
    code = np.where(wide <= 0.0031308, 12.92 * wide, 1.055 * wide ** (1 / 2.4) - 0.055)
    picture = Image.fromarray(np.round(code * 255).astype(np.uint8))

    def saved(profile: bytes) -> bytes:
        out = io.BytesIO()
        picture.save(out, "PNG", icc_profile=profile, compress_level=1)
        return out.getvalue()

    plain = read(photo_of(DEVICE, PLAIN)).readings
    told = read(saved(named_profile("Display P3"))).readings
    assert np.abs(told.values - plain.values).max() < 0.02
    odd = read(saved(named_profile("Harbour space"))).readings
    assert any('"Harbour space" is not known' in note for note in odd.notes)


def named_profile(name: str) -> bytes:
    """An sRGB profile that calls itself otherwise."""
    from PIL import ImageCms

    data = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    old = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(data))).strip()
    padded = name.ljust(len(old))
    return data.replace(old.encode("utf-16-be"), padded.encode("utf-16-be"))


def test_longer_exposures_add_the_dark_patches() -> None:
    scene = PLAIN.but(noise=0.01)
    short = read(photo_of(DEVICE, scene, 3), films=3)
    long = read(photo_of(DEVICE, scene.but(exposure=6.0), 3), films=3, may_clip=True)
    assert long.clipped
    both = combine_exposures([short, long])
    want = truth(scene, 3)
    dark = (want > 1e-3) & (want < 0.01)

    def error(values: np.ndarray) -> float:
        return float(np.median(np.abs(np.log(np.maximum(values[dark], 1e-6) / want[dark]))))

    assert dark.sum() > 50
    assert error(both.values) < 0.6 * error(short.readings.values)
    bright = want > 0.3
    assert np.abs(both.values[bright] - want[bright]).max() < 0.05
    with pytest.raises(CalibrationError, match="over the camera's range in every photo"):
        combine_exposures([long])


# ------------------------------------------------------------------------------------ bad input


def jpeg(picture: np.ndarray) -> bytes:
    return bytes(cv2.imencode(".jpg", picture)[1].tobytes())


def pixels_of(data: bytes) -> np.ndarray:
    return np.asarray(cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR))


def test_no_picture() -> None:
    good = photo_of(DEVICE, PLAIN)
    for data in (b"", b"hello", good[:400]):
        with pytest.raises(ReadError):
            read(data)


def test_photo_of_something_else() -> None:
    """A gradient with circles: no strip in it."""
    y, x = np.mgrid[0:900, 0:1200]
    scene = np.stack((x % 256, y % 256, (x + y) % 256), axis=2).astype(np.uint8)
    for r in range(20, 200, 25):
        cv2.circle(scene, (600, 450), r, (20, 60, 200), 4)
    with pytest.raises(CalibrationError, match="no calibration strip found"):
        read(jpeg(scene))


def test_grey_picture() -> None:
    with pytest.raises(ReadError, match="grey"):
        read(jpeg(cv2.cvtColor(pixels_of(photo_of(DEVICE, PLAIN)), cv2.COLOR_BGR2GRAY)))


def test_half_a_strip() -> None:
    picture = pixels_of(photo_of(DEVICE, PLAIN))
    with pytest.raises(CalibrationError, match="only part of the strip"):
        read(jpeg(picture[:, : int(0.55 * picture.shape[1])]))


def test_two_strips() -> None:
    picture = pixels_of(photo_of(DEVICE, PLAIN))
    with pytest.raises(CalibrationError, match="two strips"):
        read(jpeg(np.concatenate((picture, picture), axis=1)))


def test_clipped_clear_patches() -> None:
    with pytest.raises(CalibrationError, match="over the camera's range") as caught:
        read(photo_of(DEVICE, PLAIN.but(exposure=1.4)))
    assert "lock exposure" in caught.value.hint


def test_too_dark() -> None:
    with pytest.raises(CalibrationError):
        read(photo_of(DEVICE, PLAIN.but(exposure=0.02, noise=0.003)))


def test_blurred() -> None:
    with pytest.raises(CalibrationError, match=r"blurred|no calibration strip|square marks"):
        read(photo_of(DEVICE, PLAIN.but(blur_px=45.0)))


def test_a_shadow_across_the_film() -> None:
    picture = pixels_of(photo_of(DEVICE, PLAIN)).astype(float)
    picture[:, int(0.45 * picture.shape[1]) :] *= 0.75
    with pytest.raises(CalibrationError, match="uneven"):
        read(jpeg(picture.astype(np.uint8)))


def test_the_wrong_strip() -> None:
    quick = strip_code(quick=True)
    with pytest.raises(CalibrationError, match="not the quick strip"):
        read(photo_of(DEVICE, PLAIN), code=quick)


def test_an_unreadable_code_asks_for_its_name() -> None:
    picture = pixels_of(photo_of(DEVICE, PLAIN))
    first = read(photo_of(DEVICE, PLAIN))
    matrix = np.array(first.strip_to_photo).reshape(3, 3)
    box = strip_layout(strip_code()).code_box
    spots = np.array([[x, y, 1.0] for x in (box.left, box.right) for y in (box.top, box.bottom)])
    spots = spots @ matrix.T
    spots = spots[:, :2] / spots[:, 2:]
    (x0, y0), (x1, y1) = spots.min(axis=0).astype(int), spots.max(axis=0).astype(int)
    picture[y0:y1, x0:x1] = 128
    with pytest.raises(CalibrationError, match="code on the strip cannot be read"):
        read(jpeg(picture))
    assert read(jpeg(picture), code=strip_code()).readings.strip == strip_code()
