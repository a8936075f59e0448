from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "arpeggio-leaves-the-key"
OPENING = "C5:1 E5:1 G5:1 C5:1 | F5:1 D5:1 B4:1 C5:1 |"
ODD = "C4 G#4 D5 Bb5 F#5 C#5 G4 Bb4 E5 C6 G#5 Eb5"
CHORD = "C4 E4 G4 C5 E5 G5 C6 G5 E5 C5 G4 E4"
FAR_CHORD = "C#4 F4 Ab4 C#5 F5 Ab5 C#6 Ab5 F5 C#5 Ab4 F4"


def music(notes: str, bpm: int = 120) -> str:
    figure = " ".join(f"{note}:1/4" for note in notes.split())
    return f"violin 4/4 q={bpm} key=0 | {OPENING} {figure} G4:1 | C5:4 |"


def test_leaps_through_no_chord_and_no_key_are_reported() -> None:
    (found,) = findings(CHECK, music(ODD))
    assert found.severity is Severity.AWKWARD
    assert (found.start.bar, found.start.beat) == (3, 1)
    assert found.evidence[0].measured >= 3
    assert "C major or A minor" in found.message


def test_a_broken_chord_is_one_thing_to_the_eye_in_whatever_key() -> None:
    assert findings(CHECK, music(CHORD)) == []
    assert findings(CHECK, music(FAR_CHORD)) == []


def test_slow_leaps_are_read_one_by_one() -> None:
    assert findings(CHECK, music(ODD, bpm=80)) == []


def test_limits_can_be_set_for_a_session() -> None:
    for values in ({"foreign_from": 12}, {"fast_from": 12}, {"least_notes": 16}):
        assert findings(CHECK, music(ODD), session=Session(check_params={CHECK: values})) == []


def test_notes_of_the_key_that_make_no_chord_are_no_fault() -> None:
    assert findings(CHECK, music("C4 F4 B4 E5 A5 D5 G4 C5 F5 B5 E5 A4")) == []
