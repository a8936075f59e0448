"""Starts the local page and stops it; nobody outside this machine can reach it."""

from __future__ import annotations

import contextlib
import os
import socket
from collections.abc import Callable

from mockcheck.errors import BadBrief

HOST = "127.0.0.1"
PORT = 8765


def open_port(port: int | None) -> socket.socket:
    """A socket at the port asked for; None takes the usual one, or any that is free.

    Raises BadBrief when the port asked for is in use or not allowed.
    """
    try:
        return _bound(PORT if port is None else port)
    except OSError as error:
        if port is None:
            return _bound(0)
        message = (
            f"--port {port}: it cannot be used ({error.strerror or error}). Choose another, or"
            " leave --port out."
        )
        raise BadBrief(message) from None


def serve(port: int | None, tell: Callable[[str], None]) -> None:
    """Serve the page until the user stops it; `tell` is given its address.

    Raises BadBrief when the port cannot be used.
    """
    import uvicorn

    from mockcheck.web.app import make_app
    from mockcheck.web.desk import Desk

    with open_port(port) as bound:
        number = bound.getsockname()[1]
        desk = Desk()
        try:
            config = uvicorn.Config(
                make_app(desk, number),
                log_level="warning",
                access_log=False,
                server_header=False,
                ws="none",
                limit_concurrency=100,
                timeout_graceful_shutdown=2,
            )
            tell(f"http://{HOST}:{number}/")
            # Stopping by Ctrl+C is the ordinary end.
            with contextlib.suppress(KeyboardInterrupt):
                uvicorn.Server(config).run(sockets=[bound])
        finally:
            desk.close()


def _bound(port: int) -> socket.socket:
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        # Else the port stays closed for a minute after the last page was stopped.
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((HOST, port))
        bound.listen(128)
    except OSError:
        bound.close()
        raise
    return bound
