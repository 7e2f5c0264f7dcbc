"""Who is let in: the origin of a page is scheme, name and port together (RFC 6454, section 4)."""

import asyncio
from collections.abc import MutableMapping
from typing import Any

import pytest

from drainsim.dashboard.guard import Guard

_Message = MutableMapping[str, Any]
OURS = ("http://localhost:8501", "http://127.0.0.1:8501", "https://stand.example.org")


def asked(kind: str, headers: list[tuple[bytes, bytes]]) -> list[_Message]:
    """Return what a request gets; an application behind the guard accepts everything."""
    sent: list[_Message] = []

    async def application(scope: _Message, receive: Any, send: Any) -> None:
        await send({"type": f"{kind}.accept", "headers": [], "status": 200})

    async def receive() -> _Message:
        return {"type": f"{kind}.connect"}

    async def send(message: _Message) -> None:
        sent.append(message)

    hosts = ("localhost", "127.0.0.1", "stand.example.org")
    guard = Guard(application, hosts=hosts, origins=OURS, shell="<html></html>")
    asyncio.run(guard({"type": kind, "headers": headers}, receive, send))
    return sent


def socket_opens(*origins: bytes, host: bytes = b"localhost:8501") -> bool:
    """Say whether a web socket with these Origin headers is let through."""
    headers = [(b"host", host), *((b"origin", origin) for origin in origins)]
    return [message["type"] for message in asked("websocket", headers)] == ["websocket.accept"]


@pytest.mark.parametrize("origin", OURS)
def test_our_own_pages_and_programs_are_let_in(origin: str) -> None:
    """A page of ours names its origin; a program names none."""
    assert socket_opens(origin.encode())
    assert socket_opens(origin.upper().encode())
    assert socket_opens()


@pytest.mark.parametrize(
    "origin",
    [
        b"",
        b"null",
        b"http://localhost",
        b"http://localhost:3000",
        b"https://localhost:8501",
        b"file://localhost:8501",
        b"http://127.0.0.1:80",
        b"http://stand.example.org",
        b"http://stand.example.org:8501",
        b"https://stand.example.org:444",
        b"http://localhost:8501.example.org",
        b"http://user@localhost:8501",
        b"\xff",
    ],
)
def test_every_other_origin_is_refused_before_anything_is_opened(origin: bytes) -> None:
    """Empty, another port of this machine, another scheme: none of our pages sends it."""
    assert not socket_opens(origin)


def test_two_origins_are_none() -> None:
    """Whichever a later program would read, one of them was not checked."""
    assert not socket_opens(OURS[0].encode(), OURS[0].encode())


def test_a_foreign_host_gets_no_page() -> None:
    """A name that points here but is not ours (DNS rebinding) is answered with 421."""
    assert not socket_opens(host=b"evil.example.org:8501")
    assert asked("http", [(b"host", b"evil.example.org")])[0]["status"] == 421
