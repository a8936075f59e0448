"""`python -m tests.benchmarks.many_files` times an archive of 1,000 files and writes the report.

`--files N` takes fewer. The figures are ratios of runs that alternate, because a machine is seldom
idle; the load while they ran stands beside them.
"""

from __future__ import annotations

import multiprocessing
import os
import platform
import random
import resource
import signal
import statistics
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import click

from mockcheck.archive.cache import Cache
from mockcheck.archive.files import FoundFile, find_files
from mockcheck.archive.reviewing import review_files
from mockcheck.archive.tables import run_tables, write_run_tables
from mockcheck.model.session import Session
from tests.archive.corpus import write_corpus

REPORT = Path(__file__).parent.parent.parent / "reports" / "many_files.md"
_DEMO_EVERY = 20


_MOST_KILLS = 5
"""A file that meets two is given up, on purpose; so few never meet the same one."""


@contextmanager
def killing(mean_s: float) -> Iterator[list[int]]:
    """Meanwhile kill some of our worker processes; gives the list of the killed."""
    is_over = threading.Event()
    killed: list[int] = []

    def run() -> None:
        chance = random.Random(1)
        while len(killed) < _MOST_KILLS and not is_over.wait(chance.uniform(0.5, 1.5) * mean_s):
            workers = [child.pid for child in multiprocessing.active_children() if child.pid]
            if workers:
                killed.append(chance.choice(workers))
                os.kill(killed[-1], signal.SIGKILL)

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield killed
    finally:
        is_over.set()
        thread.join()


def seconds(
    files: Sequence[FoundFile],
    *,
    processes: int = 2,
    cache: Cache | None = None,
    scheduler: str | None = None,
) -> tuple[float, dict[str, bytes]]:
    """Seconds of a run, and the bytes of its tables."""
    begin = time.perf_counter()
    outcomes = review_files(files, Session(), processes=processes, cache=cache, scheduler=scheduler)
    taken = time.perf_counter() - begin
    with tempfile.TemporaryDirectory() as folder:
        paths = write_run_tables(run_tables(outcomes, 4), Path(folder))
        return taken, {path.name: path.read_bytes() for path in paths}


def two_against_one(files: Sequence[FoundFile], rounds: int) -> tuple[list[float], float]:
    """How many times as fast two processes are as one, in pairs of short runs.

    The second number is what the same work takes of the processors with two processes, as a share
    of what it takes with one: it does not depend on who else uses the machine, and near 1 it says
    that two processes do not stand in each other's way.
    """
    ratios = []
    processor_s = [0.0, 0.0]
    for _ in range(rounds):
        before = _workers_s()
        one, first = seconds(files, processes=1)
        between = _workers_s()
        two, second = seconds(files, processes=2)
        assert first == second, "the number of processes changed a table"
        ratios.append(one / two)
        processor_s[0] += between - before
        processor_s[1] += _workers_s() - between
    return ratios, processor_s[1] / processor_s[0]


def _workers_s() -> float:
    """Seconds of the processors that workers which are over have used."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def cluster_lines(files: Sequence[FoundFile], reference: dict[str, bytes]) -> list[str]:
    """A local cluster of two worker processes, once in peace and once with a worker killed."""
    from distributed import LocalCluster

    lines = []
    for is_killed in (False, True):
        with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=":0") as cluster:
            pids = [worker.pid for worker in cluster.workers.values()]
            timer = threading.Timer(3.0, lambda pid=pids[0]: os.kill(pid, signal.SIGKILL))
            if is_killed:
                timer.start()
            taken, tables = seconds(files, scheduler=cluster.scheduler_address)
            timer.cancel()
        same = "the same bytes" if tables == reference else "OTHER BYTES"
        what = "one worker killed after 3 s" if is_killed else "two workers"
        lines.append(f"| Dask, {what} | {len(files) / taken:.1f} files a second, tables {same} |")
    return lines


@click.command()
@click.option("--files", default=1000)
@click.option("--rounds", default=5)
def main(files: int, rounds: int) -> None:
    """Time it all and write reports/many_files.md."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        found = find_files([write_corpus(folder / "corpus", files, _DEMO_EVERY)]).files
        ratios, share = two_against_one(found[::4], rounds)
        cache = Cache(folder / "cache")
        first, reference = seconds(found, cache=cache)
        second, from_cache = seconds(found, cache=cache)
        with killing(2.0) as killed:
            third, after_kills = seconds(found)
        rows = [
            f"| two processes against one, {rounds} pairs of runs | median"
            f" {statistics.median(ratios):.2f} times as fast"
            f" ({', '.join(f'{ratio:.2f}' for ratio in sorted(ratios))}) |",
            f"| the same, in seconds of the processors | {share:.2f} times as many |",
            f"| {files:,} files, two processes | {first:.1f} s, {files / first:.1f} a second |",
            f"| again, from the cache | {second:.2f} s, {first / second:.0f} times as fast, tables"
            f" {'the same bytes' if from_cache == reference else 'OTHER BYTES'} |",
            f"| again without, {len(killed)} workers killed | {third:.1f} s, tables"
            f" {'the same bytes' if after_kills == reference else 'OTHER BYTES'} |",
            *cluster_lines(found, reference),
        ]
    load = ", ".join(f"{value:.1f}" for value in os.getloadavg())
    text = "\n".join(
        [
            "# Many files, timed",
            "",
            "Written by `python -m tests.benchmarks.many_files`. Ratios count, seconds are of one"
            " machine.",
            "",
            f"Python {platform.python_version()}, {os.cpu_count()} cores; load at the end over 1,"
            f" 5 and 15 minutes, these runs included: {load}.",
            "",
            f"{files:,} files, each different; one in {_DEMO_EVERY} as long as the demo, the others"
            " of a few bars.",
            "",
            "| what | measured |",
            "| --- | --- |",
            *rows,
            "",
        ]
    )
    REPORT.write_text(text, encoding="utf-8")
    click.echo(text)


if __name__ == "__main__":
    main()
