"""Works for the pool; what a file says is what befalls it."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path

from mockcheck.archive.cache import Cache, Kept, entry_key
from mockcheck.errors import BadBrief, UnreadableInput


def obey(path: Path) -> str:
    """Do what the first word of the file names; any other word is the value."""
    word, _, rest = path.read_text().partition(" ")
    deed = _DEEDS.get(word)
    return word if deed is None else deed(rest)


def obey_among(path: Path, others: list[str]) -> str:
    """The same, with much that has to be sent along."""
    return obey(path) if others else ""


def _refuse(rest: str) -> str:
    raise UnreadableInput(f"{rest} is refused")


def _misfit(_: str) -> str:
    raise BadBrief("brief: does not fit")


def _crash(_: str) -> str:
    raise ValueError("no such string")


def _die(_: str) -> str:
    os.kill(os.getpid(), signal.SIGKILL)
    return "never"


def _exit(_: str) -> str:
    os._exit(7)


def _die_once(mark: str) -> str:
    if not Path(mark).exists():
        Path(mark).touch()
        os._exit(9)
    return "second time"


def _sleep(seconds: str) -> str:
    time.sleep(float(seconds))
    return "slept"


def _large(_: str) -> str:
    time.sleep(0.01)
    return "x" * 2_000_000


def _unsendable(_: str) -> str:
    return lambda: 0  # type: ignore[return-value]  # on purpose: it cannot be pickled


_DEEDS: dict[str, Callable[[str], str]] = {
    "refuse": _refuse,
    "misfit": _misfit,
    "crash": _crash,
    "die": _die,
    "exit": _exit,
    "die-once": _die_once,
    "hang": lambda _: _sleep("600"),
    "sleep": _sleep,
    "large": _large,
    "unsendable": _unsendable,
    "threads": lambda _: os.environ["OMP_NUM_THREADS"],
    "pid": lambda _: str(os.getpid()),
}


def put_again_and_again(folder: Path) -> int:
    """Write and read the same few entries, as another process does; how many were not whole."""
    cache = Cache(folder)
    keys = [entry_key(str(number), "shared") for number in range(3)]
    kept = Kept(None, refusal="x" * 100_000, name="a.mid")
    damaged = 0
    for _ in range(100):
        for key in keys:
            cache.put(key, kept)
            damaged += cache.get(key, "a.mid") != kept
    return damaged + (cache.trouble is not None)
