"""Who may talk to the page. Attacks as plain ASGI requests; browsers try the same in test_attacks.

DNS rebinding and cross-site posts as OWASP describes them (common practice, not re-read).
"""

from __future__ import annotations

from typing import Any

import pytest

from glasswork.web.guard import COOKIE, MOST_BODY, Guard, is_loopback
from tests.web.browser import in_loop

PORT = 8340


async def _inner(scope: Any, receive: Any, send: Any) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.accept"})
        return
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            return
        if not message.get("more_body"):
            break
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"ok"})


def ask(
    headers: dict[str, str],
    *,
    method: str = "GET",
    kind: str = "http",
    token: str | None = None,
    query: str = "",
    bodies: list[bytes] | None = None,
    path: str = "/",
) -> list[dict[str, Any]]:
    sent: list[dict[str, Any]] = []
    waiting = list(bodies or [b""])

    async def receive() -> dict[str, Any]:
        body = waiting.pop(0)
        return {"type": "http.request", "body": body, "more_body": bool(waiting)}

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {
        "type": kind,
        "method": method,
        "path": path,
        "query_string": query.encode(),
        "headers": [(k.lower().encode(), v.encode()) for k, v in headers.items()],
    }
    in_loop(Guard(_inner, port=PORT, token=token)(scope, receive, send))
    return sent


def status(*args: Any, **more: Any) -> int:
    first = ask(*args, **more)[0]
    return 101 if first["type"] == "websocket.accept" else int(first.get("status", 0))


OURS = {"Host": f"127.0.0.1:{PORT}", "Origin": f"http://127.0.0.1:{PORT}"}


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "[::1]"])
def test_our_own_addresses_are_answered(host: str) -> None:
    assert status({"Host": f"{host}:{PORT}"}) == 200


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        f"evil.example:{PORT}",
        "127.0.0.1",
        "127.0.0.1:80",
        f"127.0.0.1.evil.example:{PORT}",
        f"localhost.evil.example:{PORT}",
        f"127.0.0.1@evil.example:{PORT}",
        f"192.168.1.7:{PORT}",
        f"127.0.0.1:{PORT}/x",
        "",
        "[::1",
    ],
)
def test_a_strange_host_is_refused(host: str) -> None:
    assert status({"Host": host}) == 421


def test_no_host_is_refused() -> None:
    assert status({}) == 421


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        f"http://127.0.0.1:{PORT + 1}",
        f"http://localhost:{PORT}",
        "http://127.0.0.1",
        f"file://127.0.0.1:{PORT}",
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST", "DELETE"])
def test_another_origin_is_refused(origin: str, method: str) -> None:
    assert status({**OURS, "Origin": origin}, method=method) == 403


def test_a_change_must_say_where_it_comes_from() -> None:
    assert status({"Host": OURS["Host"]}, method="POST") == 403
    assert status(OURS, method="POST") == 200


def test_websockets_from_elsewhere_are_closed() -> None:
    assert status(OURS, kind="websocket") == 101
    for headers in ({"Host": OURS["Host"]}, {**OURS, "Origin": "http://evil.example"}):
        assert ask(headers, kind="websocket")[0] == {
            "type": "websocket.close",
            "code": 1008,
            "reason": ask(headers, kind="websocket")[0]["reason"],
        }


def test_a_picture_or_frame_on_another_site_is_refused_a_link_is_not() -> None:
    strange = {"Host": OURS["Host"], "Sec-Fetch-Site": "cross-site"}
    assert status({**strange, "Sec-Fetch-Mode": "no-cors", "Sec-Fetch-Dest": "image"}) == 403
    assert status({**strange, "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "iframe"}) == 403
    assert status({**strange, "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}) == 200


def test_a_body_that_is_too_long_is_refused_by_its_length() -> None:
    assert status({**OURS, "Content-Length": str(500 * 1024 * 1024)}, method="POST") == 413
    assert status({**OURS, "Content-Length": "-1"}, method="POST") == 413


def test_a_body_that_does_not_tell_its_length_is_cut_off() -> None:
    bodies = [bytes(8 * 1024 * 1024)] * (MOST_BODY // (8 * 1024 * 1024) + 2)
    assert ask({**OURS, "Transfer-Encoding": "chunked"}, method="POST", bodies=bodies) == []


def test_answers_carry_the_headers_that_keep_a_page_to_itself() -> None:
    headers = dict(ask({"Host": OURS["Host"]})[0]["headers"])
    assert b"frame-ancestors 'none'" in headers[b"content-security-policy"]
    assert b"object-src 'none'" in headers[b"content-security-policy"]
    assert headers[b"x-content-type-options"] == b"nosniff"


def test_beyond_loopback_a_token_is_asked_for() -> None:
    lan = {"Host": f"192.168.1.7:{PORT}"}
    assert status(lan, token="secret") == 401
    assert status(lan, token="secret", query="token=wrong") == 401
    assert status({**lan, "Cookie": f"{COOKIE}=wrong"}, token="secret") == 401
    assert status({**lan, "Cookie": f"{COOKIE}=secret"}, token="secret") == 200
    answer = ask(lan, token="secret", query="token=secret&a=b", path="//evil.example/x")[0]
    headers = dict(answer["headers"])
    assert answer["status"] == 303
    assert headers[b"location"] == b"/evil.example/x?a=b"
    assert b"HttpOnly" in headers[b"set-cookie"]
    assert b"SameSite=Strict" in headers[b"set-cookie"]


def test_a_token_does_not_open_the_door_to_strange_hosts() -> None:
    cookie = {"Cookie": f"{COOKIE}=secret"}
    assert status({"Host": f"evil.example:{PORT}", **cookie}, token="secret") == 421
    strange = {"Host": f"192.168.1.7:{PORT}", "Origin": "http://evil.example", **cookie}
    assert status(strange, token="secret", method="POST") == 403


@pytest.mark.parametrize(
    ("host", "yes"),
    [("127.0.0.1", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("evil", False)],
)
def test_loopback_is_told(host: str, yes: bool) -> None:
    assert is_loopback(host) is yes
