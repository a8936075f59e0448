from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.checks.hands import by_hand, found_in
from tests.phrases import findings

CHECK = "identical-repeated-notes"
OPENING = "v60 A4:1 v90 B4:1 v75 C5:1 v65 D5:1 |"


def repeated(count: int) -> str:
    return f"violin 4/4 q=120 | {OPENING} v80 {'A4:1/2. ' * count} v70 C5:2 |"


def test_a_row_of_copies_is_reported_with_its_length_and_distance() -> None:
    (found,) = findings(CHECK, repeated(16))
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.start.beat, found.end.bar) == (2, 1, 3)
    row, in_all = found.evidence
    assert (row.measured, row.limit, in_all.measured) == (16, 8, 16)
    assert "every 250 ms" in found.message


def test_the_same_row_played_by_hand_is_fine() -> None:
    assert found_in(CHECK, by_hand(repeated(16), late_ms=10, touch=3)) == []


def test_an_uneven_touch_or_an_uneven_time_alone_is_enough() -> None:
    assert found_in(CHECK, by_hand(repeated(16), touch=3)) == []
    assert found_in(CHECK, by_hand(repeated(16), late_ms=10)) == []


def test_eight_are_a_row_seven_are_not() -> None:
    assert findings(CHECK, repeated(7)) == []
    assert len(findings(CHECK, repeated(8))) == 1


def test_several_rows_are_one_finding_at_the_longest() -> None:
    two = f"{repeated(8)} v80 {'E5:1/2. ' * 12} v70 C5:2 |"
    (found,) = findings(CHECK, two)
    assert set(found.pitches) == {76}
    assert [item.measured for item in found.evidence] == [12, 20]


def test_leaning_on_the_beats_is_fine() -> None:
    assert findings(CHECK, repeated(16).replace("A4:1/2. A4:1/2.", "v90 A4:1/2. v76 A4:1/2.")) == []


def test_a_crescendo_drawn_over_them_makes_them_differ() -> None:
    drawn = " ".join(f"cc11@{1 + place / 2}={40 + 4 * place} A4:1/2." for place in range(16))
    assert findings(CHECK, f"violin 4/4 q=120 | {OPENING} {drawn} | C5:4 |") == []


def test_slow_repetition_is_no_figure() -> None:
    assert findings(CHECK, repeated(16).replace("q=120", "q=50")) == []


def test_a_part_that_never_changes_is_left_to_the_check_that_says_so() -> None:
    assert findings(CHECK, f"violin 4/4 q=120 | {'A4:1/2. ' * 64} |") == []


def test_the_number_in_a_row_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"least_in_a_row": 20}})
    assert findings(CHECK, repeated(16), session=session) == []


@given(st.integers(8, 40), st.integers(70, 200))
@settings(max_examples=15)
def test_every_row_is_found_at_every_tempo(count: int, bpm: int) -> None:
    music = repeated(count).replace("q=120", f"q={bpm}").replace(OPENING, f"{OPENING} {OPENING}")
    (found,) = findings(CHECK, music)
    assert found.evidence[0].measured == count
