from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "slides-overused"
PLAIN = "A4:1 D5:1 F5:1 D5:1 | E5:1 C5:1 A4:1 E5:1 | F5:1 D5:1 A5:1 F5:1 | E5:2 C5:2 |"
SLID = PLAIN.replace(":1 ", ":1> ").replace("E5:2 ", "E5:2> ")


def test_a_melody_without_slides_is_fine() -> None:
    assert findings(CHECK, f"violin 4/4 q=72 players=8 | {PLAIN}") == []


def test_a_slide_into_every_note_is_reported_once_over_its_bars() -> None:
    found = findings(CHECK, f"violin 4/4 q=72 players=8 | A4:4 | {SLID}")
    assert [finding.severity for finding in found] == [Severity.AWKWARD]
    assert found[0].start.bar == 2
    assert found[0].end.bar in (4, 5)
    assert found[0].evidence[0].limit == 3
    assert found[0].evidence[0].measured > 50


def test_one_or_two_chosen_slides_are_fine() -> None:
    two = PLAIN.replace("F5:1 D5:1 |", "F5:1> D5:1 |").replace("E5:1 C5:1", "E5:1> C5:1")
    assert findings(CHECK, f"violin 4/4 q=72 players=8 | {two}") == []


def test_the_style_moves_the_limit() -> None:
    four = "| " + PLAIN.replace("E5:1 C5:1", "E5:1> C5:1").replace("A5:1 F5:1", "A5:1> F5:1")
    four = four.replace("F5:1 D5:1 A5", "F5:1> D5:1 A5").replace("A4:1 D5:1", "A4:1> D5:1")
    assert len(findings(CHECK, f"violin 4/4 q=72 players=8 {four}")) == 1
    assert findings(CHECK, f"violin 4/4 q=72 players=8 style=comic {four}") == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"modern_per_100_joins": 100}})
    assert findings(CHECK, f"violin 4/4 q=72 players=8 | {SLID}", session=session) == []


@given(st.integers(60, 160))
@settings(max_examples=20)
def test_no_tempo_makes_slides_out_of_none(bpm: int) -> None:
    assert findings(CHECK, f"violin 4/4 q={bpm} players=8 | {PLAIN}") == []


def melody(*slid: int) -> str:
    """Sixteen notes of a slow melody; those counted from 0 slide into the next."""
    pitches = "A4 D5 F5 D5 E5 C5 A4 E5 F5 D5 A5 F5 E5 C5 B4 A4".split()
    notes = [f"{p}:1{'>' if place in slid else ''}" for place, p in enumerate(pitches)]
    bars = [" ".join(notes[first : first + 4]) for first in range(0, 16, 4)]
    return " | ".join(["", *bars, ""])


def test_what_makes_slides_stick_out_more_is_told() -> None:
    (found,) = findings(CHECK, f"violin 4/4 q=72 players=8 {melody(*range(15))}")
    rows = {item.quantity: item for item in found.evidence}
    assert rows["leaps that slide"].measured == 100
    assert rows["slides of one length"].measured > 50
    assert "8 players slide at once" in found.message
    assert "slides on short notes" not in rows


def test_slides_on_quick_notes_and_over_seconds_are_told() -> None:
    quick = "violin 4/4 q=160 players=8 | " + "A4:1/2> B4:1/2> C#5:1/2> B4:1/2> " * 4 + "A4:2 |"
    rows = {item.quantity for item in findings(CHECK, quick)[0].evidence}
    assert {"slides on short notes", "slides over a second"} <= rows


def test_one_player_may_slide_three_times_as_often_as_a_section() -> None:
    # 0.1 slides a bar against 0.03, slow melody today (from memory).
    limits = {
        players: findings(CHECK, f"violin 4/4 q=72 players={players} {melody(*range(15))}")[0]
        for players in (1, 8)
    }
    assert limits[1].evidence[0].limit == 3 * limits[8].evidence[0].limit
    assert "slide at once" not in limits[1].message


def test_the_slide_to_keep_rises_to_the_top_of_the_phrase() -> None:
    (found,) = findings(CHECK, f"violin 4/4 q=72 players=8 {melody(*range(15))}")
    # D5 to A5, the highest note: the 10th of the slides.
    assert "keep the 10th (D5 to A5, up to the top of the phrase)" in found.suggestion


def test_a_romantic_style_keeps_more() -> None:
    two = "violin 4/4 q=72 players=8 style=romantic " + melody(*range(15)) + melody(*range(15))[2:]
    (found,) = findings(CHECK, two)
    kept = found.suggestion.count(" to ")
    assert kept >= 3


def test_no_slide_from_an_open_lowest_string_is_kept() -> None:
    low = "violin 4/4 q=72 players=8 | G3:1> D4:1> G3:1> D4:1> | G3:1> D4:1> A3:1> B3:2 |"
    (found,) = findings(CHECK, low)
    assert "A3 to B3" in found.suggestion


def test_the_slides_of_a_long_passage_are_counted_as_people_count() -> None:
    # The 11th slide is the first to rise to the highest note.
    line = "A4:1> C5:1> " * 5 + "A4:1> D5:1> A4:1> D5:1> A4:2 |"
    (found,) = findings(CHECK, f"violin 4/4 q=72 players=8 style=romantic | {line}")
    assert "the 11th (A4 to D5" in found.suggestion
