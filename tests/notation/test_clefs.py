from hypothesis import given
from hypothesis import strategies as st

from mockcheck.notation._accidentals import staff_step
from mockcheck.notation.clefs import (
    ALTO,
    BASS,
    TENOR,
    TREBLE,
    choose_clefs,
    clefs_for,
    ledger_lines,
)

MIDDLE_C = 35
STEPS = st.lists(st.lists(st.integers(20, 60), max_size=8), min_size=1, max_size=12)


def names(instrument: str, *bars: list[int], rested: bool = False) -> list[str]:
    return [clef.name for clef in choose_clefs(instrument, bars, [rested] * len(bars))]


def test_the_lowest_lines_are_e4_f3_d3_and_g2() -> None:
    lines = ((64, 4), (53, -1), (50, 2), (43, 1))
    steps = [staff_step(pitch, fifths) for pitch, fifths in lines]
    assert [clef.bottom for clef in (TREBLE, ALTO, TENOR, BASS)] == steps


def test_ledger_lines_are_counted_on_both_sides() -> None:
    assert ledger_lines(MIDDLE_C, TREBLE) == 1
    assert ledger_lines(MIDDLE_C, BASS) == 1
    assert ledger_lines(MIDDLE_C, ALTO) == 0
    assert [ledger_lines(step, TREBLE) for step in (36, 37, 45, 46, 47, 49)] == [0, 0, 0, 0, 1, 2]


def test_each_instrument_begins_in_its_usual_clef() -> None:
    assert [clefs_for(name)[0] for name in ("violin", "viola", "cello")] == [TREBLE, ALTO, BASS]
    assert clefs_for("double bass 5 string")[0] is BASS


def test_a_long_high_passage_changes_the_clef_and_a_summit_does_not() -> None:
    low, high, summit = [26, 28, 30, 32], [44, 45, 46, 47], [44, 30, 28, 26]
    assert names("cello", low, high, high, high, low, low) == [
        "bass",
        "treble",
        "treble",
        "treble",
        "bass",
        "bass",
    ]
    assert names("cello", low, summit, low) == ["bass"] * 3


def test_a_cello_phrase_just_above_the_staff_takes_the_tenor_clef() -> None:
    phrase = [38, 39, 40, 39, 38, 39, 40, 41]
    assert names("cello", [28, 30], phrase, phrase, phrase, [28, 30])[1:4] == ["tenor"] * 3


def test_a_violin_reads_one_clef() -> None:
    assert names("violin", [33], [60, 60, 60, 60]) == ["treble", "treble"]


def test_after_a_rest_a_change_costs_less() -> None:
    low, high = [20, 21, 22, 20], [42] * 8
    assert names("cello", low, high, low)[1] == "bass"
    assert names("cello", low, high, low, rested=True)[1] != "bass"


@given(STEPS)
def test_no_other_row_with_one_clef_for_all_bars_reads_better(bars: list[list[int]]) -> None:
    chosen = choose_clefs("cello", bars, [False] * len(bars))
    hard = sum(
        max(ledger_lines(step, clef) - 2, 0)
        for steps, clef in zip(bars, chosen, strict=True)
        for step in steps
    )
    in_bass = sum(max(ledger_lines(step, BASS) - 2, 0) for steps in bars for step in steps)
    assert hard <= in_bass
