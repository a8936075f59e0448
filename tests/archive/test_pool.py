import multiprocessing
import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from multiprocessing.process import BaseProcess
from pathlib import Path

import pytest

from mockcheck.archive.pool import Done, Kind, run_each, usable_cores
from tests.archive.works import obey, obey_among


def files(folder: Path, *texts: str) -> list[Path]:
    paths = [folder / f"{row:03}.txt" for row in range(len(texts))]
    for path, text in zip(paths, texts, strict=True):
        path.write_text(text)
    return paths


def test_results_come_in_the_order_of_the_paths(tmp_path: Path) -> None:
    paths = files(tmp_path, "sleep 0.6", "b", "c", "d")
    told: list[Done[str]] = []
    results = run_each(paths, obey, processes=2, on_done=told.append)
    assert [done.path for done in results] == paths
    assert [done.value for done in results] == ["slept", "b", "c", "d"]
    assert told[-1].path == paths[0], "it takes longest"
    assert sorted(done.path for done in told) == paths


@pytest.mark.parametrize("processes", [1, 2])
def test_what_befalls_one_file_stays_there(tmp_path: Path, processes: int) -> None:
    texts = ("a", "refuse that", "misfit", "crash", "die", "exit", "hang", "unsendable", "b")
    results = run_each(files(tmp_path, *texts), obey, processes=processes, timeout_s=1.5)
    kinds = dict(zip(texts, [done.kind for done in results], strict=True))
    assert kinds == {
        "a": "done",
        "refuse that": "refused",
        "misfit": "refused",
        "crash": "crashed",
        "die": "crashed",
        "exit": "crashed",
        "hang": "stopped",
        "unsendable": "crashed",
        "b": "done",
    }
    faults = dict(zip(texts, [done.fault for done in results], strict=True))
    assert faults["a"] is None
    assert faults["refuse that"] == "that is refused"
    assert faults["crash"] is not None
    assert faults["crash"].startswith("ValueError in works.py, line ")
    assert faults["crash"].endswith(": no such string")
    assert faults["die"] is not None
    assert "SIGKILL" in faults["die"]
    assert faults["exit"] == "its process ended with code 7, 2 times"
    assert faults["hang"] == "stopped after 1.5 s"
    assert [done.is_unreadable for done in results if done.kind is Kind.REFUSED] == [True, False]


def test_a_file_whose_worker_died_is_tried_once_more(tmp_path: Path) -> None:
    paths = files(tmp_path, f"die-once {tmp_path / 'mark'}", "b")
    results = run_each(paths, obey, processes=1)
    assert [done.value for done in results] == ["second time", "b"]


def test_no_paths_need_no_workers() -> None:
    assert run_each([], obey) == []


def test_workers_count_with_one_thread_and_the_caller_keeps_its_own(tmp_path: Path) -> None:
    before = dict(os.environ)
    results = run_each(files(tmp_path, "threads"), obey)
    assert results[0].value == "1"
    assert dict(os.environ) == before


def test_even_one_process_is_not_ours(tmp_path: Path) -> None:
    pids = {done.value for done in run_each(files(tmp_path, "pid", "pid"), obey, processes=1)}
    assert len(pids) == 1
    assert str(os.getpid()) not in pids


@contextmanager
def killing(delays_s: Sequence[float]) -> Iterator[list[int]]:
    """Meanwhile kill a worker after each of these delays; gives the list of the killed."""
    killed: list[int] = []
    is_over = threading.Event()

    def run() -> None:
        chance = random.Random(8)
        for delay_s in delays_s:
            workers: list[BaseProcess] = []
            while not workers and not is_over.wait(0.001):
                workers = [w for w in multiprocessing.active_children() if w.pid not in killed]
            if not workers or is_over.wait(delay_s):
                return
            worker = chance.choice(workers)
            killed.append(worker.pid or 0)
            worker.kill()

    killer = threading.Thread(target=run)
    killer.start()
    try:
        yield killed
    finally:
        is_over.set()
        killer.join()


def lost(results: Sequence[Done[str]], killed: Sequence[int]) -> list[Done[str]]:
    """Results that are missing; it takes two kills while the same file is in hand to lose it."""
    missing = [done for done in results if done.kind is not Kind.DONE]
    assert all((done.fault or "").endswith("2 times") for done in missing)
    assert len(missing) <= len(killed) // 2
    return missing


def test_workers_killed_at_any_moment_lose_nothing(tmp_path: Path) -> None:
    # Results of 2 MB are on their way most of the time, so that many a kill meets one half sent.
    paths = files(tmp_path, *["large"] * 150)
    chance = random.Random(9)
    with killing([chance.uniform(0.05, 0.25) for _ in range(8)]) as killed:
        results = run_each(paths, obey, processes=2, timeout_s=60)
    assert len(killed) >= 4
    missing = lost(results, killed)
    assert all(len(done.value or "") == 2_000_000 for done in results if done not in missing)


def test_a_large_work_reaches_workers_although_some_are_killed_as_they_start(
    tmp_path: Path,
) -> None:
    # Far more than fits into a pipe whose other end nobody reads.
    work = partial(obey_among, others=[f"{number:0100}" for number in range(20_000)])
    paths = files(tmp_path, *"abcdefgh")
    with killing([0.0, 0.01, 0.02, 0.03, 0.05, 0.08]) as killed:
        results = run_each(paths, work, processes=2, timeout_s=60)
    missing = lost(results, killed)
    values = [done.value for done in results if done not in missing]
    assert values == [
        path.read_text() for path, done in zip(paths, results, strict=True) if done not in missing
    ]
    assert killed


def test_an_exception_while_telling_ends_the_workers(tmp_path: Path) -> None:
    def fail(done: Done[str]) -> None:
        raise KeyError(done.path)

    with pytest.raises(KeyError):
        run_each(files(tmp_path, "a", "hang"), obey, processes=2, on_done=fail)
    assert not multiprocessing.active_children()


@pytest.mark.skipif(os.name == "nt", reason="signals to a group are POSIX")
def test_ctrl_c_ends_everything_quickly_and_says_nothing_of_its_own(tmp_path: Path) -> None:
    files(tmp_path, "hang", "hang", "hang")
    script = (
        "import sys\n"
        "from pathlib import Path\n"
        "from mockcheck.archive.pool import run_each\n"
        "from tests.archive.works import obey\n"
        f"paths = sorted(Path({str(tmp_path)!r}).glob('*.txt'))\n"
        "try:\n"
        "    run_each(paths, obey, processes=2)\n"
        "except KeyboardInterrupt:\n"
        "    sys.exit(42)\n"
    )
    # A group of its own, so that the signal reaches it and its workers as from a terminal.
    process = subprocess.Popen(
        [sys.executable, "-c", script],
        stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    time.sleep(2.5)
    begin = time.monotonic()
    os.killpg(process.pid, signal.SIGINT)
    _, errors = process.communicate(timeout=20)
    assert time.monotonic() - begin < 5
    assert process.returncode == 42
    assert errors == ""


def test_cores_are_those_of_this_process() -> None:
    assert 1 <= usable_cores() <= (os.cpu_count() or 1)
