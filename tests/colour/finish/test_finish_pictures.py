"""Pictures of glass: true colour on the mean, true scale, no seams, the same bytes every time."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.cielab import delta_e00, lab_of_ratios
from glasswork.colour.finish.contact import contact_tiles
from glasswork.colour.finish.fields import FINISH, PX_PER_MM, sheet_of
from glasswork.colour.finish.glaze import finishes_of
from glasswork.colour.finish.pictures import film_pictures, lit_picture
from glasswork.colour.predict import make_stack
from glasswork.errors import ProfileError
from glasswork.model.finish import FINISHES, FinishSettings
from glasswork.model.palette import Glass, Palette
from glasswork.model.sheet import Picture
from glasswork.model.window import PaintStroke
from glasswork.units import mm_to_px

sys.path.insert(0, str(Path(__file__).parent))  # tests/colour/finish/sheets.py makes the glass

from sheets import (
    COLOURS,
    PANE_MM,
    Unpacked,
    glazing,
    light,
    plan_of,
    printer,
    separation,
    shelf,
    square,
    whole_films,
    window,
)


def _under(picture: Picture, region) -> np.ndarray:
    """The pixels wholly inside an upright rectangle."""
    scale = picture.pixels.shape[1] / picture.box.width
    box = region.box
    left, top = (box.left - picture.box.left) * scale, (box.top - picture.box.top) * scale
    right, bottom = (box.right - picture.box.left) * scale, (box.bottom - picture.box.top) * scale
    return picture.pixels[
        int(np.ceil(top)) : int(np.floor(bottom)), int(np.ceil(left)) : int(np.floor(right))
    ]


@pytest.fixture(scope="module")
def printed() -> Picture:
    pictures = whole_films(glazing(FinishSettings(dpi=300)))
    assert len(pictures) == 2
    assert pictures[0].pixels is pictures[1].pixels  # identical films share their pixels
    return pictures[0]


def test_the_mean_of_every_pane_is_its_flat_colour(printed) -> None:
    """ΔE00 at most 0.5 between the mean light of the printed pixels, as the stack model sees each
    of them, and the flat colour: checked pixel by pixel, without the tables that made them."""
    model = make_stack(printer(), light(), 2)
    worst = 0.0
    for pane in window().panes:
        pixels = _under(printed, pane.region).reshape(-1, 3)
        packed = pixels.astype(np.int64) @ (65536, 256, 1)
        codes, counts = np.unique(packed, return_counts=True)
        colours = np.stack([codes >> 16, codes >> 8 & 255, codes & 255], axis=-1)
        ratios = model.transmittance(colours / 255.0) @ model.weights
        mean = lab_of_ratios((counts[:, None] * ratios).sum(axis=0) / counts.sum())
        flat = model.lab(np.array(separation().glass(pane.glass).device[0]) / 255.0)
        worst = max(worst, float(delta_e00(mean, flat)))
    assert worst <= 0.5


def test_the_mean_holds_in_panes_smaller_than_a_streak() -> None:
    """The same for panes of 4 mm, where one streak or one bubble may fill most of a pane."""
    small = window(side_mm=4.0)
    picture = whole_films(glazing(FinishSettings(), design=small))[0]
    model = make_stack(printer(), light(), 2)
    for pane in small.panes:
        pixels = _under(picture, pane.region).reshape(-1, 3)
        ratios = (model.transmittance(pixels / 255.0) @ model.weights).mean(axis=0)
        flat = model.lab(np.array(separation().glass(pane.glass).device[0]) / 255.0)
        assert delta_e00(lab_of_ratios(ratios), flat) <= 0.5, pane.id


def test_every_finish_but_clear_is_seen(printed) -> None:
    """On coloured glass each surface swings visibly; clear stays the flat device value."""
    for pane in window().panes:
        pixels = _under(printed, pane.region).astype(float)
        name, finish = pane.id.rsplit("-", 1)
        if finish == "clear":
            assert (pixels == separation().glass(pane.glass).device[0]).all()
        elif name != "clear":
            assert pixels.std(axis=(0, 1)).max() > 2.5, pane.id


def test_same_seed_same_bytes_other_seed_other_glass(printed) -> None:
    again = whole_films(glazing(FinishSettings(dpi=300)))[0]
    assert np.array_equal(again.pixels, printed.pixels)
    other = whole_films(glazing(FinishSettings(dpi=300, seed=2)))[0]
    assert not np.array_equal(other.pixels, printed.pixels)


def test_scale_is_true_in_mm_whatever_the_resolution(printed) -> None:
    """The picture at 600 dpi, averaged to 300, is the picture at 300."""
    fine = whole_films(glazing(FinishSettings(dpi=600)))[0]
    assert fine.box.left == printed.box.left
    pane = next(p for p in window().panes if p.id == "sky-rippled")
    inner = square(pane.region.box.left + 4, pane.region.box.top + 4, 14.0)
    coarse = _under(printed, inner).astype(float)
    halves = _under(fine, inner).astype(float)
    rows, columns = min(coarse.shape[0], halves.shape[0] // 2), coarse.shape[1]
    halves = halves[: 2 * rows, : 2 * columns].reshape(rows, 2, -1, 2, 3).mean(axis=(1, 3))
    width = min(halves.shape[1], columns)
    assert np.abs(halves[:rows, :width] - coarse[:rows, :width]).mean() < 3.0
    for picture, dpi in ((printed, 300), (fine, 600)):
        assert picture.box.width * mm_to_px(1.0, dpi=dpi) == pytest.approx(picture.pixels.shape[1])


def test_the_surface_runs_on_under_the_leads(printed) -> None:
    """The bleed holds the same texture: no step where the pane's visible glass ends."""
    for pane in window().panes:
        if not pane.id.startswith(("ruby", "reed")):
            continue
        box = pane.region.box
        wide = _under(printed, square(box.left - 0.9, box.top - 0.9, box.width + 1.8)).astype(float)
        steps = np.abs(np.diff(wide, axis=1)).mean(axis=(0, 2))
        edge = round(0.9 * mm_to_px(1.0, dpi=300))
        seam = max(steps[edge - 2 : edge + 2].max(), steps[-edge - 2 : -edge + 2].max())
        assert seam <= steps.max() + 1e-9
        assert (wide != 255).any(axis=2).all()


def test_panes_of_one_glass_are_cut_from_different_places() -> None:
    cuts = [cut for cut in glazing(FinishSettings()).cuts if cut.finish == "streaky"]
    assert len({cut.turn_deg for cut in cuts}) == len(cuts) == len(COLOURS)
    assert len({cut.at_mm for cut in cuts}) == len(cuts)


@pytest.mark.parametrize("name", FINISHES)
def test_sheets_close_on_themselves(name) -> None:
    """Periodic: across the edge the field steps no more than inside, so no seam shows."""
    sheet = sheet_of(name, seed=4, size_px=512).astype(float)
    for axis in (0, 1):
        inside = np.abs(np.diff(sheet, axis=axis)).mean(axis=1 - axis)
        across = np.abs(np.take(sheet, 0, axis=axis) - np.take(sheet, -1, axis=axis)).mean()
        assert across <= inside.max() * 1.25 + 0.5


@pytest.mark.parametrize("name", [name for name in FINISHES if name != "clear"])
def test_no_tiling_shows_within_a_sheet(name) -> None:
    """The field's autocorrelation has no second peak: nothing repeats but a ripple's own waves.

    Streaks and reams are longer than the sheet; they are looked at across the draw.
    """
    sheet = sheet_of(name, seed=4, size_px=512).astype(float)
    sheet -= sheet.mean()
    power = np.abs(np.fft.fft2(sheet)) ** 2
    alike = np.fft.ifft2(power).real / power.sum() * sheet.size
    near = int(4.0 * FINISH[name].scale_mm * PX_PER_MM)
    rows, columns = np.ogrid[:512, :512]
    across, along = np.minimum(rows, 512 - rows), np.minimum(columns, 512 - columns)
    away = np.hypot(across, 0 * along if name in ("streaky", "antique") else along) > near
    assert alike[away].max() < 0.75


def test_each_finish_looks_unlike_the_others() -> None:
    """Every pair differs plainly in scale, direction, or share of light and dark."""
    marks = {name: _marks(name) for name in FINISHES if name != "clear"}
    for one in marks:
        for other in marks:
            if one < other:
                apart = np.abs(marks[one] - marks[other]).max()
                assert apart > 0.35, (one, other, marks[one], marks[other])


def _marks(name: str) -> np.ndarray:
    """log2 of mean feature size, log2 of its length over its width, skewness, peakedness."""
    field = sheet_of(name, seed=1, size_px=1024).astype(float) / 127.0 - 1.0
    field -= field.mean()
    spread = field.std()
    across, along = (np.diff(field, axis=axis).std() / spread for axis in (0, 1))
    skew = (field**3).mean() / spread**3
    peaked = np.log2((field**4).mean() / spread**4)
    return np.array([-0.5 * np.log2(across * along), np.log2(across / along), skew, peaked])


def test_matting_darkens_along_the_leads_and_stipple_breaks_it_up() -> None:
    design = window()
    pane = next(p for p in design.panes if p.id == "sky-clear")
    plain = _under(whole_films(glazing(FinishSettings(dpi=300)))[0], pane.region).astype(float)
    matted = _under(
        whole_films(glazing(FinishSettings(dpi=300, matting=0.8)))[0], pane.region
    ).astype(float)
    stippled = _under(
        whole_films(glazing(FinishSettings(dpi=300, matting=0.8, stipple=0.8)))[0], pane.region
    ).astype(float)
    middle = slice(len(plain) // 2 - 5, len(plain) // 2 + 5)
    assert matted[:3].mean() < 0.75 * plain[:3].mean()
    assert matted[middle, middle].mean() > 0.97 * plain[middle, middle].mean()
    rough, smooth = (picture[2, 20:-20].std(axis=0).mean() for picture in (stippled, matted))
    assert rough > 4.0 * max(smooth, 0.5)


def test_painted_shades_darken_the_glass_they_cover() -> None:
    """Half of a pane shaded at tone 0.5: darker there, untouched beside, grainy if stippled."""
    pane = next(p for p in window().panes if p.id == "sky-clear")
    box = pane.region.box
    half = square(box.left - 2.0, box.top - 2.0, PANE_MM / 2.0 + 2.0)
    shade = PaintStroke(area=(half,), width_mm=1.0, tone=0.5)
    design = replace(window(), paint=(shade,))
    settings = FinishSettings(dpi=300, finish="clear")
    plain = np.array(separation().glass(pane.glass).device[0])
    shaded = _under(whole_films(glazing(settings, design=design))[0], pane.region)
    stippled = FinishSettings(dpi=300, finish="clear", stipple=0.7)
    rough = _under(whole_films(glazing(stippled, design=design))[0], pane.region)
    quarter = slice(20, len(shaded) // 2 - 20)
    rest = slice(len(shaded) // 2 + 20, -20)
    assert shaded[quarter, quarter].mean() < 0.7 * plain.mean()
    assert (shaded[rest, rest] == plain).all()
    assert rough[quarter, quarter].std(axis=(0, 1)).max() > 5.0
    assert shaded[quarter, quarter].std(axis=(0, 1)).max() == 0.0


def test_flat_windows_need_no_picture() -> None:
    assert film_pictures(glazing(FinishSettings(finish="clear")), Unpacked) == ()
    assert len(whole_films(glazing(FinishSettings(finish="clear", matting=0.3)))) == 2


def test_lit_picture_shows_what_the_model_foresees() -> None:
    """The mean of the lit picture in linear light is the separation's lit colour."""
    picture = lit_picture(glazing(FinishSettings()), px_per_mm=8.0)
    for pane in window().panes:
        srgb = _under(picture, pane.region) / 255.0
        shown = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
        meant = np.array(separation().glass(pane.glass).lit_srgb)
        inside = (meant > 0.02) & (meant < 0.9)  # outside the display's range values are cut
        assert np.allclose(shown.mean(axis=(0, 1))[inside], meant[inside], rtol=0.06), pane.id


def test_one_and_three_films_keep_the_mean_too() -> None:
    for films in (1, 3):
        for tone in glazing(FinishSettings(), films=films).tones:
            assert tone.off <= 0.5
            assert tone.device.shape == (films, 256, 3)


def test_unknown_finish_and_dpi_beyond_limits_are_refused() -> None:
    with pytest.raises(ProfileError, match=r"no finish of glass.*cathedral.*antique"):
        FinishSettings(finish="bubbly")
    for dpi in (299, 1201):
        with pytest.raises(ProfileError, match="not between 300 and 1200"):
            FinishSettings(dpi=dpi)
    for key in ("matting", "stipple"):
        with pytest.raises(ProfileError, match="not between 0 and 1"):
            FinishSettings(**{key: 1.5})
    wrong = Palette(
        name="rack", title="", glasses=(Glass(id="a", title="a", srgb="#123456", finish="matt"),)
    )
    with pytest.raises(ProfileError, match=r"rack, glass a, finish.*matt"):
        finishes_of(wrong, FinishSettings())


def test_the_plan_of_the_test_is_what_it_says() -> None:
    limits = dict(plan_of(window()).glass_limit)
    assert limits["ruby-opal"][0].box.width == pytest.approx(26.0)


def test_contact_sheet_shows_every_finish_once() -> None:
    glass = Glass(id="sky", title="Sky", srgb="#8fc0e8", finish="streaky")
    tiles = contact_tiles(
        glass, profile=printer(), light=light(), cache=shelf(), side_mm=20.0, px_per_mm=6.0
    )
    assert [caption for caption, _ in tiles] == list(FINISHES)
    assert {pixels.shape for _, pixels in tiles} == {(120, 120, 3)}
    means = np.array([pixels.reshape(-1, 3).mean(axis=0) for _, pixels in tiles])
    assert np.ptp(means, axis=0).max() < 12.0  # one glass, whatever its surface
