import pytest

from mockcheck.infer.note_lengths import measure_lengths
from mockcheck.infer.tremolo_and_trills import find_tremolo, find_trills
from tests.infer.tracks import Row, line, notes_of


def tremolo(*rows: Row) -> list[bool]:
    return list(find_tremolo(measure_lengths(notes_of(*rows))[0]))


def trills(*rows: Row) -> list[bool]:
    return list(find_trills(measure_lengths(notes_of(*rows))[0]))


@pytest.mark.parametrize(("rate", "found"), [(8, True), (12, True), (7, False)])
def test_a_tremolo_repeats_at_least_eight_times_a_second(rate: float, found: bool) -> None:
    # Measured tremolo of orchestra sections: 12 to 13.8 notes a second.
    assert tremolo(*line([62] * 6, 1 / rate)) == [found] * 6


@pytest.mark.parametrize(("count", "found"), [(4, True), (3, False)])
def test_fewer_than_four_repetitions_are_none(count: int, found: bool) -> None:
    assert tremolo(*line([62] * count, 0.08), (64, 3.0, 3.5)) == [found] * count + [False]


@pytest.mark.parametrize(("step", "found"), [(1, True), (3, True), (4, False)])
def test_a_trill_alternates_within_three_semitones(step: int, found: bool) -> None:
    assert trills(*line([69, 69 + step] * 4, 0.09)) == [found] * 8


@pytest.mark.parametrize(("count", "found"), [(6, True), (5, False)])
def test_fewer_than_six_alternations_are_a_turn(count: int, found: bool) -> None:
    assert trills(*line(([69, 71] * 3)[:count], 0.09)) == [found] * count


def test_double_stops_in_turn_are_a_tremolo_of_the_fingers_and_no_trill() -> None:
    rows = line([60, 62] * 4, 0.09) + line([67, 69] * 4, 0.09)
    assert not any(trills(*rows))


def test_silence_has_neither() -> None:
    assert tremolo() == trills() == []
