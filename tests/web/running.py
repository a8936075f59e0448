"""The page as a user starts it: `mockcheck serve` in a process of its own."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def running_page(*arguments: str) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """The address that the command prints, and the process; stopped as by Ctrl+C at the end."""
    process = subprocess.Popen(
        [sys.executable, "-m", "mockcheck", "serve", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONUNBUFFERED": "1"},
    )
    assert process.stdout is not None
    try:
        line = process.stdout.readline()
        assert line.startswith("Open http://127.0.0.1:"), line or process.communicate()[1]
        yield line.split()[1], process
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGINT)
        try:
            process.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
