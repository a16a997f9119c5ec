"""Attacks on a running page: refused or queued, and it still answers."""

from __future__ import annotations

import concurrent.futures
import http.client
import io
import time
import urllib.parse
import zipfile
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser import Server, begin_small, get, needs_browser, post, serving

LIMIT_S = 5.0
"""The page must answer within this while it is attacked."""

SIZE = 'xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40"'
LINES = (
    '<g fill="none" stroke="#000"><path d="M2 2H38V38H2Z" stroke-width="3"/>'
    '<path d="M20 2V38" stroke-width="1"/></g>'
)


def answers(server: Server) -> float:
    """Seconds the first page takes."""
    started = time.monotonic()
    assert get(server, "/")[0] == 200
    return time.monotonic() - started


@needs_browser
@pytest.mark.parametrize(
    "evil",
    [
        "<script>window.harmed = 1</script>",
        '<rect width="9" height="9" onload="window.harmed = 1" onclick="window.harmed = 1"/>',
        '<image href="x" onerror="window.harmed = 1"/>',
        '<foreignObject width="9" height="9"><iframe xmlns="http://www.w3.org/1999/xhtml" '
        'srcdoc="&lt;script&gt;top.harmed=1&lt;/script&gt;"/></foreignObject>',
        '<a href="javascript:window.harmed=1"><path d="M2 20H20" stroke="#000"/></a>',
        '<style>path{fill:url("javascript:window.harmed=1")}</style>',
        '<path id="&quot;&gt;&lt;img src=x onerror=window.harmed=1&gt;" class="&lt;b&gt;" '
        'd="M2 20H20" stroke="#000" stroke-width="1"/>',
    ],
)
def test_nothing_in_a_drawing_runs(page: Any, server: Server, tmp_path: Path, evil: str) -> None:
    file = tmp_path / '"><img src=x onerror=window.harmed=1>.svg'.replace("/", "")
    file.write_text(f"<svg {SIZE}>{LINES}{evil}</svg>")
    page.goto(server.address)
    page.set_input_files("#up-drawing", file)
    page.wait_for_function(
        "document.querySelector('svg.drawing') || "
        "/^(?!sending)./.test(document.getElementById('said-drawing')?.textContent || '')"
    )
    if page.locator("svg.drawing").count():
        page.locator("[data-member]").first.dispatch_event("click")
        page.wait_for_selector("#member-made")
        address = page.url.rsplit("/", 1)[0]
        page.goto(f"{address}/glass")
        page.wait_for_selector("svg.window")
        page.locator("[data-pane]").first.dispatch_event("click")
        page.wait_for_selector("[data-pane][aria-selected=true]")
    assert page.evaluate("window.harmed") is None
    assert (
        page.locator(
            "svg script, svg foreignObject, svg image:not([href^='/surface/']), svg a"
        ).count()
        == 0
    )


def test_external_references_are_not_fetched(server: Server) -> None:
    from http.server import BaseHTTPRequestHandler, HTTPServer
    from threading import Thread

    asked: list[str] = []

    class Listener(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_error(404)

    listener = HTTPServer(("127.0.0.1", 0), Listener)
    Thread(target=listener.serve_forever, daemon=True).start()
    here = f"http://127.0.0.1:{listener.server_port}"
    drawing = (
        f'<!DOCTYPE svg [<!ENTITY x SYSTEM "{here}/entity">]><svg {SIZE} '
        f'xmlns:xlink="http://www.w3.org/1999/xlink"><style>@import url({here}/css)</style>'
        f'<image xlink:href="{here}/image" width="9" height="9"/><use href="{here}/use#a"/>'
        f"{LINES}</svg>"
    )
    try:
        status, told = post(server, "/up/drawing", drawing.encode())
        if status == 200:
            assert get(server, told["go"])[0] == 200
        plain = drawing[drawing.index("<svg") :]
        post(server, "/up/drawing", plain.encode())
    finally:
        listener.shutdown()
        listener.server_close()
    assert asked == []


def test_an_entity_bomb_is_refused(server: Server) -> None:
    steps = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 10))
    bomb = f'<!DOCTYPE svg [<!ENTITY a0 "ha">{steps}]><svg {SIZE}><text>&a9;</text></svg>'
    status, told = post(server, "/up/drawing", bomb.encode())
    assert status == 400
    assert told["fault"]
    assert answers(server) < LIMIT_S


@pytest.mark.parametrize(
    ("data", "name"),
    [
        (b"MZ\x90\0 not a drawing", "x.svg"),
        (b"%PDF-1.7", "x.pdf"),
        (b"", "x.svg"),
        (b"\x89PNG\r\n\x1a\n cut off", "x.png"),
        (b"<html><body>hello</body></html>", "x.html"),
    ],
)
def test_what_is_no_drawing_is_refused(server: Server, data: bytes, name: str) -> None:
    before = {p.name for p in (server.home / "projects").glob("*")}
    status, told = post(server, "/up/drawing", data, name=name)
    assert status == 400
    assert told["fault"]
    assert {p.name for p in (server.home / "projects").glob("*")} == before


def test_half_a_gigabyte_is_refused_at_once(server: Server) -> None:
    link = http.client.HTTPConnection(urllib.parse.urlsplit(server.address).netloc, timeout=20)
    started = time.monotonic()
    link.putrequest("POST", "/up/drawing")
    link.putheader("Origin", server.address.rstrip("/"))
    link.putheader("Content-Length", str(500 * 1024 * 1024))
    link.endheaders()
    assert link.getresponse().status == 413
    link.close()
    assert time.monotonic() - started < LIMIT_S
    assert answers(server) < LIMIT_S


def test_half_a_gigabyte_without_a_length_is_cut_off(server: Server) -> None:
    piece = bytes(1024 * 1024)
    sent = 0

    def pieces() -> Any:
        nonlocal sent
        for _ in range(500):
            sent += len(piece)
            yield piece

    try:
        status, _ = post(server, "/up/drawing", pieces())
    except (ConnectionError, http.client.HTTPException):
        status = 0
    assert status != 200
    assert answers(server) < LIMIT_S
    assert not list((server.home / "projects").glob("*/drawings/*/*.huge"))


def test_imports_that_lead_out_or_burst_are_refused(server: Server) -> None:
    for files in (
        {"../../evil.svg": b"x"},
        {"drawings/../../../evil": b"x"},
        {"drawings/a/big": bytes(200 * 1024 * 1024)},
    ):
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, data in files.items():
                archive.writestr(name, data)
        status, told = post(server, "/up/project", out.getvalue(), name="evil.zip")
        assert status == 400
        assert "leads out" in told["fault"] or "unpacks to more" in told["fault"]
    assert not list(server.home.parent.rglob("evil*"))
    assert answers(server) < LIMIT_S


@pytest.mark.parametrize(
    "path",
    [
        "/pack/{id}/../bench.json",
        "/pack/{id}/..%2fbench.json",
        "/pack/{id}/%2e%2e/%2e%2e/%2e%2e/etc/passwd",
        "/pack/..%2f..%2f/x",
        "/file/{id}/..%2f..%2fbench.json",
        "/file/..%2f..%2fetc/passwd",
        "/bench-static/../app.py",
        "/bench-static/%2e%2e/app.py",
        "/bench-static/..%2f..%2f..%2fpyproject.toml",
        "/sample/..%2f..%2fpyproject.svg",
        "/surface/..%2f..%2fpyproject.png",
        "/surface/velvet.png",
    ],
)
def test_no_file_outside_is_reached(server: Server, path: str) -> None:
    _, told = post(server, "/up/drawing", f"<svg {SIZE}>{LINES}</svg>".encode())
    project = told["go"].split("/")[2]
    status, body = get(server, path.replace("{id}", project))
    assert status in (400, 403, 404), body[:200]
    assert b"root:" not in body
    assert b"revision" not in body


@pytest.mark.parametrize(
    ("headers", "expected"),
    [
        ({"Host": "evil.example"}, 421),
        ({"Host": "evil.example:80"}, 421),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}, 403),
    ],
)
def test_forged_hosts_and_origins_are_refused(
    server: Server, headers: dict[str, str], expected: int
) -> None:
    assert get(server, "/", **headers)[0] == expected
    assert get(server, "/_nicegui_ws/socket.io/?EIO=4&transport=polling", **headers)[0] == expected
    if "Origin" in headers:
        assert post(server, "/up/drawing", b"x", **headers)[0] == expected


@needs_browser
def test_a_strange_page_in_the_same_browser_does_nothing(
    browser: Any, server: Server, tmp_path: Path
) -> None:
    """A page of another origin posts, opens a websocket, frames ours, and reads a picture."""
    before = {p.name for p in (server.home / "projects").glob("*")}
    address = server.address.rstrip("/")
    path = "/_nicegui_ws/socket.io/?EIO=4&transport=websocket"
    socket = address.replace("http", "ws") + path
    strange = tmp_path / "strange.html"
    strange.write_text(
        f"""<iframe src="{address}/"></iframe><img id="i" src="{address}/sample/kelp-rose.svg">
        <script>
        window.told = {{}};
        fetch("{address}/up/drawing", {{method: "POST", body: "<svg/>", mode: "no-cors"}})
          .then(() => told.post = "sent", () => told.post = "refused");
        fetch("{address}/").then(() => told.read = "read", () => told.read = "refused");
        const s = new WebSocket("{socket}");
        s.onopen = () => told.socket = "open"; s.onerror = () => told.socket ||= "refused";
        </script>"""
    )
    tab = browser.new_page()
    tab.goto(strange.as_uri())
    tab.wait_for_function("told.post && told.read && told.socket")
    tab.wait_for_function("document.getElementById('i').complete")
    told = tab.evaluate("told")
    assert told["read"] == "refused"
    assert told["socket"] == "refused"
    assert tab.evaluate("document.getElementById('i').naturalWidth") == 0
    tab.close()
    assert {p.name for p in (server.home / "projects").glob("*")} == before


def test_fifty_composes_at_once_are_queued_or_refused_and_the_page_answers(
    tmp_path: Path, root: Path
) -> None:
    """Fifty drawings looked over and fifty packs asked for, each in a project of its own."""
    drawing = (root / "sample_designs" / "kelp-rose.svg").read_bytes()
    with serving(tmp_path / "home") as server:
        with concurrent.futures.ThreadPoolExecutor(50) as pool:
            sent = [pool.submit(post, server, "/up/drawing", drawing) for _ in range(50)]
            slowest = 0.0
            while not all(one.done() for one in sent):
                slowest = max(slowest, answers(server))
            made = [one.result() for one in sent]
            queued = [told["go"].split("/")[2] for status, told in made if status == 200]
            assert queued
            assert all("waiting" in told["fault"] for status, told in made if status != 200)
            packs = [pool.submit(post, server, f"/up/{i}/pack", b"go") for i in queued[:50]]
            packs += [pool.submit(post, server, f"/up/{queued[0]}/pack", b"go") for _ in range(25)]
            for one in packs:
                assert one.result()[0] in (202, 409)
            end = time.monotonic() + 4.0
            while time.monotonic() < end:
                slowest = max(slowest, answers(server))
                time.sleep(0.2)
        assert slowest < LIMIT_S


@needs_browser
def test_beyond_loopback_a_token_opens_the_page(browser: Any, tmp_path: Path) -> None:
    with serving(tmp_path / "home", "--host", "0.0.0.0") as server:
        address = server.address.replace("0.0.0.0", "127.0.0.1")
        bare = address.split("?")[0]
        tab = browser.new_page()
        assert tab.goto(bare).status == 401
        assert tab.goto(bare + "?token=guess").status == 401
        tab.goto(address)
        assert "token" not in tab.url
        tab.click("[data-sample=pilot-station]")
        tab.wait_for_selector("svg.drawing")
        tab.close()


@needs_browser
def test_a_drawing_that_takes_too_long_does_not_freeze_the_page(page: Any, server: Server) -> None:
    """A hundred thousand crossing lines are worked on while another project is used."""
    lines = "".join(
        f'<path d="M0 {i % 400 / 10}L40 {(i * 7) % 400 / 10}" stroke="#000" stroke-width=".05"/>'
        for i in range(100_000)
    )
    drawing = f"<svg {SIZE}>{lines}</svg>".encode()
    with concurrent.futures.ThreadPoolExecutor(1) as pool:
        sent = pool.submit(post, server, "/up/drawing", drawing)
        seconds = [answers(server)]
        started = time.monotonic()
        begin_small(page, server)
        assert time.monotonic() - started < 40
        while not sent.done():
            seconds.append(answers(server))
            time.sleep(0.2)
    assert max(seconds) < LIMIT_S
