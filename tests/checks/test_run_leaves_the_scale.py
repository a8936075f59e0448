from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "run-leaves-the-scale"
C_MINOR = "C4 D4 Eb4 F4 G4 Ab4 B4 C5 D5 Eb5 F5 G5"
OPENING = "C4:1 Eb4:1 G4:1 C5:1 |"


def music(run: str, bpm: int = 120, key: int = -3) -> str:
    notes = " ".join(f"{note}:1/4" for note in run.split())
    return f"violin 4/4 q={bpm} key={key} | {OPENING} {notes} G4:1 | C4:4 |"


def with_notes(**odd: str) -> str:
    notes = C_MINOR.split()
    for place, note in odd.items():
        notes[int(place[1:])] = note
    return " ".join(notes)


def test_a_twelve_note_run_in_c_minor_with_two_foreign_notes_is_reported_with_those_two() -> None:
    (found,) = findings(CHECK, music(with_notes(_1="C#4", _9="E5")))
    assert found.severity is Severity.AWKWARD
    assert (found.start.bar, found.start.beat, found.end.bar) == (2, 1, 2)
    assert [item.measured for item in found.evidence] == [2, 8]
    assert "C minor" in found.message
    assert "E5" in found.message
    assert ("C#4" in found.message) or ("Db4" in found.message)
    assert C_MINOR in found.suggestion


def test_the_plain_run_is_fine_up_and_down() -> None:
    assert findings(CHECK, music(C_MINOR)) == []
    assert findings(CHECK, music(" ".join(C_MINOR.split()[::-1]))) == []


def test_one_foreign_note_is_read_two_are_not() -> None:
    assert findings(CHECK, music(with_notes(_9="E5"))) == []
    one = Session(check_params={CHECK: {"foreign_from": 1}})
    assert len(findings(CHECK, music(with_notes(_9="E5")), session=one)) == 1


def test_slower_runs_are_read_note_by_note() -> None:
    odd = with_notes(_1="C#4", _9="E5")
    assert len(findings(CHECK, music(odd, bpm=120))) == 1
    assert findings(CHECK, music(odd, bpm=119)) == []


def test_a_chromatic_run_is_in_the_fingers() -> None:
    run = "C4 C#4 D4 Eb4 E4 F4 F#4 G4 Ab4 A4 Bb4 B4"
    assert findings(CHECK, music(run)) == []


@given(st.integers(-4, 4), st.integers(120, 160))
@settings(max_examples=10)
def test_the_run_is_found_in_every_key(semitones: int, bpm: int) -> None:
    from mockcheck.units import pitch_from_name, pitch_name

    odd = with_notes(_1="C#4", _9="E5").split()
    moved = " ".join(pitch_name(pitch_from_name(note) + semitones) for note in odd)
    key = (7 * semitones - 3 + 6) % 12 - 6
    (found,) = findings(CHECK, music(moved, bpm=bpm, key=key))
    assert found.evidence[0].measured == 2
