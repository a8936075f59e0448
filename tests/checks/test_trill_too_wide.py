import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "trill-too-wide"


def trill(low: str, high: str, name: str = "violin", bpm: float = 75) -> list[Finding]:
    """A bar of rest, then demisemiquavers: eight notes a beat, ten a second at 75."""
    bar = " ".join([f"{low}:1/8 {high}:1/8"] * 16)
    return findings(CHECK, f"{name} 4/4 q={bpm} | r:4 | {bar} |")


@pytest.mark.parametrize(("low", "high"), [("B4", "C5"), ("B4", "C#5")])
def test_a_semitone_and_a_tone_are_fine(low: str, high: str) -> None:
    assert trill(low, high) == []


def test_a_low_minor_third_takes_the_whole_hand_of_a_cellist() -> None:
    # 103.6 mm from the first to the fourth semitone of a 690 mm string (ideal string).
    (found,) = trill("Db2", "E2", "cello")
    assert found.severity is Severity.AWKWARD
    assert (found.start.bar, found.start.beat) == (2, 1)
    assert found.evidence[0].measured == pytest.approx(103.6, abs=0.1)
    assert found.pitches == (37, 40) * 16


def test_a_minor_third_on_the_violin_is_only_remarked() -> None:
    assert [found.severity for found in trill("Ab3", "B3")] == [Severity.REMARK]


def test_broken_octaves_rock_the_bow_between_two_strings() -> None:
    # Great Fugue, close: broken octaves of all four; played, and felt.
    assert [found.severity for found in trill("Bb3", "Bb4")] == [Severity.AWKWARD]


def test_a_fifth_under_one_finger_is_only_remarked() -> None:
    assert [found.severity for found in trill("E4", "B4")] == [Severity.REMARK]


def test_a_note_that_no_string_has_is_left_to_the_range() -> None:
    assert trill("F#3", "A3") == []


def test_what_no_hand_reaches_is_risky() -> None:
    assert [found.severity for found in trill("Ab3", "C#6")] == [Severity.RISKY]


def test_the_bass_trills_a_tone_and_not_a_third_in_low_positions() -> None:
    assert trill("F1", "G1", "double bass", bpm=60) == []
    assert [f.severity for f in trill("F1", "Ab1", "double bass", bpm=60)] == [Severity.RISKY]


def test_just_inside_and_just_outside_the_fastest_trill() -> None:
    # 16 notes a second on the violin, 13 on the cello, from memory: q = 120 and 97.5.
    assert trill("B4", "C5", bpm=119) == []
    (found,) = trill("B4", "C5", bpm=122)
    assert found.severity is Severity.AWKWARD
    assert found.evidence[0].limit == 16
    assert found.evidence[0].measured == pytest.approx(16.27, abs=0.1)
    assert len(trill("B3", "C4", "cello", bpm=122)) == 1
    assert trill("B3", "C4", "cello", bpm=96) == []


def test_slow_alternation_is_no_trill() -> None:
    assert trill("Db2", "E2", "cello", bpm=50) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"easy_semitones": 3}})
    bar = " ".join(["Db2:1/8 E2:1/8"] * 16)
    assert findings(CHECK, f"cello 4/4 q=75 | {bar} |", session=session) == []


def test_above_an_open_string_one_finger_beats_alone() -> None:
    assert trill("D4", "F4") == []
    assert trill("C2", "E2", "cello") == []


def test_a_turn_and_a_plucked_figure_are_fine() -> None:
    assert findings(CHECK, "cello 4/4 q=75 | Db2:1/8 E2:1/8 Db2:1/8 E2:1/8 Db2:7/2 |") == []
    assert trill("Db2", "E2", "cello pizz") == []


@given(st.integers(56, 80), st.integers(1, 12), st.floats(61, 110))
@settings(max_examples=25)
def test_up_to_a_tone_nothing_and_beyond_it_never_impossible(
    low: int, width: int, bpm: float
) -> None:
    found = trill(str(low), str(low + width), bpm=bpm)
    assert width > 2 or not found
    assert all(finding.severity < Severity.IMPOSSIBLE for finding in found)
