"""Input that cannot be used: exit 1, one clear line a fault, nothing left behind."""

from __future__ import annotations

import http.server
import struct
import subprocess
import sys
import threading
import zlib
from pathlib import Path

import pytest

from tests.pack.conftest import ROOT, glasswork

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
SIZED = HEAD + 'width="60mm" height="80mm" viewBox="0 0 60 80">'
FRAME = '<rect x="1" y="1" width="58" height="78" fill="none" stroke="#000" stroke-width="3"/>'
OPEN = '<path d="M1 1 H59 V79 H1 V9" fill="none" stroke="#000" stroke-width="3"/>'
BAR = '<path d="M1 40 H59" fill="none" stroke="#000" stroke-width="2"/>'
GOOD = f"{SIZED}{FRAME}{BAR}</svg>"


def _png_head() -> bytes:
    body = b"IHDR" + struct.pack(">IIBBBBB", 400, 400, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + body + struct.pack(">I", zlib.crc32(body))


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE b [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10 if n else "&a;"}">' for n in range(9))
    + f"]>{SIZED}<text>&a8;</text></svg>"
)

DRAWINGS: dict[str, tuple[str, bytes, str]] = {
    "no panes": ("a.svg", f"{SIZED}</svg>".encode(), "a.svg"),
    "open outline": (
        "a.svg",
        f"{SIZED}{OPEN}</svg>".encode(),
        "a.svg",
    ),
    "no size": ("a.svg", f"{HEAD}>{FRAME}</svg>".encode(), "size"),
    "empty picture": ("a.png", b"", "a.png"),
    "truncated picture": ("a.png", _png_head(), "a.png"),
    "entity bomb": ("a.svg", BOMB.encode(), "a.svg"),
    "not a drawing": ("a.svg", b"\x00\x01\x02 nothing", "a.svg"),
    "not xml": ("a.svg", b"<svg", "a.svg"),
}


def refused(tmp_path: Path, *words: str) -> str:
    target = tmp_path / "pack"
    done = glasswork("compose", *words, "-o", str(target))
    assert done.returncode == 1, (done.returncode, done.stdout, done.stderr)
    assert done.stdout == ""
    lines = done.stderr.strip().splitlines()
    assert lines
    assert all(line.startswith("error: ") for line in lines), done.stderr
    assert not target.exists()
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]
    return done.stderr


@pytest.mark.parametrize("case", DRAWINGS)
def test_drawings_that_make_no_window(case: str, tmp_path: Path) -> None:
    name, data, said = DRAWINGS[case]
    (tmp_path / name).write_bytes(data)
    assert said in refused(tmp_path, str(tmp_path / name))


@pytest.fixture
def good(tmp_path: Path) -> str:
    path = tmp_path / "good.svg"
    path.write_text(GOOD)
    return str(path)


def test_the_good_drawing_composes(good: str, tmp_path: Path) -> None:
    done = glasswork("compose", good, "-o", str(tmp_path / "pack"))
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--width", "900"), "larger bed"),
        (("--palette", "nowhere"), "known: "),
        (("--printer", "nowhere", "--light", "nothing"), "nothing"),
        (("--finish", "velvet"), "choose one of: clear, cathedral, seedy"),
        (("--dpi", "200"), "200 dpi is not between 300 and 1200"),
        (("--dpi", "2400"), "2400 dpi is not between 300 and 1200"),
        (("--matting", "1.5"), "1.5 is not between 0 and 1"),
        (("--opening", "40x50", "--clearance", "25"), "leaves nothing"),
        (("--scale", "0"), "scale"),
        (("--board", "none.toml"), "none.toml"),
    ],
)
def test_settings_that_cannot_be_met(
    good: str, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    assert said in refused(tmp_path, good, *words)


def test_a_page_that_is_smaller_than_marks_and_rules(good: str, tmp_path: Path) -> None:
    (tmp_path / "slip.toml").write_text(
        'name = "slip"\ntitle = "Slip"\nwidth_mm = 60\nheight_mm = 70\n'
    )
    said = refused(tmp_path, good, "--page", str(tmp_path / "slip.toml"))
    assert "Slip page" in said
    assert "larger page" in said


@pytest.mark.parametrize("blocks", [40, 400])
def test_a_full_disk_leaves_nothing_half_written(good: str, tmp_path: Path, blocks: int) -> None:
    """The system refuses to write more than so many kilobytes of a file, as a full disk would; an
    older pack stays as it was, and nothing is left beside it."""
    old = tmp_path / "old"
    assert glasswork("compose", good, "-o", str(old)).returncode == 0
    before = {path: path.read_bytes() for path in old.rglob("*") if path.is_file()}
    names = sorted(path.name for path in tmp_path.iterdir())
    picture = str(tmp_path / "p.png")
    for words in (
        ("compose", good, "-o", str(tmp_path / "fresh")),
        ("compose", good, "-o", str(old), "--width", "50"),
        ("preview", good, "-o", picture, "--width-px", "1600"),
    ):
        done = subprocess.run(
            ["bash", "-c", f'ulimit -f {blocks}; exec "$@"', "bash", sys.executable, "-m",
             "glasswork", *words],
            cwd=ROOT, capture_output=True, text=True, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 1, done.stderr
        assert "File too large" in done.stderr
        assert "Traceback" not in done.stderr
    assert {path: path.read_bytes() for path in old.rglob("*") if path.is_file()} == before
    assert sorted(path.name for path in tmp_path.iterdir()) == names


def test_a_window_larger_than_the_bed(good: str, tmp_path: Path) -> None:
    text = (ROOT / "profiles" / "cutters" / "laser.toml").read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("bed_mm")]
    small = "\n".join(["bed_mm = [50, 50]", *lines])
    (tmp_path / "small.toml").write_text(small)
    assert "larger bed" in refused(tmp_path, good, "--cutter", str(tmp_path / "small.toml"))


def test_an_unknown_glass_in_the_map(good: str, tmp_path: Path) -> None:
    project = tmp_path / "p.toml"
    project.write_text(f'design = "good.svg"\n[glass]\nP1 = "unobtainium"\n# {good}')
    assert "unobtainium" in refused(tmp_path, "--project", str(project))


def test_a_profile_with_a_wrong_key(good: str, tmp_path: Path) -> None:
    text = (ROOT / "profiles" / "boards" / "chipboard-2.toml").read_text("utf-8")
    (tmp_path / "b.toml").write_text("thicknes = 2\n" + text)
    said = refused(tmp_path, good, "--board", str(tmp_path / "b.toml"))
    assert "thicknes" in said
    assert "thickness_mm" in said, "the valid keys are listed"


def test_a_missing_file(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path, str(tmp_path / "none.svg"))


def test_two_wrong_profiles_are_told_at_once(good: str, tmp_path: Path) -> None:
    said = refused(tmp_path, good, "--printer", "nowhere", "--light", "nothing")
    assert len(said.strip().splitlines()) == 2


def test_a_folder_that_is_no_pack_is_left_alone(good: str, tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "letter.txt").write_text("dear")
    done = glasswork("compose", good, "-o", str(mine))
    assert done.returncode == 1
    assert [path.name for path in mine.iterdir()] == ["letter.txt"]
    assert (mine / "letter.txt").read_text() == "dear"


def test_references_to_other_files_are_never_fetched(tmp_path: Path) -> None:
    asked: list[str] = []

    class Listener(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(404)
            self.end_headers()

        def log_message(self, *_words: object) -> None:
            return

    server = http.server.HTTPServer(("127.0.0.1", 0), Listener)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        base = f"http://127.0.0.1:{server.server_port}"
        drawing = tmp_path / "a.svg"
        drawing.write_text(
            f'<?xml version="1.0"?><!DOCTYPE svg SYSTEM "{base}/dtd">{SIZED}'
            f'<style>@import url("{base}/css");</style>{FRAME}{BAR}'
            f'<image xlink:href="{base}/image.png" width="5" height="5"/>'
            f'<use xlink:href="{base}/other.svg#x"/></svg>'
        )
        glasswork("compose", str(drawing), "-o", str(tmp_path / "pack"))
    finally:
        server.shutdown()
        server.server_close()
    assert asked == []


@pytest.mark.parametrize(
    "words",
    [
        ("compose",),
        ("compose", "a.svg"),
        ("compose", "a.svg", "-o", "x", "--films", "4"),
        ("compose", "a.svg", "-o", "x", "--opening", "12"),
        ("compose", "a.svg", "-o", "x", "--width", "wide"),
        ("nonsense",),
    ],
)
def test_wrong_usage_leaves_with_2(words: tuple[str, ...]) -> None:
    assert glasswork(*words).returncode == 2


def test_a_width_that_the_border_does_not_take_keeps_no_advice_back(tmp_path: Path) -> None:
    """The border is a filled shape, which [widths] does not widen: it grows with the window."""
    ring = '<path fill-rule="evenodd" d="M0 0H60V80H0ZM0.6 0.6V79.4H59.4V0.6Z"/>'
    (tmp_path / "a.svg").write_text(f"{SIZED}{ring}</svg>")
    (tmp_path / "a.toml").write_text('design = "a.svg"\n[widths]\nborder = 4\n')
    assert "--width 100" in refused(tmp_path, "--project", str(tmp_path / "a.toml"))
