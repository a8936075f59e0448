"""The same work on many files, by processes of their own: whatever befalls one file stays there.

Each worker has a pipe to itself and nothing is shared, so a worker may be killed at any moment and
takes at most its own file with it.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import time
import traceback
from collections import Counter, deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from pathlib import Path
from typing import Generic, TypeVar

from mockcheck.errors import UnreadableInput, UserError

T = TypeVar("T")

TIMEOUT_S = 300.0
"""A file is given up after this long; a dense mock-up of eight minutes takes a twentieth of it."""
START_S = 120.0
"""A worker that has not begun after this long never will."""
MOST_DEATHS = 2
"""A file whose worker dies is tried again until it has died this often."""
_MOST_FAILED_STARTS = 20
_FAREWELL_S = 3.0
_ONE_THREAD = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"), "1"
)
_SPAWN = multiprocessing.get_context("spawn")


class Kind(StrEnum):
    """What became of a file."""

    DONE = "done"
    REFUSED = "refused"
    """The file, or the brief for it, cannot be used; the user can put it right."""
    CRASHED = "crashed"
    """A fault of the program, or a process that died."""
    STOPPED = "stopped"
    """It took too long."""


@dataclass(frozen=True)
class Done(Generic[T]):
    """What became of one file.

    Parameters
    ----------
    value
        What the work returned; None unless `kind` is 'done'.
    fault
        Why there is no value: of 'refused' the message to the user, which names the file; of the
        other two a few words that do not. None when `kind` is 'done'.
    is_unreadable
        Of 'refused': the file is at fault and not the brief.
    """

    path: Path
    kind: Kind
    value: T | None = None
    fault: str | None = None
    is_unreadable: bool = False


def run_each(
    paths: Sequence[Path],
    work: Callable[[Path], T],
    *,
    processes: int | None = None,
    timeout_s: float | None = TIMEOUT_S,
    on_done: Callable[[Done[T]], None] | None = None,
) -> list[Done[T]]:
    """Do the work on every path and say of each what became of it, in the order of the paths.

    Parameters
    ----------
    work
        Called in a worker, which starts afresh and imports it: a function of a module, or a
        `functools.partial` of one, with picklable arguments and result.
    processes
        Workers side by side; None takes one for each core that this process may use. Even one
        works in a process of its own.
    timeout_s
        Seconds that one file may take; None sets no limit.
    on_done
        Told of each file as it is over, in whatever order, in the calling process.

    Notes
    -----
    A worker that dies (killed, out of memory, a crash below Python) loses only its own file, which
    is tried once more, last. When the caller is interrupted, all workers are ended at once.
    """
    crew: _Crew[T] = _Crew(paths, work, timeout_s)
    try:
        crew.run(processes or usable_cores(), on_done or (lambda _: None))
    finally:
        crew.end()
    return [crew.results[row] for row in range(len(paths))]


def usable_cores() -> int:
    """Cores that this process may use, which can be fewer than the machine has."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@dataclass(eq=False)
class _Worker:
    """One process; `row` is the path it has, `deadline` on the monotonic clock."""

    process: SpawnProcess
    pipe: Connection
    deadline: float
    has_begun: bool = False
    row: int | None = None


class _Crew(Generic[T]):
    """The workers and what is still to be done; one thread, which waits on all pipes at once."""

    def __init__(
        self, paths: Sequence[Path], work: Callable[[Path], T], timeout_s: float | None
    ) -> None:
        self.results: dict[int, Done[T]] = {}
        self._paths = paths
        # A worker gets it by its pipe, which breaks when the worker dies. What multiprocessing
        # hands over at the start has to be little: on one that died unread it waits for ever.
        self._work = pickle.dumps(work)
        self._allowed_s = float("inf") if timeout_s is None else timeout_s
        self._timeout_s = timeout_s
        self._waiting = deque(range(len(paths)))
        self._workers: list[_Worker] = []
        self._deaths: Counter[int] = Counter()
        self._failed_starts = 0

    def run(self, processes: int, tell: Callable[[Done[T]], None]) -> None:
        told = 0
        while len(self.results) < len(self._paths):
            while len(self._workers) < min(processes, len(self._paths) - len(self.results)):
                self._workers.append(self._start())
            by_pipe = {worker.pipe: worker for worker in self._workers}
            nearest = min(worker.deadline for worker in self._workers)
            wait_s = None if nearest == float("inf") else max(nearest - time.monotonic(), 0)
            for pipe in wait(list(by_pipe), wait_s):
                assert isinstance(pipe, Connection), "nothing else was waited for"
                self._hear(by_pipe[pipe])
            self._stop_late()
            for row in list(self.results)[told:]:
                tell(self.results[row])
            told = len(self.results)

    def end(self) -> None:
        """Kill what still runs; what it had in hand is lost on purpose."""
        for worker in list(self._workers):
            self._dismiss(worker)

    def _start(self) -> _Worker:
        ours, theirs = _SPAWN.Pipe()
        process = _SPAWN.Process(target=_serve, args=(theirs,), daemon=True)
        with _quiet_start():
            process.start()
        # From here on the pipe ends when the worker does.
        theirs.close()
        return _Worker(process, ours, time.monotonic() + START_S)

    def _hear(self, worker: _Worker) -> None:
        try:
            message = worker.pipe.recv_bytes()
        except (EOFError, OSError):
            self._lose(worker)
            return
        row, worker.row = worker.row, None
        # The next file first: while its result is unpacked the worker need not wait.
        self._hand_out(worker)
        if row is not None:
            self.results[row] = self._unpacked(message, self._paths[row])

    def _unpacked(self, message: bytes, path: Path) -> Done[T]:
        try:
            done: Done[T] = pickle.loads(message)
        except Exception as error:  # noqa: BLE001  # any class may fail to be rebuilt
            return Done(path, Kind.CRASHED, fault=f"its result cannot be read ({error!r})")
        return done

    def _hand_out(self, worker: _Worker) -> None:
        if not self._waiting:
            self._dismiss(worker)
            return
        row = self._waiting.popleft()
        try:
            if not worker.has_begun:
                worker.pipe.send_bytes(self._work)
                worker.has_begun, self._failed_starts = True, 0
            worker.pipe.send(self._paths[row])
        except OSError:
            # It died idle, before it had the file: nobody's fault.
            self._waiting.appendleft(row)
            self._dismiss(worker)
            return
        worker.row, worker.deadline = row, time.monotonic() + self._allowed_s

    def _lose(self, worker: _Worker) -> None:
        self._dismiss(worker)
        row = worker.row
        if row is None:
            self._failed_starts += not worker.has_begun
            if self._failed_starts > _MOST_FAILED_STARTS:
                message = f"worker processes cannot start (exit code {worker.process.exitcode})"
                raise RuntimeError(message)
            return
        self._deaths[row] += 1
        if self._deaths[row] < MOST_DEATHS:
            self._waiting.append(row)
            return
        fault = f"{_death_words(worker.process.exitcode)}, {MOST_DEATHS} times"
        self.results[row] = Done(self._paths[row], Kind.CRASHED, fault=fault)

    def _stop_late(self) -> None:
        now = time.monotonic()
        for worker in [worker for worker in self._workers if worker.deadline <= now]:
            if worker.row is None:
                self._lose(worker)
                continue
            self._dismiss(worker)
            fault = f"stopped after {self._timeout_s:g} s"
            self.results[worker.row] = Done(self._paths[worker.row], Kind.STOPPED, fault=fault)

    def _dismiss(self, worker: _Worker) -> None:
        self._workers.remove(worker)
        worker.pipe.close()
        if worker.row is None and worker.has_begun:
            # It has nothing in hand, and ends by itself when its pipe does.
            worker.process.join(_FAREWELL_S)
        worker.process.kill()
        worker.process.join()


@contextmanager
def _quiet_start() -> Iterator[None]:
    """What a process started inside inherits: one thread for numbers, and no ear for Ctrl+C.

    The caller hears it and ends the worker, so a worker never dies of it with a traceback.
    """
    before = {name: os.environ.get(name) for name in _ONE_THREAD}
    os.environ.update(_ONE_THREAD)
    has_mask = hasattr(signal, "pthread_sigmask")
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if has_mask else set()
    try:
        yield
    finally:
        if has_mask:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def _serve(pipe: Connection) -> None:
    """The life of a worker: told the work, then a path in, what became of it out, and so on."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        pipe.send_bytes(b"")
        work = pickle.loads(pipe.recv_bytes())
        while True:
            pipe.send_bytes(_packed(attempt(pipe.recv(), work)))
    except (EOFError, BrokenPipeError):
        # The caller wants no more.
        return


def attempt(path: Path, work: Callable[[Path], T]) -> Done[T]:
    """Do the work on one path, here and now, and say what became of it."""
    try:
        return Done(path, Kind.DONE, work(path))
    except UserError as error:
        is_unreadable = isinstance(error, UnreadableInput)
        return Done(path, Kind.REFUSED, fault=str(error), is_unreadable=is_unreadable)
    except Exception as error:  # noqa: BLE001  # the next file may well be fine
        return Done(path, Kind.CRASHED, fault=crash_words(error))


def _packed(done: Done[T]) -> bytes:
    try:
        return pickle.dumps(done)
    except Exception as error:  # noqa: BLE001  # any class may refuse
        fault = f"its result cannot be sent ({error!r})"
        return pickle.dumps(Done(done.path, Kind.CRASHED, fault=fault))


def crash_words(error: BaseException) -> str:
    """'ValueError in run_too_fast.py, line 33: no such string'; no folder of any machine."""
    frames = traceback.extract_tb(error.__traceback__)
    place = f" in {Path(frames[-1].filename).name}, line {frames[-1].lineno}" if frames else ""
    words = " ".join(str(error).split())
    return f"{type(error).__name__}{place}{f': {words}' if words else ''}"


def _death_words(exit_code: int | None) -> str:
    if exit_code is None or exit_code >= 0:
        return f"its process ended with code {exit_code}"
    try:
        name = signal.Signals(-exit_code).name
    except ValueError:
        name = f"signal {-exit_code}"
    cause = " (which a system does when memory runs out)" if name == "SIGKILL" else ""
    return f"its process was ended by {name}{cause}"
