"""How far a run over many files is, where somebody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click


@contextmanager
def progress(files: int) -> Iterator[Callable[[], None]]:
    """A bar on stderr that moves on at each call; nothing where stderr is no terminal."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    with click.progressbar(length=files, label="Reviewing", file=sys.stderr, show_pos=True) as bar:
        yield lambda: bar.update(1)
