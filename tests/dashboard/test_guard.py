"""Who is let in: the origin of a page is scheme, name and port together (RFC 6454, section 4)."""

import asyncio
from collections.abc import MutableMapping
from typing import Any

import pytest

from drainsim.dashboard.guard import Guard
from drainsim.dashboard.visit import _Visits
from drainsim.dashboard.visitor_quota import SESSION_MB, Uploads

_Message = MutableMapping[str, Any]
OURS = ("http://localhost:8501", "http://127.0.0.1:8501", "https://stand.example.org")


def asked(kind: str, headers: list[tuple[bytes, bytes]]) -> list[_Message]:
    """Return what a request gets; an application behind the guard accepts everything."""
    sent: list[_Message] = []

    async def application(scope: _Message, receive: Any, send: Any) -> None:
        kinds = {"http": "http.response.start", "websocket": "websocket.accept"}
        await send({"type": kinds[kind], "headers": [], "status": 200})

    async def receive() -> _Message:
        return {"type": f"{kind}.connect"}

    async def send(message: _Message) -> None:
        sent.append(message)

    hosts = ("localhost", "127.0.0.1", "stand.example.org")
    guard = Guard(
        application, hosts=hosts, origins=OURS, shell="<html></html>", uploads=Uploads(lambda _: 0)
    )
    scope = {"type": kind, "headers": headers, "method": "GET", "path": "/", "scheme": "http"}
    asyncio.run(guard(scope, receive, send))
    return sent


def cookies(*headers: tuple[bytes, bytes]) -> list[bytes]:
    """Return the cookies a reply sets."""
    (reply,) = asked("http", [(b"host", b"localhost:8501"), *headers])
    return [value for name, value in reply["headers"] if name == b"set-cookie"]


def test_a_visit_gets_one_name_that_no_script_and_no_other_site_can_read() -> None:
    """With the page itself, once; a picture or a style gets none (RFC 6265, section 4.1.2)."""
    page = (b"accept", b"text/html,*/*")
    (first,), (second,) = cookies(page), cookies(page)
    assert first != second
    assert all(word in first for word in (b"HttpOnly", b"SameSite=Strict", b"Path=/"))
    assert b"Max-Age" not in first  # goes with the browser
    assert cookies((b"accept", b"image/*")) == []
    assert cookies(page, (b"cookie", first.split(b";")[0])) == []
    assert len(cookies(page, (b"cookie", b"drainsim_visit=short"))) == 1


def test_a_visit_holds_its_files_and_no_other_visit_has_them() -> None:
    """A file is found by its visit alone; the oldest of too many goes."""
    visits = _Visits()
    mine, other = visits.of("a" * 24), visits.of("b" * 24)
    mine["files"] = {"one": (b"x", "list.csv")}
    assert visits.of("a" * 24) is mine
    assert other == {}
    for number in range(250):
        visits.of(f"{number:024d}")
    assert visits.of("a" * 24) == {}


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


def uploaded(sizes: list[str | None], *, together: bool) -> list[int]:
    """Return the statuses of uploads of these lengths to one session, none removed."""
    held: dict[str, int] = {}

    async def storing(scope: _Message, receive: Any, send: Any) -> None:
        if together:  # all are on their way before the first has come
            await asyncio.sleep(0.01)
        length = dict(scope["headers"])[b"content-length"]
        held[scope["path"]] = int(length)
        await send({"type": "http.response.start", "status": 204, "headers": []})

    guard = Guard(
        storing,
        hosts=("localhost",),
        origins=OURS,
        shell="",
        uploads=Uploads(lambda session: sum(held.values()) if session == "s-1" else 0),
    )

    async def upload(number: int, size: str | None) -> int:
        statuses: list[int] = []

        async def send(message: _Message) -> None:
            statuses.extend([message["status"]] if "status" in message else [])

        headers = [(b"host", b"localhost")]
        if size is not None:
            headers.append((b"content-length", size.encode()))
        path = f"/_stcore/upload_file/s-1/file-{number}"
        scope = {"type": "http", "headers": headers, "method": "PUT", "path": path}
        await guard(scope, send, send)
        return statuses[0]

    async def every() -> list[int]:
        tasks = [upload(number, size) for number, size in enumerate(sizes)]
        if together:
            return list(await asyncio.gather(*tasks))
        return [await task for task in tasks]

    return asyncio.run(every())


@pytest.mark.parametrize("together", [False, True])
def test_a_session_holds_so_much_and_no_more(together: bool) -> None:
    """Twelve files of 49 MB, one after the other or at once: two are taken."""
    statuses = uploaded(["49000000"] * 12, together=together)
    assert statuses.count(204) == SESSION_MB // 49
    assert statuses.count(413) == 12 - SESSION_MB // 49


def test_a_file_of_unknown_length_is_refused() -> None:
    """What does not say its length could be any."""
    assert uploaded([None, "x", "-1", "9" * 40], together=False) == [411] * 4
