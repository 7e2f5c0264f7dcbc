"""What the server refuses before the pages see it, and what it tells the browser to refuse.

Streamlit checks Host and Origin of its web socket itself, but shows its empty shell to any Host
and, for an Origin it does not know, asks an outside address for this machine's own: both end here.
"""

import base64
import hashlib
import re
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, Final
from urllib.parse import urlsplit

from drainsim.dashboard.visit import COOKIE, new_token, token_in
from drainsim.dashboard.visitor_quota import SESSION_MB, Uploads, uploading_session

_Scope = MutableMapping[str, Any]
_Message = MutableMapping[str, Any]
_Receive = Callable[[], Awaitable[_Message]]
_Send = Callable[[_Message], Awaitable[None]]
_App = Callable[[_Scope, _Receive, _Send], Awaitable[None]]

# Everything from this server and nowhere else. Styles are written by the pages' own code at run
# time; pictures, files to save and the sheet's preview are made in the page (data:, blob:).
_RULES: Final = (
    "default-src 'none'",
    "style-src 'self' 'unsafe-inline'",
    "img-src 'self' data: blob:",
    "font-src 'self' data:",
    "connect-src 'self'",
    "media-src 'self' data: blob:",
    "worker-src 'self' blob:",
    "frame-src 'self' data: blob:",
    "manifest-src 'self'",
    "base-uri 'self'",
    "form-action 'self'",
    "frame-ancestors 'none'",
    "object-src 'none'",
)
_INLINE: Final = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_TOO_MUCH: Final = (
    f"At most {SESSION_MB} MB of files are held for one visitor; remove one of yours first.\n"
).encode()
_REFUSED: Final = b"This address is not served here. Open the one the command printed.\n"


def policy(shell: str) -> str:
    """Return the content security policy for the page a browser is first given.

    A script written into that page is allowed by its digest, and no other.
    """
    digests = [
        base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
        for script in _INLINE.findall(shell)
    ]
    scripts = " ".join(
        ["script-src 'self' 'wasm-unsafe-eval'", *(f"'sha256-{d}'" for d in digests)]
    )
    return "; ".join((*_RULES, scripts))


class Guard:
    """ASGI middleware: known names only, and a policy on every reply."""

    def __init__(
        self,
        app: _App,
        *,
        hosts: tuple[str, ...],
        origins: tuple[str, ...],
        shell: str,
        uploads: Uploads,
    ) -> None:
        self._app = app
        self._uploads = uploads
        self._hosts = hosts
        self._origins = origins
        self._headers = (
            (b"content-security-policy", policy(shell).encode()),
            (b"x-content-type-options", b"nosniff"),
            (b"referrer-policy", b"no-referrer"),  # the address holds what the visitor entered
        )

    async def __call__(self, scope: _Scope, receive: _Receive, send: _Send) -> None:
        """Refuse a foreign Host, and on a web socket a foreign Origin; else pass it on."""
        kind = scope["type"]
        if kind == "websocket" and not (self._known(scope, b"host") and self._own_origin(scope)):
            await receive()
            await send({"type": "websocket.close", "code": 1008})  # before accepting: 403
        elif kind == "http" and not self._known(scope, b"host"):
            await self._refuse(send, 421, _REFUSED)
        elif kind == "http":
            headers = (*self._headers, *_cookie(scope))
            await self._pass_on(scope, receive, _with_headers(send, headers))
        else:
            await self._app(scope, receive, send)

    async def _pass_on(self, scope: _Scope, receive: _Receive, send: _Send) -> None:
        """Pass a request on; an upload only if its session has room for it."""
        session = uploading_session(scope["method"], scope["path"])
        if session is None:
            await self._app(scope, receive, send)
            return
        length = _header(scope, b"content-length")
        if not (length.isascii() and length.isdigit() and len(length) < 16):
            await self._refuse(send, 411, b"Say how long the file is.\n")
        elif not self._uploads.admit(session, int(length)):
            await self._refuse(send, 413, _TOO_MUCH)
        else:
            try:
                await self._app(scope, receive, send)
            finally:
                self._uploads.arrived(session, int(length))

    async def _refuse(self, send: _Send, status: int, words: bytes) -> None:
        headers = [(b"content-type", b"text/plain; charset=utf-8"), *self._headers]
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": words})

    def _known(self, scope: _Scope, header: bytes) -> bool:
        return host_name(_header(scope, header)) in self._hosts

    def _own_origin(self, scope: _Scope) -> bool:
        """Allow a program without an Origin; a browser always sends one, which must be ours.

        An empty one, two of them, another port of this machine or another scheme are not.
        """
        sent = [value for key, value in scope["headers"] if key == b"origin"]
        return not sent or (len(sent) == 1 and sent[0].decode("latin-1").lower() in self._origins)


def _cookie(scope: _Scope) -> tuple[tuple[bytes, bytes], ...]:
    """Return the cookie that names a visit, with a page's first reply: see `visit`."""
    page = b"text/html" in dict(scope["headers"]).get(b"accept", b"")
    if not page or token_in(_header(scope, b"cookie")):
        return ()
    secure = "; Secure" if scope["scheme"] == "https" else ""
    value = f"{COOKIE}={new_token()}; Path=/; HttpOnly; SameSite=Strict{secure}"
    return ((b"set-cookie", value.encode()),)


def host_name(host: str) -> str:
    """Return the name in a Host header, without port, in lower case.

    Examples
    --------
    >>> host_name("LOCALHOST:8501")
    'localhost'
    >>> host_name("[::1]:8501")
    '::1'
    """
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""


def _header(scope: _Scope, name: bytes) -> str:
    found = [value for key, value in scope["headers"] if key == name]
    return found[0].decode("latin-1") if len(found) == 1 else ""


def _with_headers(send: _Send, headers: tuple[tuple[bytes, bytes], ...]) -> _Send:
    ours = {name for name, _ in headers}

    async def sending(message: _Message) -> None:
        if message["type"] == "http.response.start":
            kept = [(name, value) for name, value in message["headers"] if name.lower() not in ours]
            message = {**message, "headers": [*kept, *headers]}
        await send(message)

    return sending
