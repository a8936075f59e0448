"""`mockcheck serve`: the local page."""

from __future__ import annotations

from importlib.util import find_spec

import click

from mockcheck.errors import BadBrief

_NEEDED = {"starlette": "starlette", "uvicorn": "uvicorn", "python_multipart": "python-multipart"}


@click.command(epilog="Example: mockcheck serve")
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    help="Port on this machine. [default: 8765, or any that is free]",
)
def command(port: int | None) -> None:
    """Open a page on this machine: drop files, correct the guesses, read and take away the review.

    Only this machine can reach it, nothing is sent anywhere, and files are deleted when it stops
    (Ctrl+C).
    """
    missing = [name for module, name in _NEEDED.items() if find_spec(module) is None]
    if missing:
        message = (
            f"serve: the page needs {' and '.join(missing)}. Install it with:"
            " pip install 'mockcheck[serve]'"
        )
        raise BadBrief(message)
    from mockcheck.web.server import serve

    serve(port, _tell)


def _tell(address: str) -> None:
    click.echo(f"Open {address} in a browser; stop with Ctrl+C.")
