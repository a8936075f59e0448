from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings, phrase

CHECK = "augmented-second-in-fast-notes"
OPENING = "E4:1 F#4:1 G4:1 | B4:1 A4:1 E4:1 |"
FIGURE = "B4 C5 D#5 E5 F#5 E5 D#5 C5 B4 C5 D#5 F#5"


def music(figure: str, bpm: int = 120, key: int = 1) -> str:
    notes = " ".join(f"{note}:1/4" for note in figure.split())
    return f"violin 3/4 q={bpm} key={key} | {OPENING} {notes} | B4:3 |"


def test_c_natural_to_d_sharp_in_semiquavers_is_reported_and_e_flat_offered() -> None:
    (found,) = findings(CHECK, music(FIGURE))
    assert found.severity is Severity.AWKWARD
    assert (found.start.bar, found.start.beat, found.end.bar) == (3, 1.25, 3)
    assert {72, 75} <= set(found.pitches)
    assert [item.measured for item in found.evidence] == [3, 1, 8]
    assert "C5 to D#5, an augmented second" in found.message
    assert "Eb5 instead of D#5" in found.suggestion


def test_the_octave_is_named_as_the_user_names_it() -> None:
    (found,) = findings(CHECK, music(FIGURE), session=Session(middle_c_octave=3))
    assert "C4 to D#4" in found.message


def test_slow_notes_are_worked_out_one_by_one() -> None:
    assert findings(CHECK, music(FIGURE, bpm=90)) != []
    assert findings(CHECK, music(FIGURE, bpm=89)) == []


def test_a_single_step_is_no_more_than_a_remark() -> None:
    single = "B4 C5 D#5 C5 B4 A4 G4 A4 B4 A4 G4 A4"
    (found,) = findings(CHECK, music(single))
    assert found.severity is Severity.REMARK
    assert findings(CHECK, music(single), session=limit(steps_in_figure=2))[0].severity is (
        Severity.AWKWARD
    )


def limit(**values: float) -> Session:
    return Session(check_params={CHECK: values})


def test_plain_scales_and_chords_are_fine() -> None:
    for figure in (
        "E5 D5 C5 B4 A4 G4 F#4 G4 A4 B4 C5 D5",
        "E4 G4 B4 E5 B4 G4 E4 G4 B4 E5 B4 G4",
        "E5 D#5 E5 B4 E5 D#5 E5 B4 E5 D#5 E5 B4",
    ):
        assert findings(CHECK, music(figure)) == []


def test_steps_that_no_spelling_makes_plain_are_left_alone() -> None:
    figure = "A4 Bb4 C#5 D5 C#5 Bb4 A4 G4 F4 E4 F4 G4"
    part = phrase(music(figure, key=-1))
    assert part.spelling is not None
    assert all(
        item.measured >= 1
        for found in findings(CHECK, music(figure, key=-1))
        for item in found.evidence[:1]
    )


def test_bars_of_one_passage_are_one_finding_and_two_passages_two() -> None:
    notes = " ".join(f"{note}:1/4" for note in FIGURE.split())
    head = f"violin 3/4 q=120 key=1 | {OPENING}"
    near = f"{head} {notes} | {notes} | B4:3 | {notes} |"
    assert len(findings(CHECK, near)) == 1
    rests = "B4:3 | " * 9
    assert len(findings(CHECK, f"{head} {notes} | {rests} {notes} |")) == 2


def test_limits_can_be_set_for_a_session() -> None:
    assert findings(CHECK, music(FIGURE), session=limit(fast_from=10)) == []


@given(st.integers(90, 160))
@settings(max_examples=10)
def test_the_figure_is_found_at_every_fast_tempo(bpm: int) -> None:
    (found,) = findings(CHECK, music(FIGURE, bpm=bpm))
    assert found.evidence[0].measured == 3
