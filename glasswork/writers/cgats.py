"""Readings as CGATS.17 / ISO 28178 text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from glasswork.model.reading import Readings

_FIELDS: Final = {
    "spectral": tuple(f"SPECTRAL_{nm}" for nm in range(380, 731, 10)),
    "camera": ("CAMERA_R", "CAMERA_G", "CAMERA_B"),
    "xyz": ("XYZ_X", "XYZ_Y", "XYZ_Z"),
    "lab": ("LAB_L", "LAB_A", "LAB_B"),
    "density": ("D_RED", "D_GREEN", "D_BLUE"),
}
_SCALE: Final = {"spectral": 1.0, "camera": 1.0, "xyz": 100.0, "lab": 1.0, "density": 1.0}
_EXTRA: Final = (
    "STRIP",
    "FILMS",
    "DEVICE_SCALE",
    "CAMERA_R",
    "CAMERA_G",
    "CAMERA_B",
    "WEIGHT",
    "LEAST",
)


def write_cgats(readings: Readings | Sequence[Readings], *, created: str, title: str = "") -> bytes:
    """Readings as one text file, a table for each (other programs often read the first alone).

    created : date, ISO 8601, given by the caller
    Values are relative to bare film. A camera's values are linear sRGB, in fields of our own that
    are declared as the standard asks.
    """
    lines: list[str] = []
    for reading in (readings,) if isinstance(readings, Readings) else readings:
        lines += _table(reading, created=created, title=title)
    return ("\r\n".join(lines) + "\r\n").encode()


def _table(reading: Readings, *, created: str, title: str) -> list[str]:
    device: tuple[str, ...] = ("RGB_R", "RGB_G", "RGB_B")
    if reading.colorant == "cmyk":
        device = ("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K")
    full = 255.0 if reading.colorant == "rgb" else 100.0
    fields: tuple[str, ...] = (
        "SAMPLE_ID",
        "SAMPLE_NAME",
        *device,
        *_FIELDS[reading.kind],
        "WEIGHT",
    )
    if reading.least is not None:
        fields = (*fields, "LEAST")
    lines = [
        "CGATS.17",
        "",
        f"ORIGINATOR {_quoted('Glasswork')}",
        f"FILE_DESCRIPTOR {_quoted(title or 'readings of a calibration strip')}",
        f"CREATED {_quoted(created)}",
        f"INSTRUMENTATION {_quoted(reading.instrument or reading.kind)}",
        "# values are relative to bare film",
        *(f'KEYWORD "{word}"' for word in _EXTRA),
        f"DEVICE_SCALE {full:g}",
        f"FILMS {reading.films}",
    ]
    if reading.strip:
        lines.append(f"STRIP {_quoted(reading.strip)}")
    lines += [
        f"NUMBER_OF_FIELDS {len(fields)}",
        "BEGIN_DATA_FORMAT",
        "\t".join(fields),
        "END_DATA_FORMAT",
        f"NUMBER_OF_SETS {len(reading.device)}",
        "BEGIN_DATA",
    ]
    scale = _SCALE[reading.kind]
    for i, (ink, values, weight) in enumerate(
        zip(reading.device, reading.values, reading.weight, strict=True)
    ):
        name = reading.names[i] if reading.names else str(i + 1)
        cells = [str(i + 1), _quoted(name) if " " in name else name]
        cells += [f"{value * full:.3f}" for value in ink]
        cells += [f"{value * scale:.6g}" for value in values]
        cells.append(f"{weight:.3g}")
        if reading.least is not None:
            cells.append(
                str(sum(bit for bit, is_ in zip((1, 2, 4), reading.least[i], strict=True) if is_))
            )
        lines.append("\t".join(cells))
    return [*lines, "END_DATA", ""]


def _quoted(text: str) -> str:
    clean = text.replace('"', "'").replace("\r", " ").replace("\n", " ")
    return f'"{clean}"'
