"""The same reviews on an existing Dask cluster: bytes go out, reviews without notes come back.

The workers need mockcheck, the same as here, and none of our disks.
"""

from __future__ import annotations

import asyncio
import time
import warnings
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Any

from mockcheck.archive.cache import tool_identity
from mockcheck.archive.files import FoundFile
from mockcheck.archive.one_review import Extra, Reviewed, reviewed
from mockcheck.archive.pool import Done, Kind, attempt
from mockcheck.errors import BadBrief, UnreadableInput, UserError
from mockcheck.model.session import Session
from mockcheck.model.words import shortened
from mockcheck.read import read_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from distributed import Client, Future

CONNECT_S = 5.0
"""How long the scheduler, and then its first worker, may take to answer."""
MOST_SENT_BYTES = 64 * 1024 * 1024
"""A file larger than this is not sent; one of half a million events takes 2 MB."""
_LOOK_AGAIN_S = 5.0
_LISTEN_S = 0.5
_MOST_NAMED = 3
_MOST_TOLD = 120

Tell = Callable[[Done[Reviewed]], None]


def review_on_cluster(
    files: Sequence[FoundFile],
    session: Session,
    address: str,
    extra: Extra | None = None,
    *,
    timeout_s: float | None,
    on_done: Tell,
) -> None:
    """Review files on the workers of a cluster, and tell of each as it is over.

    Parameters
    ----------
    address
        Of the scheduler, as 'tcp://host:8786'.
    timeout_s
        Seconds that one file may take, counted from when it is sent.

    Notes
    -----
    A file whose worker dies is given to another one by the scheduler, as often as the scheduler
    allows (its `allowed-failures`). As many files are under way as the cluster has threads. What
    took too long cannot be ended from here: the thread that has it stays busy, and gets no more.

    Raises BadBrief when the extra is not installed, no scheduler answers at the address, it has no
    workers, or their mockcheck is not this one.
    """
    with _client(address) as client:
        _require_same_tool(client, address)
        work = partial(_review_content, session=session, extra=extra)
        _Sender(client, work, timeout_s, on_done).run(files)


class _Sender:
    """What is under way on the cluster, and what still has to be sent."""

    def __init__(
        self, client: Client, work: Callable[..., Any], timeout_s: float | None, tell: Tell
    ) -> None:
        self._client = client
        self._work = work
        self._timeout_s = float("inf") if timeout_s is None else timeout_s
        self._tell = tell
        self._over: SimpleQueue[Future] = SimpleQueue()
        self._under_way: dict[Future, tuple[FoundFile, float]] = {}
        self._stuck = 0
        self._threads = 0
        self._looked_at = float("-inf")

    def run(self, files: Sequence[FoundFile]) -> None:
        waiting = deque(files)
        while waiting or self._under_way:
            room = self._room()
            while waiting and len(self._under_way) < room:
                self._send(waiting.popleft())
            if self._under_way:
                self._receive()
            elif room <= 0:
                fault = "every worker of the cluster is held by a file that took too long"
                while waiting:
                    self._tell(Done(waiting.popleft().path, Kind.STOPPED, fault=fault))

    def _room(self) -> int:
        """Threads of the cluster, which may grow and shrink, less those that are stuck."""
        now = time.monotonic()
        if now - self._looked_at > _LOOK_AGAIN_S:
            self._looked_at = now
            # While the last worker is being replaced there is none; what is sent waits for it.
            self._threads = sum(self._client.nthreads().values()) or max(self._threads, 1)
        return self._threads - self._stuck

    def _send(self, file: FoundFile) -> None:
        try:
            content = _content(file.path)
        except UserError as error:
            self._tell(Done(file.path, Kind.REFUSED, fault=str(error), is_unreadable=True))
            return
        future = self._client.submit(self._work, content, file, pure=False)
        self._under_way[future] = file, time.monotonic()
        future.add_done_callback(self._over.put)

    def _receive(self) -> None:
        """Wait a moment for a file to be over; give up what has been under way too long."""
        with suppress(Empty):
            future = self._over.get(timeout=_LISTEN_S)
            file, _ = self._under_way.pop(future, (None, 0.0))
            if file is not None:
                self._tell(_result(future, file.path))
        oldest = time.monotonic() - self._timeout_s
        for future, (file, sent_at) in list(self._under_way.items()):
            if sent_at < oldest:
                del self._under_way[future]
                self._stuck += 1
                future.cancel()
                fault = f"stopped after {self._timeout_s:g} s"
                self._tell(Done(file.path, Kind.STOPPED, fault=fault))


def _review_content(
    content: bytes, file: FoundFile, session: Session, extra: Extra | None
) -> Done[Reviewed]:
    """The work of one task, on a worker."""

    def review(path: Path) -> Reviewed:
        return reviewed(read_bytes(content, path.name), file, session, extra)

    return attempt(file.path, review)


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            content = stream.read(MOST_SENT_BYTES + 1)
    except OSError as error:
        message = f"{path}: it cannot be read any more ({error.strerror or error})."
        raise UnreadableInput(message) from None
    if len(content) > MOST_SENT_BYTES:
        message = (
            f"{path.name}: larger than {MOST_SENT_BYTES // 2**20} MB, which is not sent to a"
            " cluster. Review it without --scheduler."
        )
        raise UnreadableInput(message)
    return content


def _result(future: Future, path: Path) -> Done[Reviewed]:
    from distributed import KilledWorker

    try:
        done: Done[Reviewed] = future.result()
    except KilledWorker:
        fault = "each worker that had it died (which a system does when memory runs out)"
        return Done(path, Kind.CRASHED, fault=fault)
    except Exception as error:  # noqa: BLE001  # whatever the cluster says, the others go on
        return Done(path, Kind.CRASHED, fault=f"the cluster lost it ({type(error).__name__})")
    return done


@contextmanager
def _client(address: str) -> Iterator[Client]:
    try:
        from distributed import Client
    except ImportError:
        message = (
            "--scheduler: the package for clusters is not installed;"
            " `pip install 'mockcheck[cluster]'` adds it."
        )
        raise BadBrief(message) from None
    try:
        # A client that finds no scheduler complains at length and waits long, so we ask first.
        asyncio.run(asyncio.wait_for(_require_scheduler(address), CONNECT_S))
        client = Client(address, timeout=CONNECT_S, set_as_default=False)
    except Exception as error:  # noqa: BLE001  # another kind of server may answer anything
        # The first bytes of any other protocol announce a message of impossible length.
        is_other = isinstance(error, MemoryError)
        told = "something else does" if is_other else " ".join(str(error).split())
        message = (
            f"--scheduler {address}: no Dask scheduler answers there"
            f" ({shortened(told or 'no answer in time', _MOST_TOLD)}). Check the address, which"
            " looks like tcp://host:8786, and that it runs; or leave out --scheduler to use this"
            " machine."
        )
        raise BadBrief(message) from None
    with client, warnings.catch_warnings():
        # The bytes of a file go with its task on purpose: another worker may need them.
        warnings.filterwarnings("ignore", "Sending large graph", UserWarning)
        yield client


async def _require_scheduler(address: str) -> None:
    from distributed.core import rpc
    from distributed.security import Security

    async with rpc(address, connection_args=Security().get_connection_args("client")) as server:
        kind = (await server.identity())["type"]
    if kind != "Scheduler":
        message = f"it is a {kind}"
        raise ValueError(message)


def _require_same_tool(client: Client, address: str) -> None:
    try:
        client.wait_for_workers(1, timeout=CONNECT_S)
        found: dict[str, Any] = client.run(tool_identity)
    except TimeoutError:
        message = f"--scheduler {address}: it has no workers. Start some, and try again."
        raise BadBrief(message) from None
    except ImportError as error:
        message = (
            f"--scheduler {address}: a worker lacks the package {error.name}. Install the same"
            " mockcheck on every worker."
        )
        raise BadBrief(message) from None
    others = sorted(worker for worker, identity in found.items() if identity != tool_identity())
    if others:
        message = (
            f"--scheduler {address}: mockcheck is not the same there as here, on"
            f" {', '.join(others[:_MOST_NAMED])}{' ...' if others[_MOST_NAMED:] else ''}."
            " Install the same version on every worker."
        )
        raise BadBrief(message)
