"""Spreads independent jobs over two processes and keeps their order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import TypeVar

PROCESSES = 2

Job = TypeVar("Job")
Answer = TypeVar("Answer")


def spread(function: Callable[[Job], Answer], jobs: Sequence[Job], batch: int = 1) -> list[Answer]:
    """The answers in the order of the jobs; `batch` jobs are handed over at a time."""
    if not jobs:
        return []
    # Spawned, not forked: a test runner may have threads, and forking those can hang.
    with ProcessPoolExecutor(PROCESSES, mp_context=get_context("spawn")) as pool:
        return list(pool.map(function, jobs, chunksize=batch))
