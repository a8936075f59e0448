import numpy as np

from mockcheck.infer.lines import player_line
from tests.phrases import phrase


def test_notes_chords_and_strokes_become_events() -> None:
    player = player_line(phrase("violin 4/4 q=80 | (A4:1 B4:1) G3+E4:2 |"))
    assert player is not None
    assert player.line.events == [(69,), (71,), (55, 64)]
    assert player.line.strokes == ["separate", "slurred", "separate"]
    assert np.allclose(player.line.onset_s, [0, 0.75, 1.5])


def test_a_chord_nobody_holds_goes_on_with_its_top_note() -> None:
    player = player_line(phrase("violin 4/4 q=80 | A4:2 G3+A3:2 |"))
    assert player is not None
    assert player.line.events == [(69,), (57,)]


def test_notes_out_of_range_are_left_out() -> None:
    player = player_line(phrase("violin 4/4 q=80 | A4:2 F3:1 B4:1 |"))
    assert player is not None
    assert player.line.events == [(69,), (71,)]


def test_of_a_trill_only_the_first_note_counts() -> None:
    trill = " ".join(["A4:1/8 B4:1/8"] * 8)
    player = player_line(phrase(f"violin 4/4 q=90 | A4:2 {trill} | C5:4 |"))
    assert player is not None
    assert len(player.line.events) <= 4


def test_repetitions_leave_the_hand_alone_and_short_ones_go_at_the_rate_of_a_tremolo() -> None:
    player = player_line(phrase("violin 4/4 q=120 | A4:1/2 A4:1/2 B4:1/2 B4:1/2 C5:1 E5:1 |"))
    assert player is not None
    assert player.line.strokes == [
        "separate",
        "free",
        "repeated",
        "free",
        "repeated",
        "separate",
    ]
    long = player_line(phrase("violin 4/4 q=120 | " + "A4:1/2 " * 6 + "B4:1 | C5:4 |"))
    assert long is not None
    assert long.line.strokes[6] == "free"


def test_a_guessed_bowing_may_be_eased_and_a_named_one_not() -> None:
    guess = player_line(phrase("violin 4/4 q=80 | A4:1 B4:1 C5:1 D5:1 |"))
    named = player_line(phrase("violin detache 4/4 q=80 | A4:1 B4:1 C5:1 D5:1 |"))
    assert guess is not None
    assert named is not None
    assert named.loose_strokes == named.line.strokes == ["separate"] * 4
    assert set(guess.loose_strokes) <= {"separate", "slurred"}


def test_a_harmonic_is_where_the_hand_touches_it() -> None:
    # G5 touched a fourth above the open G string, or another way that is as easy; E4 is no
    # harmonic of the violin at all: common practice, no source.
    player = player_line(phrase("violin harmonics 4/4 q=60 | G5:2 E4:2 |"))
    assert player is not None
    assert len(player.line.events) == 1
    assert player.line.events[0][0] < 79


def test_plucked_notes_need_no_bow() -> None:
    player = player_line(phrase("violin 4/4 q=80 program=45 | A4:1 B4:1 C5:2 |"))
    assert player is not None
    assert player.line.strokes[1:] == ["free", "free"]


def test_a_full_ensemble_patch_has_no_line() -> None:
    assert player_line(phrase("strings 4/4 q=80 program=48 | A4:1 B4:1 C5:2 |")) is None
