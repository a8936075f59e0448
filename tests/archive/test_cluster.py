import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from distributed import LocalCluster

import mockcheck
from mockcheck.archive import cluster as cluster_module
from mockcheck.archive.cache import tool_identity
from mockcheck.archive.files import FoundFile, find_files
from mockcheck.archive.pool import Kind
from mockcheck.archive.reviewing import Outcome, review_files
from mockcheck.archive.tables import run_tables, write_run_tables
from mockcheck.errors import BadBrief
from mockcheck.model.review import Review
from mockcheck.model.session import Session
from tests.archive.corpus import write_corpus


def started(workers: int, *, processes: bool) -> Any:
    return LocalCluster(
        n_workers=workers, threads_per_worker=1, processes=processes, dashboard_address=":0"
    )


@pytest.fixture(scope="module")
def in_threads() -> Iterator[str]:
    """A scheduler and two workers within this process: quick, and enough for all but a death."""
    with started(2, processes=False) as cluster:
        yield cluster.scheduler_address


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[FoundFile, ...]:
    folder = write_corpus(tmp_path_factory.mktemp("corpus"), 10)
    (folder / "broken.mid").write_bytes(b"no MIDI")
    return find_files([folder]).files


@pytest.fixture(scope="module")
def here(files: tuple[FoundFile, ...]) -> list[Outcome]:
    return review_files(files, Session(), processes=2)


def table_bytes(outcomes: list[Outcome], folder: Path) -> list[bytes]:
    folder.mkdir()
    return [
        path.read_bytes()
        for kind in ("csv", "parquet")
        for path in write_run_tables(run_tables(outcomes, 4), folder, kind)
    ]


def wait_a_while(review: Review, file: FoundFile) -> str:
    time.sleep(3 if "0" in file.path.stem[-1:] else 0)
    return str(len(review.findings))


def test_the_cluster_finds_what_is_found_here(
    in_threads: str, files: tuple[FoundFile, ...], here: list[Outcome]
) -> None:
    assert review_files(files, Session(), scheduler=in_threads) == here


def test_what_takes_too_long_is_given_up_and_the_others_go_on(
    in_threads: str, files: tuple[FoundFile, ...]
) -> None:
    chosen = [file for file in files if file.path.stem[-1:] in "012"]
    outcomes = review_files(
        chosen, Session(), scheduler=in_threads, extra=wait_a_while, timeout_s=2
    )
    kinds = {outcome.file.path.stem: outcome.done.kind for outcome in outcomes}
    assert kinds == {"piece-0000": "stopped", "piece-0001": "done", "piece-0002": "done"}
    assert outcomes[0].done.fault == "stopped after 2 s"
    assert outcomes[1].done.value is not None
    assert outcomes[1].done.value.extra.isdigit()


def test_when_all_workers_are_held_the_rest_is_told_so(files: tuple[FoundFile, ...]) -> None:
    copies = [FoundFile(files[0].path.with_name(f"x{n}-piece-0000.mid"), f"x{n}") for n in range(3)]
    for copy in copies:
        copy.path.write_bytes(files[1].path.read_bytes())
    with started(1, processes=False) as cluster:
        outcomes = review_files(
            copies, Session(), scheduler=cluster.scheduler_address,
            extra=wait_a_while, timeout_s=0.5,
        )  # fmt: skip
    assert [outcome.done.kind for outcome in outcomes] == [Kind.STOPPED] * 3
    assert "held" in (outcomes[2].done.fault or "")


def test_a_file_too_large_to_be_sent_is_refused(
    in_threads: str, files: tuple[FoundFile, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    size = max(file.path.stat().st_size for file in files)
    monkeypatch.setattr(cluster_module, "MOST_SENT_BYTES", size - 1)
    outcomes = review_files(files, Session(), scheduler=in_threads)
    refused = [o for o in outcomes if "larger than" in (o.done.fault or "")]
    assert refused
    assert all(o.file.path.stat().st_size == size for o in refused)
    assert any(o.done.kind is Kind.DONE for o in outcomes)


def refusal(address: str, files: tuple[FoundFile, ...]) -> tuple[str, float]:
    begin = time.monotonic()
    with pytest.raises(BadBrief) as raised:
        review_files(files, Session(), scheduler=address)
    return str(raised.value), time.monotonic() - begin


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:1", "nonsense://x", "127.0.0.1:1", ""])
def test_a_bad_address_is_told_in_a_few_seconds(
    files: tuple[FoundFile, ...], address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster_module, "CONNECT_S", 0.5)
    message, seconds = refusal(address, files)
    assert message.startswith(f"--scheduler {address}: no Dask scheduler answers there")
    assert seconds < 5


def test_another_kind_of_server_is_no_scheduler(
    files: tuple[FoundFile, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster_module, "CONNECT_S", 1.0)
    with socket.create_server(("127.0.0.1", 0)) as server:

        def answer_as_a_web_server_does() -> None:
            connection, _ = server.accept()
            with connection:
                connection.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n" * 4)
                connection.recv(1000)

        thread = threading.Thread(target=answer_as_a_web_server_does, daemon=True)
        thread.start()
        message, seconds = refusal(f"tcp://127.0.0.1:{server.getsockname()[1]}", files)
        thread.join(5)
    assert "no Dask scheduler answers there" in message
    assert seconds < 5


def test_a_worker_is_no_scheduler(files: tuple[FoundFile, ...]) -> None:
    with started(1, processes=False) as cluster:
        address = next(iter(cluster.workers.values())).address
        assert "it is a Worker" in refusal(address, files)[0]


def test_a_scheduler_without_workers_is_told(
    files: tuple[FoundFile, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster_module, "CONNECT_S", 0.5)
    with started(0, processes=False) as cluster:
        message, seconds = refusal(cluster.scheduler_address, files)
    assert "has no workers" in message
    assert seconds < 10


def test_without_the_package_the_line_that_installs_it_is_told(
    files: tuple[FoundFile, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert "pip install 'mockcheck[cluster]'" in refusal("tcp://127.0.0.1:1", files)[0]


@pytest.mark.slow
def test_two_worker_processes_write_the_same_bytes_and_one_may_be_killed(
    files: tuple[FoundFile, ...],
    here: list[Outcome],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    reference = table_bytes(here, tmp_path / "here")
    with started(2, processes=True) as cluster:
        address = cluster.scheduler_address
        there = review_files(files, Session(), scheduler=address)
        assert table_bytes(there, tmp_path / "there") == reference
        pid = next(iter(cluster.workers.values())).pid
        over: list[int] = []

        def kill_after_the_first() -> None:
            if not over:
                os.kill(pid, signal.SIGKILL)
            over.append(pid)

        again = review_files(files, Session(), scheduler=address, on_done=kill_after_the_first)
        assert len(over) == len(files)
        assert pid not in {worker.pid for worker in cluster.workers.values()}
        assert table_bytes(again, tmp_path / "again") == reference
        monkeypatch.setattr(mockcheck, "__version__", "another")
        tool_identity.cache_clear()
        assert "not the same there as here" in refusal(address, files)[0]
    tool_identity.cache_clear()
