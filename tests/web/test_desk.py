import json
import time
from pathlib import Path

import pytest

from mockcheck.errors import UserError
from mockcheck.pipeline import review
from mockcheck.web import _worker, desk
from mockcheck.web.desk import Desk, Job
from tests.phrases import midi_bytes

CUE = midi_bytes("Violin 1 4/4 q=100 | A4:2 F3:2 |")
QUIRKS = Path(__file__).parent.parent.parent / "fixtures" / "quirks"


def end_of(job: Job) -> Job:
    last = time.monotonic() + 60
    while not job.is_over:
        assert time.monotonic() < last
        time.sleep(0.05)
    return job


def test_a_review_that_takes_too_long_is_stopped_and_the_next_one_runs() -> None:
    slow = Desk(at_once=1, review_seconds=0.3)
    try:
        job = end_of(slow.take("slow.mid", CUE, {}))
        assert job.state == "failed"
        assert job.problem is not None
        assert job.problem.startswith("slow.mid: the review was stopped after 0.3 seconds")
        slow._review_seconds = 60
        assert end_of(slow.take("next.mid", CUE, {})).state == "done"
    finally:
        slow.close()


def test_a_process_that_dies_takes_nothing_with_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "sitecustomize.py").write_text("import os\nos.abort()\n")
    busy = Desk(at_once=1)
    try:
        with monkeypatch.context() as patch:
            patch.setenv("PYTHONPATH", str(tmp_path))
            job = end_of(busy.take("cue.mid", CUE, {}))
        assert job.problem is not None
        assert "cue.mid: this is a fault of mockcheck, not of your file" in job.problem
        assert end_of(busy.take("cue.mid", CUE, {})).state == "done"
    finally:
        busy.close()


def test_two_reviews_run_side_by_side() -> None:
    two = Desk(at_once=2)
    try:
        jobs = [two.take(f"{number}.mid", CUE, {}) for number in range(2)]
        last = time.monotonic() + 60
        while {job.state for job in jobs} != {"working"}:
            assert time.monotonic() < last
            assert not any(job.is_over for job in jobs)
            time.sleep(0.01)
        assert {end_of(job).state for job in jobs} == {"done"}
    finally:
        two.close()


def test_the_stages_are_told_while_it_works() -> None:
    telling = Desk(at_once=1)
    try:
        job = telling.take("cue.mid", CUE, {})
        told = set()
        while not job.is_over:
            told.add(job.stage)
            time.sleep(0.005)
        assert {"reading the file", "playing it through and checking it"} & told
    finally:
        telling.close()


def test_closing_stops_what_runs_and_leaves_nothing_behind() -> None:
    closing = Desk(at_once=1)
    jobs = [closing.take("cue.mid", CUE, {}) for _ in range(3)]
    folder = jobs[0].folder.parent
    assert folder.stat().st_mode & 0o077 == 0
    started = time.monotonic()
    closing.close()
    assert time.monotonic() - started < 5
    assert not folder.exists()


def test_the_oldest_that_are_over_make_room(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desk, "MOST_KEPT", 2)
    small = Desk(at_once=1)
    try:
        first = end_of(small.take("1.mid", b"", {}))
        jobs = [first, *(small.take(f"{number}.mid", b"", {}) for number in (2, 3))]
        assert [job.name for job in small.jobs()] == ["3.mid", "2.mid"]
        assert small.find(first.id) is None
        assert not first.folder.exists()
        assert jobs[2].folder.exists()
    finally:
        small.close()


@pytest.mark.parametrize("quirk", sorted(QUIRKS.glob("*.[mr][im][di]")), ids=lambda path: path.name)
def test_each_odd_file_gets_the_answer_of_the_command_line(quirk: Path, tmp_path: Path) -> None:
    (tmp_path / "mockup.mid").write_bytes(quirk.read_bytes())
    request = {"name": quirk.name, "brief": {}}
    (tmp_path / "request.json").write_text(json.dumps(request), encoding="utf-8")
    _worker.main(tmp_path)
    answer = json.loads((tmp_path / "answer.json").read_text(encoding="utf-8"))
    refusal = None
    try:
        expected = review(quirk)
    except UserError as error:
        refusal = str(error)
    assert answer["problem"] == refusal
    if refusal is not None:
        return
    assert sum(answer["counts"].values()) == len(expected.findings)
    assert answer["failed"] == []
    for number in range(len(answer["downloads"])):
        assert (tmp_path / f"download-{number}").stat().st_size > 0
