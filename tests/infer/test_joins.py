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
