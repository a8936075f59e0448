"""What stands between the browser and the page: who may ask, how much, and for how long.

The page is for one person at this machine. A page of somebody else open in the same browser must
neither read it nor make it do anything.
"""

from __future__ import annotations

import asyncio

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_FILE_BYTES = 20_000_000
MOST_REQUEST_BYTES = 50_000_000
"""What one file, and all files sent together, may hold; the page says so."""
REQUEST_SECONDS = 60.0
"""How long sending a request and answering it may take; reviews run beside requests."""
_MOST_DRAINED_BYTES = 4 * MOST_REQUEST_BYTES
"""A browser shows an answer only once it has sent its files, so that much is read and dropped."""

PAGE_POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self';"
    " img-src data:;"
    " form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""Nothing but our own style sheet and script. Source: Content Security Policy Level 3."""

_HEADERS = {
    "content-security-policy": PAGE_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "cache-control": "no-store",
    # 'no-referrer' would take the Origin from our own forms as well.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}
_READING = ("GET", "HEAD")


class Guard:
    """Wraps an application: checks Host and Origin, limits size and time, sets headers.

    Parameters
    ----------
    port
        Where the page is; only 127.0.0.1 and localhost at this port are answered.
    request_seconds, most_bytes
        Limits of one request.

    A request from elsewhere gets 403, one too large 413, one too slow 408.
    """

    def __init__(
        self,
        app: ASGIApp,
        port: int,
        *,
        request_seconds: float = REQUEST_SECONDS,
        most_bytes: int = MOST_REQUEST_BYTES,
    ) -> None:
        self._app = app
        self._hosts = (f"127.0.0.1:{port}", f"localhost:{port}")
        self._origins = tuple(f"http://{host}" for host in self._hosts)
        self._request_seconds = request_seconds
        self._most_bytes = most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            # The page has no web sockets; a refused handshake is closed by the server.
            return
        reply = _Reply(send)
        refusal = self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, reply)
            return
        try:
            async with asyncio.timeout(self._request_seconds):
                await self._app(scope, self._limited(scope, receive), reply)
        except TimeoutError:
            if reply.has_begun:
                raise
            late = PlainTextResponse("This request took too long. Try again.", status_code=408)
            await late(scope, receive, reply)

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        if headers.getlist("host") not in ([host] for host in self._hosts):
            return PlainTextResponse(
                f"This page answers at http://{self._hosts[0]}/ only.", status_code=403
            )
        is_writing = scope["method"] not in _READING
        if is_writing and headers.getlist("origin") not in ([one] for one in self._origins):
            return PlainTextResponse(
                "Only the page itself may send files and forms.", status_code=403
            )
        return None

    def _limited(self, scope: Scope, receive: Receive) -> Receive:
        """Receive that stops with 413 as soon as too much is announced or has come."""
        announced = Headers(scope=scope).get("content-length", "0")
        is_too_large = announced.isdecimal() and int(announced) > self._most_bytes
        received = 0

        async def limited() -> Message:
            nonlocal received
            message = await receive()
            received += len(message.get("body", b""))
            if message["type"] != "http.request":
                return message
            if is_too_large or received > self._most_bytes:
                await _drain(message, receive)
                raise HTTPException(413)
            return message

        return limited


async def _drain(message: Message, receive: Receive) -> None:
    drained = 0
    while message.get("more_body", False) and drained < _MOST_DRAINED_BYTES:
        message = await receive()
        drained += len(message.get("body", b""))


class _Reply:
    """Sends an answer with the headers that every answer has, unless it has its own."""

    def __init__(self, send: Send) -> None:
        self._send = send
        self.has_begun = False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.has_begun = True
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
        await self._send(message)
