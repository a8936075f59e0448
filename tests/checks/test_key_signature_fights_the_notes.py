import pytest

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "key-signature-fights-the-notes"
E_MAJOR = "E4:1 F#4:1 G#4:1 A4:1 | B4:1 C#5:1 D#5:1 E5:1 | " * 8
C_MAJOR = "C4:1 D4:1 E4:1 F4:1 | G4:1 A4:1 B4:1 C5:1 | " * 8


def music(notes: str, key: int | None) -> str:
    signature = "" if key is None else f" key={key}"
    return f"violin 4/4 q=100{signature} | {notes}"


def test_e_major_under_c_major_is_reported_with_the_better_signature() -> None:
    (found,) = findings(CHECK, music(E_MAJOR, 0))
    assert found.severity is Severity.AWKWARD
    assert [item.measured for item in found.evidence] == [50, 0]
    assert "four sharps (E major or C sharp minor)" in found.message
    assert "four sharps" in found.suggestion


@pytest.mark.parametrize("key", [4, None])
def test_the_right_signature_or_none_is_fine(key: int | None) -> None:
    assert findings(CHECK, music(E_MAJOR, key)) == []


def test_plain_c_major_is_fine() -> None:
    assert findings(CHECK, music(C_MAJOR, 0)) == []


def test_it_is_said_once_for_all_parts_beside_the_top_one() -> None:
    parts = music(E_MAJOR, 0), music(E_MAJOR, 0).replace("violin", "viola")
    for order in (parts, parts[::-1]):
        (found,) = findings(CHECK, *order)
        assert found.part == "Violin"


def test_a_few_notes_say_nothing() -> None:
    short = "E4:1 F#4:1 G#4:1 A4:1 | B4:1 C#5:1 D#5:1 E5:1 | " * 4
    assert findings(CHECK, music(short, 0)) == []


def test_limits_can_be_set_for_a_session() -> None:
    easy = Session(check_params={CHECK: {"accidentals_from": 60}})
    (found,) = findings(CHECK, music(E_MAJOR, 0), session=easy)
    assert found.severity is Severity.REMARK
    strict = Session(check_params={CHECK: {"least_notes": 200}})
    assert findings(CHECK, music(E_MAJOR, 0), session=strict) == []


@pytest.mark.parametrize(("better_by", "expected"), [(2, 1), (20, 0)])
def test_another_signature_has_to_save_enough(better_by: float, expected: int) -> None:
    # Two F naturals in 64 notes of E major: 47 accidentals in 100 notes as written, 3 at best.
    stray = E_MAJOR.replace("F#4:1", "F4:1", 2)
    session = Session(check_params={CHECK: {"better_by": better_by}})
    assert len(findings(CHECK, music(stray, 0), session=session)) == expected
