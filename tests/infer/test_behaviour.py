import numpy as np
import pytest

from mockcheck.infer.behaviour import CLASSES, SAYS_NOTHING, describe_behaviour, hear_behaviour
from mockcheck.model.notes import Notes
from tests.infer.tracks import line, notes_of

SCALE = [60, 62, 64, 65, 67, 69, 71, 72]


def words(notes: Notes, is_of_it: list[bool] | None = None) -> str:
    own = np.array([True] * len(notes) if is_of_it is None else is_of_it)
    return describe_behaviour(hear_behaviour(notes), notes.duration_s, own)


@pytest.mark.parametrize(
    ("gap_s", "share", "expected"),
    [
        (0.3, 0.4, "short notes follow"),
        (0.3, 0.8, "separate notes follow"),
        (0.3, 1.1, "connected notes follow"),
        (0.9, 0.8, "long separate notes follow"),
        (0.9, 1.0, "long connected notes follow"),
    ],
)
def test_notes_are_called_by_length_and_connection(
    gap_s: float, share: float, expected: str
) -> None:
    assert words(notes_of(*line(SCALE, gap_s, share))) == expected


def test_fast_repetition_and_fast_alternation_are_heard_before_length() -> None:
    assert words(notes_of(*line([67] * 8, 0.1, 0.6))) == "one pitch repeated fast"
    assert words(notes_of(*line([67, 69] * 4, 0.1, 1.0))) == "two pitches in fast turn"
    assert words(notes_of(*line([67] * 8, 0.25, 0.5))) == "short notes follow"


def test_a_chord_has_the_behaviour_of_each_of_its_notes() -> None:
    both = line(SCALE, 0.5, 0.4) + line([pitch - 12 for pitch in SCALE], 0.5, 0.4)
    heard = hear_behaviour(notes_of(*both))
    assert len(set(heard[:-2].tolist())) == 1


def test_a_long_note_before_a_rest_and_the_last_note_say_nothing() -> None:
    heard = hear_behaviour(notes_of((60, 0, 0.8), (62, 3, 3.2), (64, 4, 4.5)))
    assert heard.tolist()[0] == heard.tolist()[2] == SAYS_NOTHING
    assert 0 <= heard[1] < CLASSES


def test_only_the_notes_of_the_switch_count() -> None:
    notes = notes_of(*line(SCALE, 0.3, 0.4), *line(SCALE, 0.3, 1.0, begin_s=5.0))
    is_first = [True] * 8 + [False] * 8
    assert words(notes, is_first) == "short notes follow"
    assert words(notes, [not own for own in is_first]) == "connected notes follow"
    assert words(notes) == "nothing tells its notes apart"
    assert words(notes, [False] * 16) == "no notes follow"


def test_no_notes_have_no_behaviour() -> None:
    assert len(hear_behaviour(notes_of())) == 0
