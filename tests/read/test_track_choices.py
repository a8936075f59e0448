import pytest

from mockcheck.errors import BadBrief
from mockcheck.model.session import TrackChoice
from mockcheck.read.player_guess import PlayerGuess, guess_players
from mockcheck.read.review_rows import review_rows
from mockcheck.read.track_choices import choices_by_row, follow_choice
from tests.read.score_builder import score, track

HIGH, LOW = "74 76 79 81 74", "48 50 53 45 43"
ROWS = review_rows(
    score(
        track("Conductor"),
        track("Vln 1", HIGH),
        track("Vln 2", HIGH),
        track("Synth [1]", LOW, program=80),
        track("Solo Cello", LOW),
    )
)
GUESSES = guess_players(ROWS)


def followed(row: int, choice: TrackChoice) -> PlayerGuess:
    return follow_choice(ROWS[row], GUESSES[row], choice)


@pytest.mark.parametrize(
    ("pattern", "hit"),
    [
        ("Vln 1", {1}),
        ("vln 1", {1}),
        ("VLN*", {1, 2}),
        ("*", {0, 1, 2, 3, 4}),
        ("Vln ?", {1, 2}),
        ("3", {3}),
        ("Synth [1]", {3}),
        ("Vln [2-9]", {2}),
    ],
)
def test_a_pattern_finds_rows_by_name_or_number(pattern: str, hit: set[int]) -> None:
    chosen = choices_by_row(ROWS, [TrackChoice(pattern, instrument="viola")])
    assert {row for row, choice in enumerate(chosen) if choice.instrument == "viola"} == hit


def test_what_a_later_choice_does_not_say_stays() -> None:
    chosen = choices_by_row(
        ROWS,
        [
            TrackChoice("Vln*", instrument="viola", players=6),
            TrackChoice("Vln 2", instrument="cello"),
        ],
    )
    assert (chosen[1].instrument, chosen[1].players) == ("viola", 6)
    assert (chosen[2].instrument, chosen[2].players) == ("cello", 6)


def test_a_choice_for_many_files_may_match_no_row() -> None:
    chosen = choices_by_row(ROWS, [TrackChoice("Oboe", "viola", is_shared=True)])
    assert [choice.instrument for choice in chosen] == [None] * len(ROWS)
    with pytest.raises(BadBrief, match="no track matches 'Oboe'"):
        choices_by_row(ROWS, [TrackChoice("Oboe", "viola")])


def test_every_fault_is_told_at_once_with_what_would_fit() -> None:
    choices = [
        TrackChoice("Flute"),
        TrackChoice("Vln 1", instrument="kazoo"),
        TrackChoice("Vln 2", articulation="legatissimo"),
    ]
    with pytest.raises(BadBrief) as raised:
        choices_by_row(ROWS, choices)
    for words in (
        "'Flute'",
        "4 'Solo Cello'",
        "'kazoo'",
        "double bass C",
        "'legatissimo'",
        "trill",
    ):
        assert words in str(raised.value)


@pytest.mark.parametrize(
    "choice",
    [
        TrackChoice("Synth*", instrument="cello"),
        TrackChoice("Synth*", instrument=" CELLO "),
        TrackChoice("Synth*", part="Cello 2"),
    ],
)
def test_whom_the_brief_names_plays(choice: TrackChoice) -> None:
    guess = followed(3, choice)
    assert (guess.instrument, guess.confidence) == ("cello", 1.0)
    assert guess.evidence == "named in the brief"
    assert guess.left_out is None


def test_whom_the_brief_leaves_out_does_not_play() -> None:
    guess = followed(1, TrackChoice("Vln 1", leave_out=True, instrument="violin"))
    assert guess.instrument is None
    assert guess.left_out is not None


def test_the_brief_keeps_a_row_in_and_the_range_says_who() -> None:
    guess = followed(3, TrackChoice("Synth*", leave_out=False))
    assert (guess.instrument, guess.left_out) == ("cello", None)
    assert guess.confidence <= 0.4
    assert "only the range" in guess.evidence


def test_the_brief_cannot_seat_a_row_without_notes() -> None:
    guess = followed(0, TrackChoice("Conductor", instrument="violin", leave_out=False))
    assert guess.left_out == "no notes"


def test_a_stroke_alone_leaves_the_guess_as_it_was() -> None:
    guess = followed(1, TrackChoice("Vln 1", articulation="Pizzicato"))
    assert guess.name.articulation == "pizzicato"
    assert guess.confidence == GUESSES[1].confidence
    assert guess.evidence == GUESSES[1].evidence


@pytest.mark.parametrize(
    ("row", "part", "instrument", "is_solo"),
    [
        (4, "Cello 1", "cello", False),
        (1, "Solo Violin", "violin", True),
        (1, "Strings 1", "violin", False),
        (1, "Leaders", "violin", False),
        (1, "Viola", "viola", False),
    ],
)
def test_the_name_of_a_part_says_who_and_whether_solo(
    row: int, part: str, instrument: str, is_solo: bool
) -> None:
    guess = followed(row, TrackChoice("x", part=part))
    assert (guess.instrument, guess.is_solo) == (instrument, is_solo)


def test_a_part_name_is_no_word_against_a_fifth_string() -> None:
    bass = TrackChoice("x", instrument="double bass 5-string", part="Double Bass")
    assert followed(4, bass).instrument == "double bass 5-string"


@pytest.mark.parametrize(
    ("instrument", "section"), [("violin", 1), ("viola", None), ("strings", None)]
)
def test_the_section_goes_with_its_instrument(instrument: str, section: int | None) -> None:
    guess = followed(1, TrackChoice("Vln 1", instrument=instrument))
    assert guess.name.section == section


def test_a_number_of_players_does_not_touch_the_guess() -> None:
    assert followed(1, TrackChoice("Vln 1", players=8)) == GUESSES[1]
