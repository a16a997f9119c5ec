"""A bench page in a process of its own, and a real browser before it.

The browser is Debian's Chromium, driven by Playwright for Python; tests are passed over where
either is missing.
"""

from __future__ import annotations

import asyncio
import concurrent.futures
import http.client
import io
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import urllib.parse
import zipfile
from collections.abc import Coroutine, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from glasswork.web.sessions import of_sample
from glasswork.web.store import Store

ROOT = Path(__file__).parents[2]
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SHOTS = os.environ.get("GLASSWORK_SHOTS")
"""Folder for pictures of every view; they are kept where it is set."""

SIGNS = {
    "drawing": "svg.drawing",
    "glass": "svg.window",
    "printer": "#set-printer",
    "frame": "svg.exploded",
    "pack": "#make",
}
"""What is there once a step is shown."""

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine")


@dataclass
class Server:
    """`glasswork serve` on a free port."""

    home: Path
    options: tuple[str, ...] = ()
    process: subprocess.Popen[str] | None = None
    address: str = ""
    log: list[str] = field(default_factory=list)

    def start(self) -> Server:
        port = re.search(r":(\d+)/", self.address)
        self.process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "glasswork",
                "serve",
                "--no-browser",
                "--port",
                port.group(1) if port else "0",
                *self.options,
            ],
            stdout=subprocess.PIPE,
            text=True,
            start_new_session=True,
            env={
                **os.environ,
                "PYTHONPATH": str(ROOT),
                "GLASSWORK_HOME": str(self.home),
                "PYTHONUNBUFFERED": "1",
                "SOURCE_DATE_EPOCH": "1700000000",
            },
        )
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, line
        self.address = found.group(0)
        self.wait()
        return self

    def wait(self) -> None:
        """Until it answers."""
        import urllib.error
        import urllib.request

        end = time.monotonic() + 60
        while time.monotonic() < end:
            try:
                urllib.request.urlopen(self.address, timeout=5).read()
                return
            except urllib.error.HTTPError:
                return
            except OSError:
                time.sleep(0.1)
        raise AssertionError("the page does not answer")

    def clear(self) -> None:
        """Take the projects of earlier tests off its disk, and so off the start page."""
        for folder in (self.home / "projects").glob("*"):
            shutil.rmtree(folder)

    def workers(self) -> list[int]:
        """Ids of its worker processes."""
        assert self.process is not None
        found = []
        for entry in Path("/proc").glob("[0-9]*/stat"):
            with suppress(OSError):  # it ended meanwhile
                facts = entry.read_text().rpartition(")")[2].split()
                if int(facts[1]) == self.process.pid:
                    found.append(int(entry.parent.name))
        return found

    @contextmanager
    def held(self) -> Iterator[None]:
        """Its workers stand still: what they are at cannot be done before this ends."""
        self.signal_workers(signal.SIGSTOP)
        try:
            yield
        finally:
            self.signal_workers(signal.SIGCONT)

    def signal_workers(self, number: signal.Signals) -> None:
        """Hold the workers still, or let them go on."""
        for worker in self.workers():
            with suppress(ProcessLookupError):
                os.kill(worker, number)

    def kill(self) -> None:
        """End it and its workers as a power cut would."""
        assert self.process is not None
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        assert self.process.stdout is not None
        self.process.stdout.close()


@contextmanager
def serving(home: Path, *options: str) -> Iterator[Server]:
    """A server for as long as the context lasts."""
    server = Server(home, options).start()
    try:
        yield server
    finally:
        server.kill()


@contextmanager
def browsing(**settings: Any) -> Iterator[Any]:
    """A browser context with nothing from earlier runs."""
    sync_api = pytest.importorskip("playwright.sync_api")
    with tempfile.TemporaryDirectory() as profile, sync_api.sync_playwright() as driver:
        context = driver.chromium.launch_persistent_context(
            profile,
            executable_path=CHROMIUM,
            args=ARGUMENTS,
            accept_downloads=True,
            **{"viewport": {"width": 1440, "height": 1000}, **settings},
        )
        context.set_default_timeout(60_000)
        try:
            yield context
        finally:
            context.close()


def shot(page: Any, name: str, *, whole: bool = True) -> None:
    """Keep a picture of the page, where pictures are kept."""
    if SHOTS:
        Path(SHOTS).mkdir(parents=True, exist_ok=True)
        page.add_style_tag(
            content="#status, .steady, .draw > section { position: static !important }"
        )
        page.evaluate(
            "async () => { await document.fonts.ready; const all = [...document.images];"
            "all.forEach(i => { i.loading = 'eager'; });"
            "await Promise.all(all.map(i => i.decode().catch(() => {}))); }"
        )
        page.wait_for_function(  # the glow on the wall is drawn
            "!document.getElementById('halo') || document.getElementById('halo').width < 60"
        )
        page.screenshot(path=str(Path(SHOTS) / f"{name}.png"), full_page=whole)


def begin(
    page: Any, server: Server, sample: str = "pilot-station", *, step: str = "drawing"
) -> str:
    """Open a new project of a sample at a step; the address of its steps.

    It is laid into the server's folder as the start page does it; that page itself is tested in
    test_jobs_end_to_end.py and test_access.py.
    """
    store = Store(server.home / "projects")
    record = of_sample(store, ROOT / "sample_designs" / f"{sample}.toml")
    address = f"{server.address}bench/{record.id}"
    page.goto(f"{address}/{step}")
    page.wait_for_selector(SIGNS[step])
    return address


SMALL = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
    b'<g fill="none" stroke="#000"><path class="border" d="M4 4H56V76H4Z" stroke-width="8"/>'
    b'<path class="mullion" d="M30 4V76" stroke-width="5"/>'
    b'<path class="bar" d="M4 40H56" stroke-width="3"/>'
    b'<path d="M4 20H56M4 60H56" stroke-width="1"/></g></svg>'
)
"""Eight panes, a mullion and a bar: worked out in a fraction of a sample's time (invented)."""


def begin_small(page: Any, server: Server, *, step: str = "drawing") -> str:
    """Open a new project of the small drawing at a step; the address of its steps."""
    store = Store(server.home / "projects")
    record = store.create("Small window", "small-window.svg", SMALL, project=None)
    address = f"{server.address}bench/{record.id}"
    page.goto(f"{address}/{step}")
    page.wait_for_selector(SIGNS[step])
    return address


def fill_of(page: Any, pane: str) -> str:
    """The colour a pane is shown in."""
    return str(page.get_attribute(f"#p-{pane}", "fill"))


def fill_after(page: Any, pane: str, before: str) -> str:
    """The colour a pane is shown in once it is another than before."""
    page.wait_for_function(
        "([p, c]) => { const f = document.getElementById('p-' + p)?.getAttribute('fill');"
        " return f && f != c; }",
        arg=[pane, before],
    )
    return fill_of(page, pane)


def panes_of(page: Any) -> list[str]:
    """Ids of all panes that are shown."""
    return [
        str(i) for i in page.eval_on_selector_all("[data-pane]", "e => e.map(x => x.dataset.pane)")
    ]


def begin_to_make(page: Any, server: Server) -> None:
    """Begin to make the pack while the workers are held, one that is hired for it too."""
    page.get_by_role("button", name="Make").click()
    page.wait_for_selector("progress")
    server.signal_workers(signal.SIGSTOP)


def save_zip(page: Any, address: str) -> zipfile.ZipFile:
    """Make the pack and save it."""
    if page.url != f"{address}/pack":
        page.goto(f"{address}/pack")
    page.get_by_role("button", name="Make").click()
    with page.expect_download() as waiting:
        page.click("#save-zip")
    return zipfile.ZipFile(io.BytesIO(Path(waiting.value.path()).read_bytes()))


def post(
    server: Server, path: str, body: Any, *, name: str = "x.svg", **headers: str
) -> tuple[int, dict[str, Any]]:
    parts = urllib.parse.urlsplit(server.address)
    ours = {"Origin": f"http://{parts.netloc}", "X-Name": urllib.parse.quote(name), **headers}
    link = http.client.HTTPConnection(parts.netloc, timeout=60)
    try:
        link.request("POST", path, body=body, headers=ours)
        answer = link.getresponse()
        data = answer.read()
    finally:
        link.close()
    try:
        return answer.status, json.loads(data)
    except ValueError:
        return answer.status, {"fault": data.decode("utf-8", "replace")}


def in_loop(work: Coroutine[Any, Any, Any]) -> Any:
    """Run it in a thread of its own: the browser of the other tests has a loop on this one."""
    with concurrent.futures.ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, work).result()


def get(server: Server, path: str, **headers: str) -> tuple[int, bytes]:
    link = http.client.HTTPConnection(urllib.parse.urlsplit(server.address).netloc, timeout=60)
    try:
        link.putrequest("GET", path, skip_host="Host" in headers)
        for key, value in headers.items():
            link.putheader(key, value)
        link.endheaders()
        answer = link.getresponse()
        return answer.status, answer.read()
    finally:
        link.close()
