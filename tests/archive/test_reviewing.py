from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import mockcheck
from mockcheck.archive import reviewing
from mockcheck.archive.cache import Cache
from mockcheck.archive.files import FoundFile, find_files
from mockcheck.archive.pool import Kind, run_each
from mockcheck.archive.reviewing import Outcome, digest_of, review_files
from mockcheck.config import session_from_brief
from mockcheck.model.finding import CheckOutcome
from mockcheck.model.finding import Outcome as CheckState
from mockcheck.model.record import ReviewRecord
from mockcheck.model.review import Review
from mockcheck.model.session import Level, Session
from tests.archive.corpus import phrase_file


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    music = tmp_path / "music"
    (music / "sub").mkdir(parents=True)
    (music / "a.mid").write_bytes(phrase_file(0))
    (music / "b.mid").write_bytes(b"no MIDI")
    (music / "sub" / "c.mid").write_bytes(phrase_file(1))
    return music


def found_in(folder: Path) -> tuple[FoundFile, ...]:
    return find_files([folder]).files


def record_of(outcome: Outcome) -> ReviewRecord:
    assert outcome.done.value is not None
    return outcome.done.value.record


def count_findings(review: Review, file: FoundFile) -> str:
    return f"{file.name}: {len(review.findings)}"


def test_each_file_is_reviewed_as_it_is_alone(folder: Path) -> None:
    steps: list[None] = []
    outcomes = review_files(
        found_in(folder), Session(), processes=2, on_done=lambda: steps.append(None)
    )
    assert [outcome.file.name for outcome in outcomes] == ["a.mid", "b.mid", "sub/c.mid"]
    assert len(steps) == 3
    assert outcomes[1].done.kind is Kind.REFUSED
    assert outcomes[1].done.is_unreadable
    assert outcomes[1].sha256 == digest_of(folder / "b.mid")
    for number, name in ((0, "a.mid"), (2, "sub/c.mid")):
        alone = ReviewRecord.of(mockcheck.review(folder / name))
        assert record_of(outcomes[number]) == alone


def test_what_cannot_be_opened_is_told_as_ever(folder: Path) -> None:
    files = [FoundFile(folder / name, name) for name in ("missing.mid", "sub", "a.mid")]
    outcomes = review_files(files, Session(), processes=1)
    assert "there is no such file" in (outcomes[0].done.fault or "")
    assert "this is a folder" in (outcomes[1].done.fault or "")
    assert [outcome.sha256 is None for outcome in outcomes] == [True, True, False]
    assert outcomes[2].done.kind is Kind.DONE


def test_a_brief_that_does_not_fit_one_file_does_not_stop_the_others(folder: Path) -> None:
    (folder / "b.mid").write_bytes(phrase_file(2).replace(b"Cello", b"Viola"))
    session = session_from_brief({"players": {"Cello": 4}}, "brief")
    outcomes = review_files(found_in(folder), session, processes=1)
    assert [outcome.done.kind for outcome in outcomes] == ["done", "refused", "done"]
    assert not outcomes[1].done.is_unreadable
    assert "'Cello'" in (outcomes[1].done.fault or "")


def test_the_second_time_no_worker_is_asked(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = Cache(tmp_path / "cache")
    first = review_files(found_in(folder), Session(), processes=1, cache=cache)
    asked: list[int] = []

    def watched(paths: list[Path], *rest: object, **named: object) -> object:
        asked.append(len(paths))
        return run_each(paths, *rest, **named)  # type: ignore[arg-type]  # passed on as they came

    monkeypatch.setattr(reviewing, "run_each", watched)
    assert review_files(found_in(folder), Session(), cache=cache) == first
    other = replace(Session(), level=Level.SOLO)
    review_files(found_in(folder), other, processes=1, cache=cache)
    (folder / "sub" / "c.mid").write_bytes(phrase_file(3))
    changed = review_files(found_in(folder), Session(), processes=1, cache=cache)
    assert asked == [0, 3, 1]
    assert changed[:2] == first[:2]
    assert record_of(changed[2]) != record_of(first[2])


def test_the_same_bytes_under_another_name_share_an_entry(folder: Path, tmp_path: Path) -> None:
    cache = Cache(tmp_path / "cache")
    review_files(found_in(folder), Session(), processes=1, cache=cache)
    (folder / "other.mid").write_bytes((folder / "a.mid").read_bytes())
    (folder / "broken.mid").write_bytes((folder / "b.mid").read_bytes())
    kept = review_files(found_in(folder), Session(), processes=1, cache=cache)
    anew = review_files(found_in(folder), Session(), processes=1)
    assert kept == anew
    assert record_of(kept[3]).file == "other.mid"
    assert (kept[2].done.fault or "").startswith("broken.mid")


def test_more_can_be_made_while_the_notes_are_there(folder: Path, tmp_path: Path) -> None:
    cache = Cache(tmp_path / "cache")
    for _ in range(2):
        outcomes = review_files(
            found_in(folder), Session(), processes=1, extra=count_findings, cache=cache
        )
        assert outcomes[2].done.value is not None
        assert outcomes[2].done.value.extra == f"sub/c.mid: {len(record_of(outcomes[2]).findings)}"


def test_what_is_always_made_the_same_is_kept_under_its_name(folder: Path, tmp_path: Path) -> None:
    cache = Cache(tmp_path / "cache")
    files = found_in(folder)

    def extras(name: str, **more: Any) -> list[str | None]:
        outcomes = review_files(
            files, Session(), extra=count_findings, extra_name=name, cache=cache, **more
        )
        return [o.done.value.extra if o.done.value else None for o in outcomes]

    made = extras("count", processes=1)
    # In so short a time nothing can be made: what comes back was kept.
    assert extras("count", processes=1, timeout_s=0.001) == made
    assert any(made)
    assert not any(extras("other", processes=1, timeout_s=0.001))


def test_a_review_with_a_crashed_check_is_not_kept(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = Cache(tmp_path / "cache")
    real = reviewing._Shelf.keep

    def keep(shelf: reviewing._Shelf, outcome: Outcome) -> None:
        assert outcome.done.value is not None
        crash = CheckOutcome("run-too-fast", 1, CheckState.CRASHED, "ValueError")
        record = replace(outcome.done.value.record, outcomes=(crash,))
        done = replace(outcome.done, value=replace(outcome.done.value, record=record))
        real(shelf, replace(outcome, done=done))

    monkeypatch.setattr(reviewing._Shelf, "keep", keep)
    review_files([FoundFile(folder / "a.mid", "a.mid")], Session(), processes=1, cache=cache)
    assert not list((tmp_path / "cache").rglob("*.json"))


def test_what_took_too_long_is_not_kept(folder: Path, tmp_path: Path) -> None:
    cache = Cache(tmp_path / "cache")
    outcomes = review_files(
        [FoundFile(folder / "a.mid", "a.mid")],
        Session(), processes=1, timeout_s=0.001, cache=cache,
    )  # fmt: skip
    assert outcomes[0].done.kind is Kind.STOPPED
    assert not list((tmp_path / "cache").rglob("*.json"))
