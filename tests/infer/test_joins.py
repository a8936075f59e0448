from mockcheck.infer.joins import slidable_joins
from tests.phrases import phrase


def intervals(text: str) -> list[int]:
    part = phrase(text)
    return [int(part.notes.pitch[b] - part.notes.pitch[a]) for a, b in slidable_joins(part)]


def test_steps_of_a_tone_and_more_without_a_rest_could_slide() -> None:
    assert intervals("violin 4/4 q=80 | (A4:1 B4:1 E5:1 A4:1) |") == [2, 5, -7]


def test_semitones_repeats_and_rests_could_not() -> None:
    assert intervals("violin 4/4 q=80 | (A4:1 Bb4:1) r:1 D5:1/2 D5:1/2 |") == []


def test_plucked_notes_could_not() -> None:
    assert intervals("violin 4/4 q=80 program=45 | (A4:1 E5:1 A4:2) |") == []


def test_the_top_notes_of_chords_are_joined() -> None:
    assert intervals("violin 4/4 q=80 | (D4+A4:2 E4+C5:2) |") == [3]


def test_a_single_note_has_no_joins() -> None:
    assert slidable_joins(phrase("violin 4/4 q=80 | A4:4 |")).shape == (0, 2)


def test_an_open_lowest_string_and_a_join_wider_than_a_string_could_not() -> None:
    # G3 is the open lowest string; only the G string has Ab3, and its board ends before G6.
    assert intervals("violin 4/4 q=80 | (G3:1 B3:1 Ab3:1 G6:1) |") == [-3]
    assert intervals("cello 4/4 q=80 | (G3:1 B3:1 Ab3:1 G5:1) |") == [4, -3, 23]


def test_of_a_whole_string_body_no_string_is_known() -> None:
    assert intervals("Strings 4/4 q=80 program=48 | (G3:1 B3:1 Ab3:1 G6:1) |") == [4, -3, 35]


def test_a_join_that_slides_counts_whatever_it_is() -> None:
    # At this tempo a tenth of a note is too long a gap for a slur; D4 is reached by a semitone.
    assert intervals("violin 4/4 q=60 | A4:1 E5:1 A4:1 D5:1 |") == []
    assert intervals("violin 4/4 q=60 | A4:1> E5:1 C#4:1> D4:1 |") == [7, 1]
