from dataclasses import replace

from mockcheck.grade.attention import notes_for_teacher
from mockcheck.grade.points import grade_submission
from mockcheck.grade.reference import ReferenceReport
from mockcheck.grade.rubric import read_rubric
from mockcheck.grade.submission import Piece, Submission
from mockcheck.model.acceptance import Acceptance, UnusedAcceptance
from mockcheck.model.finding import Finding
from mockcheck.model.record import ReviewRecord
from mockcheck.model.score import ReadWarning
from tests.grade.works import even_music, finding, record


def notes(
    made: ReviewRecord | None = None,
    *findings: Finding,
    report: ReferenceReport | None = None,
    broken: tuple[str, ...] = (),
) -> tuple[str, ...]:
    own = Piece("piece.mid", made or record(*findings), even_music())
    grade = grade_submission(Submission("Ada", (own,)), read_rubric(None))
    return notes_for_teacher(grade, report, broken)


def test_a_clear_piece_needs_no_eye() -> None:
    assert notes(None, finding()) == ()


def test_a_guess_is_named_with_its_place() -> None:
    (line,) = notes(None, finding(confidence=0.3, bar=7))
    assert "bar 7" in line
    assert "run-too-fast" in line


def test_a_check_that_failed_is_named_and_what_hangs_on_it_stays_open() -> None:
    lines = notes(record(crashed=("dynamics-never-change",)))
    assert any("dynamics-never-change failed" in line for line in lines)
    assert any("not judged" in line for line in lines)


def test_guessed_players_and_warnings_are_named_and_the_class_brief_is_not() -> None:
    made = record()
    made = replace(
        made,
        tracks=(replace(made.tracks[0], name="Pad 3", confidence=0.3),),
        warnings=(ReadWarning("hanging", "A note has no end.", 1, 40),),
        unused_acceptances=(UnusedAcceptance(Acceptance("meant", id="x-0"), ()),),
    )
    lines = " ".join(notes(made))
    assert "Pad 3" in lines
    assert "A note has no end." in lines
    # One brief serves the class: what it accepts need not be in every piece.
    assert "x-0" not in lines


def test_a_broken_file_is_named() -> None:
    assert "two.mid" in notes(broken=("two.mid",))[0]


def test_music_that_is_hardly_the_models_is_doubted() -> None:
    report = ReferenceReport(100, 20, (), (), (), (), (), (), 0)
    (line,) = notes(report=report)
    assert "model" in line
    assert notes(report=replace(report, same=95)) == ()
