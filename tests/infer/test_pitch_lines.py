import numpy as np
import pytest

from mockcheck.infer.bend_spans import note_spans
from mockcheck.infer.pitch_lines import PitchLine, pitch_lines
from mockcheck.model.curves import Curve, empty_curve
from mockcheck.model.notes import concatenate_notes
from tests.infer.tracks import Row, curve, notes_of

PAIR: list[Row] = [(69, 1, 2.02), (76, 2, 3)]
Points = list[tuple[float, float]]


def ramp(begin_s: float, end_s: float, low: float, high: float) -> Points:
    return [
        (begin_s + x * (end_s - begin_s), low + x * (high - low)) for x in np.linspace(0, 1, 21)
    ]


def lines(rows: list[Row], points: Points) -> list[PitchLine]:
    return list(pitch_lines(note_spans(notes_of(*rows), (1,)), {1: curve(points)}))


DRAWN = {
    "on the note it leaves": [*ramp(1.7, 1.99, 0, 700), (2.0, 0.0)],
    "on the note it reaches": ramp(2.0, 2.3, -700, 0),
    "half on each": [*ramp(1.85, 1.99, 0, 330), *ramp(2.0, 2.15, -350, 0)],
}


@pytest.mark.parametrize("points", DRAWN.values(), ids=DRAWN)
def test_a_slide_sounds_the_same_whichever_note_it_is_drawn_on(points: Points) -> None:
    (line,) = lines(PAIR, points)
    assert line.notes == (0, 1)
    assert list(line.home_cents) == [6900, 7600]
    assert [line.cents[0], line.cents[-1]] == [6900, 7600]
    # The pitch never jumps by more than a few of the steps it is drawn in.
    assert max(abs(np.diff(line.cents))) <= 60
    assert np.all(np.diff(line.time_s) > 0)
    assert line.until_s == 3


def test_an_ordinary_join_makes_no_line() -> None:
    assert lines(PAIR, [(0.5, 0.0)]) == []
    vibrato = [(s, 20 * np.sin(2 * np.pi * 6 * s)) for s in np.arange(1, 3, 0.01)]
    assert lines(PAIR, vibrato) == []


def test_a_wheel_reset_a_little_early_or_late_is_taken_out() -> None:
    for reset_s in (1.985, 2.0, 2.015):
        (line,) = lines(PAIR, [*ramp(1.6, 1.9, 0, 700), (reset_s, 0.0)])
        assert line.notes == (0, 1)
        assert max(line.cents) == 7600


def test_a_wheel_that_falls_short_of_the_next_note_stays_on_its_own() -> None:
    (line,) = lines(PAIR, [*ramp(1.7, 1.99, 0, 200), (2.0, 0.0)])
    assert line.notes == (0,)


def test_three_notes_may_lie_on_one_line() -> None:
    rows: list[Row] = [(69, 1, 2), (71, 2, 3), (74, 3, 4)]
    points = [*ramp(1.8, 1.99, 0, 200), (2.0, 0.0), *ramp(2.8, 2.99, 0, 300), (3.0, 0.0)]
    (line,) = lines(rows, points)
    assert line.notes == (0, 1, 2)
    assert [line.place_at(second) for second in (0.5, 1.5, 2.0, 2.5, 9.0)] == [0, 0, 1, 1, 2]


def test_a_rest_ends_a_line() -> None:
    (line,) = lines([(69, 1, 1.99), (76, 2.6, 3)], [*ramp(1.7, 1.98, 0, 700), (2.6, 0.0)])
    assert line.notes == (0,)


def test_notes_with_a_channel_each_lie_on_one_line() -> None:
    # MIDI Polyphonic Expression 1.0, 2.2: a note has its channel, and so has its bend.
    notes, _ = concatenate_notes(
        [notes_of((69, 1, 2.05), channel=2), notes_of((76, 2, 3), channel=3)]
    )
    spans = note_spans(notes, (2, 3))
    assert spans.channel.tolist() == [2, 3]
    bends = {2: curve(ramp(1.85, 1.99, 0, 340)), 3: curve([(1.9, -350), *ramp(2.0, 2.15, -350, 0)])}
    (line,) = pitch_lines(spans, bends)
    assert line.notes == (0, 1)
    assert line.until_s == 3


def test_each_note_of_a_chord_with_channels_of_their_own_goes_its_way() -> None:
    chords = [(2, 64, 1, 2), (3, 69, 1, 2), (4, 65, 2, 3), (5, 74, 2, 3)]
    notes, _ = concatenate_notes([notes_of((p, a, b), channel=c) for c, p, a, b in chords])
    bends = {c: empty_curve() for c in (2, 4, 5)} | {3: curve(ramp(1.7, 1.99, 0, 500))}
    (line,) = pitch_lines(note_spans(notes, (2, 3, 4, 5)), bends)
    assert [int(notes.pitch[note]) for note in line.notes] == [69, 74]


def test_of_two_values_at_one_moment_the_later_is_heard() -> None:
    twice = [(s, value + off) for s, value in ramp(1.5, 1.8, 0, 200) for off in (15.0, 0.0)]
    (line,) = lines([(69, 1, 3)], twice)
    assert line.cents == pytest.approx([6900 + value for _, value in ramp(1.5, 1.8, 0, 200)])


def test_dense_vibrato_is_never_followed() -> None:
    time_s = np.arange(0, 20, 0.002)
    bend = Curve((time_s * 1000).astype(np.int64), time_s, 35 * np.sin(2 * np.pi * 6 * time_s))
    rows = [(60.0 + place % 5, place * 0.5, place * 0.5 + 0.52) for place in range(40)]
    assert list(pitch_lines(note_spans(notes_of(*rows), (1,)), {1: bend})) == []
