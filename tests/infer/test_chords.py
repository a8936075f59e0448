from dataclasses import replace

from mockcheck.infer.chords import chord_passages, division_of, is_written_out_harmonic
from mockcheck.model.session import Session, TrackChoice
from mockcheck.playing.chords import ChordAnswer
from tests.phrases import phrase, played


def every(_answer: ChordAnswer, _held_s: float) -> bool:
    return True


def held_long(_answer: ChordAnswer, held_s: float) -> bool:
    return held_s > 1.5


def test_neighbouring_chords_are_one_passage_and_a_single_note_ends_it() -> None:
    part = phrase("violin 4/4 q=60 players=1 | G3+A3:1 G3+B3:1 D4:1 A3+C4:1 |")
    found = list(chord_passages(part, lambda answer, _: not answer.is_playable))
    assert [passage.chords for passage in found] == [2, 1]
    assert [len(passage.note_indices) for passage in found] == [4, 2]


def test_how_long_a_chord_is_held_is_known() -> None:
    part = phrase("violin 4/4 q=60 players=1 | G3+D4+B4:2 G3+D4+B4:1 r:1 |")
    found = list(chord_passages(part, held_long))
    assert [passage.chords for passage in found] == [1]
    assert abs(found[0].longest_s - 1.8) < 0.01


def test_chords_with_a_note_below_the_strings_are_left_to_the_range_check() -> None:
    part = phrase("violin 4/4 q=60 players=1 | C3+E3:4 | A4:4 | A4:4 |")
    assert list(chord_passages(part, every)) == []


def test_a_harmonic_exported_as_three_notes_is_no_chord() -> None:
    # Stopped note, touched fourth and the sound two octaves up: partial 4 of the stopped string.
    assert is_written_out_harmonic((66, 71, 90))
    assert is_written_out_harmonic((66, 73, 85))
    assert not is_written_out_harmonic((66, 70, 90))
    part = phrase("violin 4/4 q=60 players=1 | F#4+B4+F#6:4 |")
    assert list(chord_passages(part, every)) == []


def test_a_section_shares_a_chord_and_a_crowd_of_notes_is_no_chord() -> None:
    part = phrase("violin 4/4 q=60 players=8 | G3+A3:2 C4+D4+E4+F4+G4+A4+B4+C5+D5+E5:2 |")
    answers = [passage.worst for passage in chord_passages(part, every)]
    assert len(answers) == 1
    assert division_of(part, answers[0]) is None
    pair = phrase("violin 4/4 q=60 players=8 | G3+A3:4 |")
    division = division_of(pair, next(chord_passages(pair, every)).worst)
    assert division is not None
    assert [line.players for line in division.lines] == [4, 4]


UPPER, LOWER = "A3:2 B3:2 C4:2 D4:2", "G3:2 G#3:2 A3:2 B3:2"
DIVIDED = f"violin 4/4 q=60 | {UPPER} |", f"violin 4/4 | {LOWER} |"
ONE_PART = Session(tracks=(TrackChoice("*", instrument="violin", part="Violin"),))


def test_a_section_divided_on_tracks_has_no_chords_and_one_player_has() -> None:
    (section,) = played(*DIVIDED, session=ONE_PART).parts
    assert list(chord_passages(section, every)) == []
    (alone,) = played(*DIVIDED, session=replace(ONE_PART, players={"Violin": 1})).parts
    assert [passage.chords for passage in chord_passages(alone, every)] == [4]


def test_chords_doubled_on_two_tracks_stay_chords() -> None:
    chords = "G3+A3:2 G#3+B3:2 A3+C4:2"
    layers = f"violin 4/4 q=60 | {chords} |", f"violin 4/4 | {chords} |"
    (section,) = played(*layers, session=ONE_PART).parts
    assert [passage.chords for passage in chord_passages(section, every)] == [3]
