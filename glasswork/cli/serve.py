"""glasswork serve: the bench page, on this machine unless told otherwise."""

from __future__ import annotations

import os
import secrets
import socket
import threading

import click

from glasswork.cli.options import Whole
from glasswork.errors import ReadError


@click.command("serve", context_settings={"show_default": True})
@click.option(
    "--host",
    default="127.0.0.1",
    metavar="ADDRESS",
    help="Address to listen on; one that other machines reach asks for a token.",
)
@click.option(
    "--port", type=Whole(0, 65535), default=8340, help="Port to listen on; 0 takes a free one."
)
@click.option("--no-browser", is_flag=True, help="Do not open a browser window.")
def command(host: str, port: int, no_browser: bool) -> None:
    """Open the bench page: the whole job, from drawing to pack, in the browser.

    Projects are kept in your data folder ($GLASSWORK_HOME/projects where that is set).
    """
    try:
        from glasswork.web.app import run
        from glasswork.web.guard import is_loopback
    except ImportError as exc:
        raise ReadError(
            "serve", f"{exc.name} is not installed", 'install it: pip install "glasswork[web]"'
        ) from exc
    chosen = _free_port(host, port)
    token = None if is_loopback(host) else secrets.token_urlsafe(18)
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{chosen}/" + (f"?token={token}" if token else "")
    click.echo(f"bench page: {address}")
    if token:
        click.echo("anyone on the network who has this address can use the page; stop with Ctrl+C")
    if not no_browser:
        import webbrowser

        threading.Timer(1.2, webbrowser.open, [address]).start()
    run(host, chosen, token=token)


def _free_port(host: str, port: int) -> int:
    """The port, or a free one for 0.

    Raises: ReadError, if the address is not this machine's or the port is taken
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as probe:
        if os.name == "posix":  # as the server does: a port let go a moment ago is free
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as exc:
            raise ReadError(
                "serve",
                f"cannot listen on {host}, port {port}: {exc.strerror or exc}".lower(),
                "choose another with --port or --host",
            ) from exc
        return int(probe.getsockname()[1])
