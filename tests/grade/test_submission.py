import pytest

from mockcheck.grade.submission import Submission
from mockcheck.model.finding import Severity
from tests.grade.works import finding, piece, work


def test_files_of_one_student_add_up() -> None:
    both = Submission("Ada", (piece(name="a.mid"), piece(name="b.mid", bars=5)))
    assert both.bars == 30
    assert both.played_bars == 120
    assert both.seconds == pytest.approx(60)
    assert both.parts == ("Cello", "Viola", "Violin 1", "Violin 2")


def test_findings_stand_in_order_of_time_whatever_the_tracks() -> None:
    late, early = finding(bar=9), finding(bar=2, part="Viola")
    assert [mark.finding for mark in work(late, early).marks()] == [early, late]
    assert [mark.finding for mark in work(early, late).marks()] == [early, late]


def test_a_finding_knows_the_share_of_its_piece() -> None:
    (mark,) = work(finding()).marks()
    assert mark.span == pytest.approx(1 / 25)


def test_curing_a_check_leaves_the_others_and_what_was_accepted() -> None:
    meant = finding(accepted="meant")
    other = finding("bow-runs-out", Severity.AWKWARD)
    cured = work(finding(bar=3), meant, other).without("run-too-fast")
    assert [mark.finding for mark in cured.marks()] == [other, meant]
