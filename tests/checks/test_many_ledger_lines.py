import pytest

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "many-ledger-lines"


def music(instrument: str, note: str, beats: int = 16, bpm: int = 120) -> str:
    other = {"violin": "A4", "viola": "A3", "cello": "C3", "double bass": "E2"}[instrument]
    high = " ".join([f"{note}:1"] * beats)
    return f"{instrument} 4/4 q={bpm} | {other}:4 | {high} | {other}:4 |"


@pytest.mark.parametrize(
    ("instrument", "below", "above", "cure"),
    [
        ("violin", "A6", "B6", "octave sign"),
        ("viola", "B5", "C6", "treble clef"),
        ("cello", "C5", "D5", "tenor clef"),
        ("double bass", "C4", "D4", "treble clef"),
    ],
)
def test_five_ledger_lines_for_long_are_remarked_four_are_not(
    instrument: str, below: str, above: str, cure: str
) -> None:
    assert findings(CHECK, music(instrument, below)) == []
    (found,) = findings(CHECK, music(instrument, above))
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.start.beat) == (2, 1)
    assert found.evidence[0].measured == 5
    assert found.evidence[1].measured == pytest.approx(8, abs=0.2)
    assert cure in found.suggestion


def test_a_summit_is_read_as_one() -> None:
    assert findings(CHECK, music("violin", "C7", beats=7)) == []
    assert findings(CHECK, music("violin", "C7", beats=8, bpm=180)) == []


def test_the_longest_of_several_is_named_once() -> None:
    one, two = music("violin", "C7", beats=16), music("violin", "C7", beats=24)
    both = f"{one} {two.partition('|')[2]}"
    (found,) = findings(CHECK, both)
    assert "24 notes" in found.message
    assert "longest of 2" in found.message


def test_limits_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"ledger_lines": 6}})
    assert findings(CHECK, music("violin", "C7"), session=session) == []
