"""An independent chain from a strip's PDF to a photo of it: nothing here is Glasswork's.

PDF pages are rendered by pypdfium2; an invented printer puts inks on invented film; films lie on
each other; an LED lights them unevenly; a camera with its own sensitivities, matrix to sRGB, lens
and noise takes a JPEG. Truth is what the CIE observer sees of the same spectra.

Observer, illuminants, chart reflectances and the sensitivities of one real camera come from
colour-science 0.4.7 (CIE 15; BabelColor's averages of a 24-patch chart; the measurements of the
National Physical Laboratory). The other cameras, all inks and films are invented.
"""

from __future__ import annotations

import io
from functools import lru_cache
from itertools import product

import cv2
import numpy as np
import pypdfium2
from msgspec import Struct
from msgspec.structs import replace
from PIL import Image

NM = np.arange(380.0, 731.0, 5.0)


def bell(at: float, width: float, width_right: float | None = None) -> np.ndarray:
    """A bump with unlike flanks."""
    spread = np.where(at > NM, width, width_right or width)
    return np.exp(-0.5 * ((NM - at) / spread) ** 2)


@lru_cache(maxsize=1)
def observer() -> np.ndarray:
    import colour

    table = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    return np.stack(
        [np.interp(NM, table.wavelengths, table.values[:, i]) for i in range(3)], axis=1
    )


@lru_cache(maxsize=16)
def led(name: str, tilt: float = 0.0) -> np.ndarray:
    """A CIE LED, its long end raised by `tilt` per 100 nm: no lamp is quite the table's."""
    import colour

    table = colour.SDS_ILLUMINANTS[name]
    power = np.interp(NM, table.wavelengths, table.values)
    return power * (1.0 + tilt * (NM - 555.0) / 100.0)


@lru_cache(maxsize=1)
def chart() -> np.ndarray:
    """Reflectances of a 24-patch chart, (24, wavelengths)."""
    import colour

    spectra = colour.SDS_COLOURCHECKERS["BabelColor Average"]
    return np.stack([np.interp(NM, s.wavelengths, s.values) for s in spectra.values()])


# --------------------------------------------------------------------------------- the printer


class Device(Struct, frozen=True):
    """A printer, its inks and its film.

    inks : bands (peak nm, left width, right width, density) of each ink: C, M, Y, K, and if there
        are six, light C and light M
    black_start, black_most : from which share of grey on black ink comes, and how much at most
    removal : how much of the grey that black replaces is taken from C, M and Y
    tone : exponent of the driver's tone curve; gain : what the dot grows by at a half
    n : of the dots' mixing; trap : density of an ink on another, 1 is all of it
    limit : most ink, as the sum of the amounts; haze : density all printed dots add
    """

    name: str
    inks: tuple[tuple[tuple[float, float, float, float], ...], ...]
    black_start: float = 0.3
    black_most: float = 0.9
    removal: float = 0.6
    tone: float = 1.0
    gain: float = 0.14
    n: float = 1.6
    trap: float = 0.95
    limit: float = 2.8
    haze: float = 0.004
    base_yellow: float = 0.03
    index: float = 1.57

    def densities(self) -> np.ndarray:
        rows = [sum(d * bell(at, a, b) for at, a, b, d in ink) for ink in self.inks]
        return np.asarray(rows) + self.haze

    def amounts(self, rgb: np.ndarray) -> np.ndarray:
        """What the driver lays down, (..., inks) 0-1."""
        cmy = (1.0 - rgb) ** self.tone
        grey = cmy.min(axis=-1, keepdims=True)
        ramp = np.clip((grey - self.black_start) / (1.0 - self.black_start), 0.0, 1.0)
        black = self.black_most * ramp**1.6
        ink = np.concatenate((np.clip(cmy - self.removal * black * grey, 0, 1), black), axis=-1)
        if len(self.inks) == 6:
            # Light inks carry the light tones and give way to the full ones.
            light = np.clip(2.2 * ink[..., :2] * (1.0 - ink[..., :2]), 0, 1)
            full = np.clip(1.6 * ink[..., :2] - 0.6, 0, 1)
            ink = np.concatenate((full, ink[..., 2:], light), axis=-1)
        total = ink.sum(axis=-1, keepdims=True)
        return ink * np.where(total > self.limit, self.limit / np.maximum(total, 1e-9), 1.0)

    def film(self, rgb: np.ndarray) -> np.ndarray:
        """Transmittance of the printed layer, (..., wavelengths)."""
        ink = self.amounts(rgb)
        dots = np.clip(ink + 4.0 * self.gain * ink * (1.0 - ink), 0, 1)
        solids = self.densities()
        mixed = np.zeros((*rgb.shape[:-1], len(NM)))
        for on in product((0, 1), repeat=len(self.inks)):
            share = np.prod(
                [dots[..., i] if o else 1.0 - dots[..., i] for i, o in enumerate(on)], 0
            )
            layers = sum(on)
            density = np.asarray(on) @ solids * (self.trap ** max(0, layers - 1))
            mixed += share[..., None] * 10.0 ** (-density / self.n)
        return mixed**self.n

    def base(self) -> np.ndarray:
        return 0.985 * 10.0 ** (-self.base_yellow * np.exp(-(NM - 380.0) / 40.0))

    def stack(self, films: list[np.ndarray], slant: float = 0.0) -> np.ndarray:
        """Films on each other with air between, by following light to and fro.

        slant : degrees from the normal at which the camera looks; the way through is longer
        """
        path = 1.0 / np.sqrt(1.0 - (np.sin(np.radians(slant)) / self.index) ** 2)
        r = ((self.index - 1.0) / (self.index + 1.0)) ** 2
        through, back = np.ones(len(NM)), np.zeros(len(NM))
        for printed in films:
            tau = (self.base() * printed) ** path
            one_pass = (1 - r) ** 2 * tau / (1 - (r * tau) ** 2)
            thrown = r + r * (1 - r) ** 2 * tau**2 / (1 - (r * tau) ** 2)
            loop = 1.0 / (1.0 - back * thrown)
            back = thrown + one_pass**2 * back * loop
            through = through * one_pass * loop
        return through

    def clear(self, films: int, slant: float = 0.0) -> np.ndarray:
        return self.stack([np.ones(len(NM))] * films, slant)

    def seen(self, rgb: np.ndarray, films: int, light: np.ndarray) -> np.ndarray:
        """Truth: CIELAB relative to the lit clear stack, (..., 3)."""
        import colour

        weights = observer() * light[:, None]
        white = self.clear(films) @ weights
        xyz = self.stack([self.film(rgb)] * films) @ weights / white
        # Against a white of 1, 1, 1 the formula is that of X/Xn, Y/Yn, Z/Zn.
        with np.errstate(all="ignore"):
            return np.asarray(colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(np.ones(3))))

    def spectra(self, rgb: np.ndarray) -> np.ndarray:
        """What an instrument reads of one film, zeroed on bare film; 380-730 nm by 10 nm."""
        return (self.stack([self.film(rgb)]) / self.clear(1))[..., ::2]


def _ink(
    *bands: tuple[float, float, float, float],
) -> tuple[tuple[float, float, float, float], ...]:
    return bands


_DYE_A = (
    _ink((640, 62, 55, 1.45), (585, 30, 20, 0.25), (390, 20, 25, 0.2)),
    _ink((552, 38, 22, 1.35), (515, 26, 20, 0.35), (400, 25, 30, 0.18)),
    _ink((440, 48, 26, 1.30), (395, 25, 20, 0.2)),
    _ink((590, 110, 90, 1.2), (450, 70, 70, 0.9)),
)
_DYE_B = (
    _ink((665, 70, 60, 1.25), (610, 32, 25, 0.55), (395, 25, 30, 0.22)),
    _ink((536, 34, 30, 1.5), (400, 20, 25, 0.15)),
    _ink((418, 42, 38, 1.4)),
    _ink((540, 160, 160, 1.5)),
)
_PIGMENT = (
    _ink((620, 50, 70, 1.1), (680, 30, 40, 0.5), (390, 30, 30, 0.35)),
    _ink((560, 45, 25, 1.05), (525, 30, 20, 0.4), (410, 40, 40, 0.25)),
    _ink((430, 45, 35, 1.1), (480, 20, 15, 0.25)),
    _ink((520, 140, 170, 1.35)),
)

DEVICES = (
    Device("dye, narrow magenta", _DYE_A),
    Device("dye, much black", _DYE_B, black_start=0.1, removal=0.95, n=1.3, gain=0.08, tone=1.15),
    Device(
        "pigment, big gain",
        _PIGMENT,
        n=2.2,
        gain=0.2,
        haze=0.02,
        limit=2.2,
        trap=0.88,
        base_yellow=0.05,
    ),
    Device(
        "dye, late black",
        _DYE_A,
        black_start=0.6,
        removal=0.2,
        n=1.9,
        gain=0.05,
        tone=0.9,
        limit=3.2,
        index=1.48,
    ),
    Device("pigment, light tones lifted", _PIGMENT, n=1.1, gain=0.12, tone=1.3, black_most=1.0),
    Device(
        "six inks",
        (
            *_DYE_B,
            tuple((a, b, c, 0.33 * d) for a, b, c, d in _DYE_B[0]),
            tuple((a, b, c, 0.33 * d) for a, b, c, d in _DYE_B[1]),
        ),
        n=1.5,
        gain=0.06,
        trap=0.97,
        limit=3.0,
    ),
)


# ---------------------------------------------------------------------------------- the camera


def _camera(*channels: np.ndarray) -> np.ndarray:
    return np.stack(channels, axis=1)


@lru_cache(maxsize=8)
def camera(name: str) -> np.ndarray:
    """Sensitivities red, green, blue, (wavelengths, 3)."""
    if name == "measured":
        import colour

        table = colour.MSDS_CAMERA_SENSITIVITIES["Nikon 5100 (NPL)"]
        return np.stack(
            [np.interp(NM, table.wavelengths, table.values[:, i]) for i in range(3)], axis=1
        )
    shapes = {
        "phone one": (
            bell(596, 18, 42) + 0.12 * bell(540, 25) + 0.05 * bell(440, 25),
            bell(528, 34, 42) + 0.04 * bell(450, 20),
            bell(458, 26, 30) + 0.06 * bell(530, 30),
        ),
        "phone two": (
            bell(606, 24, 34) + 0.07 * bell(530, 30),
            bell(536, 30, 46) + 0.08 * bell(470, 25),
            bell(452, 24, 34),
        ),
        "phone three": (
            bell(600, 20, 50) + 0.2 * bell(545, 30),
            bell(522, 36, 36),
            bell(464, 30, 26) + 0.1 * bell(540, 40),
        ),
    }
    return _camera(*shapes[name])


class Scene(Struct, frozen=True):
    """How a photo is taken. Angles in degrees; blur and noise as on a 4000 px wide picture."""

    name: str
    light: str = "LED-B3"
    camera: str = "measured"
    tilt: float = 0.0
    turn: float = 0.0
    roll: float = 0.0
    mirrored: bool = False
    fall_off: float = 0.2
    vignette: float = 0.15
    noise: float = 0.004
    blur_px: float = 1.0
    quality: int = 95
    exposure: float = 0.75
    flare: float = 0.0
    size: tuple[int, int] = (4000, 3000)
    lamp_tilt: float = 0.0
    misfit_mm: float = 0.15
    fill: float = 0.86

    def but(self, **changes: object) -> Scene:
        return replace(self, **changes)  # type: ignore[arg-type]


SCENES = (
    Scene("square on", camera="measured", quality=95),
    Scene(
        "20 degrees, JPEG 85",
        light="LED-B4",
        camera="phone one",
        tilt=20.0,
        roll=4.0,
        fall_off=0.35,
        vignette=0.3,
        noise=0.008,
        blur_px=1.5,
        quality=85,
        lamp_tilt=0.06,
    ),
    Scene(
        "turned, mirrored, warm",
        light="LED-B2",
        camera="phone two",
        turn=15.0,
        roll=93.0,
        mirrored=True,
        fall_off=0.45,
        vignette=0.25,
        noise=0.006,
        blur_px=2.0,
        quality=90,
        lamp_tilt=-0.05,
        flare=0.002,
    ),
    Scene(
        "dim corner, noisy",
        light="LED-B5",
        camera="phone three",
        tilt=-14.0,
        turn=14.0,
        roll=183.0,
        fall_off=0.6,
        vignette=0.35,
        noise=0.012,
        blur_px=2.5,
        quality=85,
        exposure=0.6,
        flare=0.003,
    ),
)

SRGB_OF_XYZ = np.linalg.inv(
    np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
)
D65 = np.array([0.95047, 1.0, 1.08883])


def matrix_to_srgb(sensitivities: np.ndarray, light: np.ndarray) -> np.ndarray:
    """The 3 x 3 matrix a maker would fit on a chart, grey kept grey."""
    raw = chart() @ (sensitivities * light[:, None])
    raw /= np.ones(len(NM)) @ (sensitivities * light[:, None])
    weights = observer() * light[:, None]
    xyz = chart() @ weights / weights.sum(axis=0)
    wanted = (xyz * D65) @ SRGB_OF_XYZ.T
    heavy = np.vstack((raw, 100.0 * np.ones((1, 3))))
    matrix, *_ = np.linalg.lstsq(heavy, np.vstack((wanted, 100.0 * np.ones((1, 3)))), rcond=None)
    return np.asarray(matrix.T)


def render_block(pdf: bytes, *, page: int = 0, dpi: float = 220.0) -> np.ndarray:
    """A page as 8-bit RGB."""
    bitmap = pypdfium2.PdfDocument(pdf)[page].render(scale=dpi / 72.0)
    return np.ascontiguousarray(np.asarray(bitmap.to_pil().convert("RGB")))


@lru_cache(maxsize=2)
def lit_page(pdf: bytes, device: Device, films: int, scene: Scene, dpi: float) -> np.ndarray:
    """A page lit; the last few are kept, for photos that differ in what the camera does alone."""
    return lit(device, render_block(pdf, dpi=dpi), films, scene, dpi)


def lit(device: Device, page: np.ndarray, films: int, scene: Scene, dpi: float) -> np.ndarray:
    """What the sensor would see square on, by an even light, in linear sRGB, bare film = 1."""
    red, green, blue = (page[..., k].astype(np.int32) for k in range(3))
    colours, index = _present((red << 16) | (green << 8) | blue, 1 << 24)
    rgb = np.stack((colours >> 16, (colours >> 8) & 255, colours & 255), axis=1) / 255.0
    printed = device.film(rgb)
    step = round(scene.misfit_mm / 25.4 * dpi)
    layers, place = [np.arange(len(colours))], index
    for k in range(1, films):
        layer = np.roll(index, (step * (k // 2 + k % 2), -step * (k % 2)), (0, 1))
        kinds, place = _present(place * len(colours) + layer, len(layers[0]) * len(colours))
        layers = [*(below[kinds // len(colours)] for below in layers), kinds % len(colours)]
    light = led(scene.light, scene.lamp_tilt)
    weights = camera(scene.camera) * light[:, None]
    slant = np.degrees(np.arccos(np.cos(np.radians(scene.tilt)) * np.cos(np.radians(scene.turn))))
    clear = device.clear(films, slant) @ weights
    raw = device.stack([printed[layer] for layer in layers], slant) @ weights / clear
    raw = (raw + scene.flare) / (1.0 + scene.flare)
    return np.asarray(raw, dtype=np.float32)[place]


def _present(codes: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Which of the numbers under `count` occur, and at each place the index of its own."""
    there = np.zeros(count, dtype=bool)
    there[codes] = True
    found = np.flatnonzero(there)
    index = np.zeros(count, dtype=np.int32)
    index[found] = np.arange(len(found))
    return found, index[codes]


def photograph(
    pdf: bytes,
    device: Device,
    scene: Scene,
    *,
    films: int = 1,
    seed: int = 1,
    deep: bool = False,
    block_mm: tuple[float, float, float, float] = (10.0, 20.5, 200.0, 168.5),
) -> bytes:
    """The photo, as JPEG, or as 16-bit PNG if `deep`.

    block_mm : left, top, right, bottom of what fills the picture, on the page
    """
    dpi = 220.0
    plain = Scene(
        "",
        light=scene.light,
        camera=scene.camera,
        tilt=scene.tilt,
        turn=scene.turn,
        flare=scene.flare,
        lamp_tilt=scene.lamp_tilt,
        misfit_mm=scene.misfit_mm,
    )
    raw = lit_page(pdf, device, films, plain, dpi)
    if scene.mirrored:
        raw = np.ascontiguousarray(raw[:, ::-1])
        wide_mm = raw.shape[1] / dpi * 25.4
        block_mm = (wide_mm - block_mm[2], block_mm[1], wide_mm - block_mm[0], block_mm[3])
    wide, high = scene.size
    view = _view(scene, block_mm, dpi)
    image = cv2.warpPerspective(
        raw,
        view,
        (wide, high),
        flags=cv2.INTER_AREA if wide < 2000 else cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=(0.02, 0.02, 0.02),
    )
    scale = wide / 4000.0
    image = cv2.GaussianBlur(image, (0, 0), max(0.3, scene.blur_px * scale))
    x = np.linspace(-1.0, 1.0, wide, dtype=np.float32)[None, :]
    y = (np.linspace(-1.0, 1.0, high, dtype=np.float32) * high / wide)[:, None]
    lamp = 1.0 - scene.fall_off * np.clip((x - 0.2) ** 2 + (y + 0.15) ** 2, 0, 1.3) / 1.3
    radius = (x**2 + y**2) / 1.5625
    lens = 1.0 - scene.vignette * radius
    image *= (scene.exposure * lamp * lens)[:, :, None]
    rng = np.random.default_rng(seed)
    noise = rng.standard_normal(image.shape, dtype=np.float32)
    # Noise as of a small sensor: a floor and shot noise; `noise` is its size at full range.
    image += noise * (0.15 * scene.noise + scene.noise * np.sqrt(np.maximum(image, 0.0)))
    light = led(scene.light, scene.lamp_tilt)
    image = image @ matrix_to_srgb(camera(scene.camera), light).T.astype(np.float32)
    image = np.clip(image, 0.0, 1.0)
    code = np.where(image <= 0.0031308, 12.92 * image, 1.055 * image ** (1 / 2.4) - 0.055)
    if deep:
        ok, data = cv2.imencode(
            ".png",
            np.round(code[:, :, ::-1] * 65535).astype(np.uint16),
            [cv2.IMWRITE_PNG_COMPRESSION, 1],
        )
        assert ok
        return bytes(data)
    out = io.BytesIO()
    Image.fromarray(np.round(code * 255).astype(np.uint8)).save(out, "JPEG", quality=scene.quality)
    return out.getvalue()


def _view(scene: Scene, block: tuple[float, float, float, float], dpi: float) -> np.ndarray:
    """Page pixels to photo pixels: a pinhole camera that looks at the block's middle."""
    wide, high = scene.size
    left, top, right, bottom = block
    centre = np.array([(left + right) / 2, (top + bottom) / 2])
    roll, tilt, turn = np.radians([scene.roll, scene.tilt, scene.turn])
    cz, sz = np.cos(roll), np.sin(roll)
    cx, sx = np.cos(tilt), np.sin(tilt)
    cy, sy = np.cos(turn), np.sin(turn)
    spin = np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
    lean = np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
    swing = np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    pose = swing @ lean @ spin
    far = 420.0
    corners = np.array(
        [[x - centre[0], y - centre[1], 0] for x in (left, right) for y in (top, bottom)]
    )
    seen = corners @ pose.T
    flat = seen[:, :2] / (1.0 + seen[:, 2:] / far)
    span = np.abs(flat).max(axis=0)
    focal = scene.fill * min(wide / 2 / span[0], high / 2 / span[1])
    to_mm = np.array([[25.4 / dpi, 0, -centre[0]], [0, 25.4 / dpi, -centre[1]], [0, 0, 1]])
    project = np.array(
        [
            [focal * pose[0, 0], focal * pose[0, 1], 0],
            [focal * pose[1, 0], focal * pose[1, 1], 0],
            [pose[2, 0] / far, pose[2, 1] / far, 1.0],
        ]
    )
    middle = np.array([[1, 0, wide / 2], [0, 1, high / 2], [0, 0, 1]])
    return middle @ project @ to_mm


def delta_e00(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    import colour

    return np.asarray(colour.delta_E(one, two, method="CIE 2000"))
