"""Reviews on their way and done: each in a process of its own, kept until the page is closed."""

from __future__ import annotations

import json
import os
import secrets
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import mockcheck
from mockcheck.errors import UserError

REVIEW_SECONDS = 300.0
"""A review is stopped after this long; a dense mock-up of eight minutes takes a twentieth of it."""
MOST_KEPT = 200
"""Reviews kept; beyond, the oldest one that is done goes."""

_WAITING, _WORKING, _DONE, _FAILED = "waiting", "working", "done", "failed"


@dataclass
class Job:
    """One review: what was asked, how far it is, and what came of it.

    Parameters
    ----------
    id
        A random name, known to nobody before.
    name
        What the user calls the file; shown, never used as a path.
    brief
        The values of the brief.
    state
        'waiting', 'working', 'done' or 'failed'.
    stage
        What is being done, in words.
    answer
        What the process wrote; `problem`, if not None, says why there is no review.
    taken_at
        The time of the day at which it was asked for.
    """

    id: str
    name: str
    brief: Mapping[str, Any]
    folder: Path
    state: str = _WAITING
    stage: str = "waiting for its turn"
    answer: dict[str, Any] = field(default_factory=dict)
    taken_at: str = field(default_factory=lambda: time.strftime("%H:%M:%S"))

    @property
    def is_over(self) -> bool:
        """Whether nothing more will change."""
        return self.state in (_DONE, _FAILED)

    @property
    def problem(self) -> str | None:
        """Why there is no review; None while there may be one, or where there is."""
        problem: str | None = self.answer.get("problem")
        return problem

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The tracks, as `track_rows` has them."""
        rows: list[dict[str, Any]] = self.answer.get("rows", [])
        return rows

    @property
    def downloads(self) -> list[dict[str, str]]:
        """Name and purpose of each file to take away, in order."""
        downloads: list[dict[str, str]] = self.answer.get("downloads", [])
        return downloads

    @property
    def page_number(self) -> int | None:
        """Which download is the review as a page; None where it could not be drawn."""
        names = (download["name"] for download in self.downloads)
        return next((n for n, name in enumerate(names) if name.endswith(".review.html")), None)

    @property
    def content(self) -> bytes:
        """The mock-up as it came."""
        return (self.folder / "mockup.mid").read_bytes()

    def download(self, number: int) -> tuple[str, bytes]:
        """Name and content of one file to take away.

        Raises IndexError where there is none of that number.
        """
        if not 0 <= number < len(self.downloads):
            raise IndexError(number)
        content = (self.folder / f"download-{number}").read_bytes()
        return self.downloads[number]["name"], content


class Desk:
    """Takes files in, has a few reviewed at a time, and keeps what came of each.

    Parameters
    ----------
    at_once
        Reviews that run side by side; None takes one for each processor, four at most.
    review_seconds
        How long one may take.
    """

    def __init__(self, at_once: int | None = None, review_seconds: float = REVIEW_SECONDS) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="mockcheck-"))
        self._review_seconds = review_seconds
        self._jobs: dict[str, Job] = {}
        self._running: set[subprocess.Popen[str]] = set()
        self._lock = threading.Lock()
        self._is_closed = False
        workers = at_once or max(2, min(4, os.cpu_count() or 2))
        self._pool = ThreadPoolExecutor(workers, thread_name_prefix="review")

    def take(self, name: str, content: bytes, brief: Mapping[str, Any]) -> Job:
        """Put a file in line for review; comes back at once."""
        job_id = secrets.token_urlsafe(12)
        folder = self._folder / job_id
        folder.mkdir()
        (folder / "mockup.mid").write_bytes(content)
        request = json.dumps({"name": name, "brief": brief})
        (folder / "request.json").write_text(request, encoding="utf-8")
        job = Job(job_id, name, brief, folder)
        with self._lock:
            self._jobs[job_id] = job
            self._forget_oldest()
        self._pool.submit(self._run, job)
        return job

    def find(self, job_id: str) -> Job | None:
        """The review of that name."""
        return self._jobs.get(job_id)

    def jobs(self) -> list[Job]:
        """All that are kept, the latest first."""
        with self._lock:
            return list(reversed(self._jobs.values()))

    def close(self) -> None:
        """Stop what runs and delete what was kept."""
        with self._lock:
            self._is_closed = True
            for process in self._running:
                process.kill()
        self._pool.shutdown(wait=True, cancel_futures=True)
        shutil.rmtree(self._folder, ignore_errors=True)

    def _forget_oldest(self) -> None:
        over = [job for job in self._jobs.values() if job.is_over]
        for job in over[: max(len(self._jobs) - MOST_KEPT, 0)]:
            del self._jobs[job.id]
            shutil.rmtree(job.folder, ignore_errors=True)

    def _run(self, job: Job) -> None:
        """Whatever comes of it, the job is over afterwards and says how."""
        job.state, job.stage = _WORKING, "starting"
        try:
            job.answer = self._answer(job)
        except UserError as error:
            job.answer = {"problem": str(error)}
        except Exception as error:  # noqa: BLE001  # the page must say something, not wait for ever
            job.answer = {"problem": _our_fault(job.name, repr(error))}
        job.state = _FAILED if job.problem is not None else _DONE
        job.stage = "no review" if job.problem is not None else "done"

    def _answer(self, job: Job) -> dict[str, Any]:
        process = self._start(job)
        is_late = threading.Event()

        def stop() -> None:
            is_late.set()
            process.kill()

        timer = threading.Timer(self._review_seconds, stop)
        timer.daemon = True
        timer.start()
        assert process.stdout is not None, "asked for above"
        try:
            for line in process.stdout:
                job.stage = line.strip()
            code = process.wait()
        finally:
            timer.cancel()
            with self._lock:
                self._running.discard(process)
            process.stdout.close()
        if is_late.is_set():
            message = (
                f"{job.name}: the review was stopped after {self._review_seconds:g} seconds."
                " Review fewer tracks or bars at a time, or use `mockcheck review`, which has no"
                " limit."
            )
            raise UserError(message)
        trouble = (job.folder / "trouble.txt").read_text(encoding="utf-8", errors="replace")
        if code != 0:
            return {"problem": _our_fault(job.name, _last_line(trouble, code))}
        answer: dict[str, Any] = json.loads(
            (job.folder / "answer.json").read_text(encoding="utf-8")
        )
        return answer

    def _start(self, job: Job) -> subprocess.Popen[str]:
        # The process finds the package as we did, and nothing in a folder of the user's.
        home = str(Path(mockcheck.__file__).parent.parent)
        paths = [home, *filter(None, [os.environ.get("PYTHONPATH")])]
        environment = os.environ | {"PYTHONPATH": os.pathsep.join(paths), "PYTHONUTF8": "1"}
        with self._lock, (job.folder / "trouble.txt").open("wb") as trouble:
            if self._is_closed:
                message = "the page was closed"
                raise UserError(message)
            process = subprocess.Popen(
                [sys.executable, "-P", "-m", "mockcheck.web._worker", str(job.folder)],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=trouble,
                text=True,
                encoding="utf-8",
                env=environment,
                cwd=job.folder,
            )
            self._running.add(process)
        return process


def _our_fault(name: str, detail: str) -> str:
    return (
        f"{name}: this is a fault of mockcheck, not of your file ({detail}). Please report it with"
        " these words and, if you can, the file."
    )


def _last_line(text: str, code: int) -> str:
    lines = text.strip().splitlines()
    return lines[-1] if lines else f"the review ended with code {code}"
