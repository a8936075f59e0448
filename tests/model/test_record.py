from dataclasses import replace
from pathlib import Path

import pytest

import mockcheck
from mockcheck.model.finding import Severity
from mockcheck.model.record import ReviewRecord

DEMO = Path("fixtures/demo/harbour_at_dawn.mid")


@pytest.fixture(scope="module")
def record() -> ReviewRecord:
    return ReviewRecord.of(mockcheck.review(DEMO))


def test_a_record_keeps_what_was_found(record: ReviewRecord) -> None:
    review = mockcheck.review(DEMO)
    assert record.findings == review.findings
    assert record.tracks == review.tracks
    assert record.sha256 == review.played.score.sha256
    assert record.bars == review.played.score.bar_count


def test_a_record_written_and_read_is_the_same(record: ReviewRecord) -> None:
    again = ReviewRecord.from_json(record.to_json())
    assert again == record
    assert isinstance(again.findings[0].severity, Severity)
    assert again.to_json() == record.to_json()


def test_names_that_are_no_text_survive(record: ReviewRecord) -> None:
    odd = replace(record, file="Étude № 1 \u2019\x07.mid")
    assert ReviewRecord.from_json(odd.to_json()) == odd


def test_anything_else_is_refused() -> None:
    with pytest.raises(ValueError, match="file"):
        ReviewRecord.from_json(b"{}")
