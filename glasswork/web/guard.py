"""Who may talk to the page: checked before anything else sees the request.

Three attacks are met here. A name that a stranger's server points at 127.0.0.1 is refused by its
Host. A stranger's page that posts to ours is refused by its Origin. Beyond loopback a token is
asked for, once, and kept in a cookie that no script can read.
"""

from __future__ import annotations

import hmac
import ipaddress
import socket
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any, Final
from urllib.parse import parse_qs, urlencode, urlsplit

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE: Final = "glasswork-token"
MOST_BODY: Final = 64 * 1024 * 1024
_SAFE: Final = ("GET", "HEAD")

_CSP: Final = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; "
    "style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; font-src 'self' data:; "
    "connect-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-src 'none'; frame-ancestors 'none'"
)
HEADERS: Final = (
    (b"content-security-policy", _CSP.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)


def is_loopback(host: str) -> bool:
    """Whether an address to bind to is reached from this machine alone."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


class Guard:
    """Wraps an ASGI application.

    token : None on loopback; beyond it, what a visitor must bring
    """

    def __init__(self, app: App, *, port: int, token: str | None = None) -> None:
        self.app = app
        self.port = port
        self.token = token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = {
            key.decode("latin-1").lower(): value.decode("latin-1")
            for key, value in scope["headers"]
        }
        refusal = self.refusal(scope, headers)
        if refusal is not None:
            await _answer(scope, send, *refusal)
            return
        if self.token is not None and not self._known(headers):
            await self._ask(scope, send)
            return
        if scope["type"] == "websocket":
            await self.app(scope, receive, send)
            return
        await self.app(scope, _limited(receive), _with_headers(send))

    def refusal(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        """Status and reason, or None where the request may pass."""
        host = headers.get("host", "")
        if sum(key.lower() == b"host" for key, _ in scope["headers"]) != 1 or not self._ours(host):
            return 421, "this page answers to its own address only"
        origin = headers.get("origin")
        if origin is not None and not _same(origin, host):
            return 403, "the request comes from another site"
        changes = scope["type"] == "websocket" or scope["method"] not in _SAFE
        if changes and origin is None:
            return 403, "the request does not say where it comes from"
        site = headers.get("sec-fetch-site", "none")
        if site not in ("same-origin", "none"):
            top = headers.get("sec-fetch-mode") == "navigate" and not changes
            if not top or headers.get("sec-fetch-dest") not in (None, "document"):
                return 403, "the request comes from another site"
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > MOST_BODY:
            return 413, f"over the limit of {MOST_BODY // 1024 // 1024} MiB"
        return None

    def _ours(self, host: str) -> bool:
        try:
            parts = urlsplit(f"http://{host}")
            name, port = parts.hostname or "", parts.port or 80
        except ValueError:
            return False
        if port != self.port or "@" in host or "/" in host:
            return False
        if self.token is None:
            return is_loopback(name)
        try:
            ipaddress.ip_address(name)
        except ValueError:
            own = socket.gethostname().lower()
            return name in ("localhost", own, f"{own}.local")
        return True

    def _known(self, headers: dict[str, str]) -> bool:
        try:
            cookies = SimpleCookie(headers.get("cookie", ""))
        except CookieError:
            return False
        given = cookies[COOKIE].value if COOKIE in cookies else ""
        return hmac.compare_digest(given.encode(), (self.token or "").encode())

    async def _ask(self, scope: Scope, send: Send) -> None:
        """Take the token out of the address and into a cookie, or refuse."""
        query = parse_qs(scope.get("query_string", b"").decode("latin-1"))
        given = query.pop("token", [""])[0]
        right = hmac.compare_digest(given.encode(), (self.token or "").encode())
        if scope["type"] == "websocket" or scope["method"] != "GET" or not right:
            await _answer(scope, send, 401, "open the address with the token that was shown")
            return
        rest = urlencode(query, doseq=True)
        path = scope["path"] if scope["path"].startswith("/") else "/"
        target = "/" + path.lstrip("/\\") + (f"?{rest}" if rest else "")
        cookie = f"{COOKIE}={self.token}; Path=/; HttpOnly; SameSite=Strict"
        await send(
            {
                "type": "http.response.start",
                "status": 303,
                "headers": [
                    (b"location", target.encode("ascii", "ignore")),
                    (b"set-cookie", cookie.encode()),
                    *HEADERS,
                ],
            }
        )
        await send({"type": "http.response.body", "body": b""})


def _same(origin: str, host: str) -> bool:
    parts = urlsplit(origin)
    return parts.scheme in ("http", "https") and parts.netloc.lower() == host.lower()


def _limited(receive: Receive) -> Receive:
    """Bodies whose length was not told are cut off at the limit, too."""
    room = MOST_BODY

    async def counted() -> Message:
        nonlocal room
        message = await receive()
        room -= len(message.get("body", b""))
        if room < 0:
            return {"type": "http.disconnect"}
        return message

    return counted


def _with_headers(send: Send) -> Send:
    async def added(message: Message) -> None:
        if message["type"] == "http.response.start":
            present = {key.lower() for key, _ in message.get("headers", ())}
            extra = [pair for pair in HEADERS if pair[0] not in present]
            message = {**message, "headers": [*message.get("headers", ()), *extra]}
        await send(message)

    return added


async def _answer(scope: Scope, send: Send, status: int, reason: str) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008, "reason": reason})
        return
    body = f"{reason}\n".encode()
    await send(
        {
            "type": "http.response.start",
            "status": status,
            "headers": [
                (b"content-type", b"text/plain; charset=utf-8"),
                (b"content-length", str(len(body)).encode()),
                (b"connection", b"close"),
                *HEADERS,
            ],
        }
    )
    await send({"type": "http.response.body", "body": body})
