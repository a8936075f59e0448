from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from mockcheck.infer.unnamed_switches import find_unnamed_switches
from mockcheck.instruments import instrument
from mockcheck.model.notes import Notes, concatenate_notes
from tests.infer.printed import instrument_of, printed_parts
from tests.infer.tracks import Row, line, notes_from, notes_of

VIOLIN, VIOLA, CELLO = instrument("violin"), instrument("viola"), instrument("cello")
MELODY = line([69, 71, 72, 74, 76, 74, 72, 71] * 4, 0.5)
CELLO_MELODY = line([48, 50, 52, 53, 55, 53, 52, 50] * 4, 0.5)


def found(*rows: Row, player: str = "violin") -> list[tuple[int, int]]:
    result = find_unnamed_switches(notes_of(*rows), instrument(player))
    assert sum(key.presses for key in result.keys) == result.is_switch.sum()
    assert all(0 < key.confidence < 1 and key.evidence for key in result.keys)
    return [(key.pitch, key.presses) for key in result.keys]


def moved(notes: Notes, rows: NDArray[np.int64], pitch: NDArray[np.int64] | int) -> Notes:
    """Some notes put at other pitches, in time order again."""
    column = notes.pitch.copy()
    column[rows] = pitch
    order = np.lexsort((notes.event_index, column, notes.onset_ticks))
    return replace(notes, pitch=column).select(order)


def test_the_tapped_and_the_held_key_far_below_a_violin_line_are_switches() -> None:
    # The line of the quirk file made for this, after the MIDI practice of articulation keys.
    rows = [(24, 0, 0.0625), (67, 0.125, 0.5), (26, 0.5, 1.25), (69, 0.5625, 0.875)]
    assert found(*rows, (71, 0.9375, 1.25)) == [(24, 1), (26, 1)]


@pytest.mark.parametrize("key", [0, 12, 24, 36])
def test_one_press_far_below_before_the_first_note_is_a_switch(key: int) -> None:
    assert found((key, 0.5, 0.9), *MELODY) == [(key, 1)]


def test_a_key_far_above_the_range_is_a_switch() -> None:
    assert found(*CELLO_MELODY, *((108, 1.0 + place, 1.05 + place) for place in range(4)),
                 player="cello") == [(108, 4)]  # fmt: skip


@pytest.mark.parametrize("lead_s", [0.0, 0.02, 0.08])
def test_taps_of_keys_an_octave_below_a_cello_are_switches(lead_s: float) -> None:
    taps = [(24 + place % 3, 1 + place - lead_s, 1.06 + place - lead_s) for place in range(9)]
    assert found(*CELLO_MELODY, *taps, player="cello") == [(24, 3), (25, 3), (26, 3)]


def test_taps_a_step_below_the_music_stay_notes() -> None:
    music = line([59, 57, 55, 57] * 6, 0.5, share=1.05)
    taps = [(54, 1.95 + place, 2.05 + place) for place in range(6)]
    assert found(*music, *taps) == []


def test_two_taps_near_the_range_are_too_few_to_tell() -> None:
    assert found(*CELLO_MELODY, (30, 1, 1.05), (30, 2, 2.05), player="cello") == []


def test_keys_near_the_range_that_go_down_before_their_notes_and_stay_are_switches() -> None:
    held = [(24 + place % 3, 1.97 + 2 * place, 3.7 + 2 * place) for place in range(7)]
    keys = find_unnamed_switches(notes_of(*CELLO_MELODY, *held), CELLO).keys
    assert [(key.pitch, key.presses, key.is_held) for key in keys] == [
        (24, 3, True),
        (25, 2, True),
        (26, 2, True),
    ]


def test_tapped_keys_hold_until_the_next_one() -> None:
    taps = [(24 + place % 2, 0.95 + place, 1.05 + place) for place in range(8)]
    keys = find_unnamed_switches(notes_of(*CELLO_MELODY, *taps), CELLO).keys
    assert [key.is_held for key in keys] == [False, False]


def test_a_row_of_keys_that_reaches_from_far_to_near_is_found_whole() -> None:
    taps = [(38 + place, 0.95 + place, 1.05 + place) for place in range(12)]
    assert found(*MELODY, *taps) == [(38 + place, 1) for place in range(12)]


def test_a_wrong_note_beside_a_row_of_switches_stays_a_note() -> None:
    taps = [(12 + place % 4, 0.95 + place, 1.05 + place) for place in range(12)]
    wrong = [(51, *row[1:]) if place == 9 else row for place, row in enumerate(MELODY)]
    assert found(*wrong, *taps) == [(12, 3), (13, 3), (14, 3), (15, 3)]


def test_a_single_far_key_among_notes_that_stray_is_one_of_them() -> None:
    far = (36, 3.95, 4.05)
    assert found(*MELODY, far) == [(36, 1)]
    stray = [(53, *row[1:]) if place in (5, 14, 22) else row for place, row in enumerate(MELODY)]
    assert found(*stray, far) == []


@pytest.mark.parametrize("missing", range(1, 13))
@pytest.mark.parametrize("share", [0.5, 0.9, 1.05])
def test_a_wrong_note_inside_a_line_stays_a_note(missing: int, share: float) -> None:
    wrong = line([69, 71, 72, 55 - missing, 76, 74, 72, 71] * 4, 0.5, share=share)
    assert found(*wrong) == []


def test_a_low_note_of_a_dotted_rhythm_stays_a_note() -> None:
    rows: list[Row] = []
    for beat in range(16):
        rows += [
            (69 + beat % 5, beat / 2, beat / 2 + 0.34),
            (52, beat / 2 + 0.375, beat / 2 + 0.48),
        ]
    assert found(*rows) == []


def test_a_stepwise_line_that_dips_below_the_range_stays_a_line() -> None:
    assert found(*line([60, 58, 57, 55, 53, 52, 50, 52, 53, 55], 0.5)) == []


@pytest.mark.parametrize("octaves", [1, 2])
def test_a_passage_an_octave_or_two_too_low_stays_a_melody(octaves: int) -> None:
    low = [pitch - 12 * octaves for pitch in (62, 64, 65, 67, 69, 67, 65, 64)]
    assert found(*MELODY, *line(low, 0.5, begin_s=20)) == []


def test_a_sustained_bass_under_a_melody_stays_music() -> None:
    bass = [
        (pitch, 1 + 2.0 * bar, 2.9 + 2.0 * bar) for bar, pitch in enumerate([48, 53, 55, 43] * 2)
    ]
    assert found(*MELODY, *bass) == []


def test_double_stops_with_a_low_note_stay_double_stops() -> None:
    low = line([50, 52, 53, 55] * 4, 0.5)
    assert found(*low, *line([69, 71, 72, 74] * 4, 0.5)) == []


def test_a_part_for_another_instrument_has_no_switches() -> None:
    assert found(*line([36, 38, 40, 41, 43, 45, 47, 48], 0.5)) == []


def test_short_upper_notes_over_longer_ones_stay_music() -> None:
    rows: list[Row] = []
    for beat in range(24):
        begin = beat / 2
        rows += [(83 - beat % 4, begin, begin + 0.495), (95 - beat % 4, begin, begin + 0.15)]
    assert found(*rows, player="viola") == []


def test_nothing_of_a_published_quartet_is_a_switch() -> None:
    for part in printed_parts():
        player = instrument(instrument_of(part.track.name or ""))
        assert not find_unnamed_switches(part.track.notes, player).is_switch.any()


@pytest.mark.parametrize("count", [1, 5, 60])
def test_no_wrong_note_put_into_a_published_quartet_is_lost(count: int) -> None:
    chance = np.random.default_rng(count)
    for part in printed_parts(most_files=2):
        notes, player = part.track.notes, instrument(instrument_of(part.track.name or ""))
        for _ in range(5):
            rows = chance.choice(len(notes), count, replace=False)
            wrong = moved(notes, rows, player.lowest - chance.integers(1, 13, count))
            assert not find_unnamed_switches(wrong, player).is_switch.any()


@pytest.mark.parametrize("octave", [12, 24])
def test_no_passage_of_a_published_quartet_in_a_wrong_octave_is_lost(octave: int) -> None:
    chance = np.random.default_rng(octave)
    for part in printed_parts(most_files=2):
        notes, player = part.track.notes, instrument(instrument_of(part.track.name or ""))
        first = int(chance.integers(len(notes) - 60))
        rows = np.arange(first, first + 60)
        low = moved(notes, rows, notes.pitch[rows].astype(np.int64) - octave)
        assert not find_unnamed_switches(low, player).is_switch.any()


@pytest.mark.parametrize("habit", ["before", "with", "held", "in advance"])
@pytest.mark.parametrize("base", [0, 12])
def test_all_far_switches_put_into_a_published_quartet_are_found(habit: str, base: int) -> None:
    chance = np.random.default_rng(base)
    for part in printed_parts(most_files=2):
        notes, player = part.track.notes, instrument(instrument_of(part.track.name or ""))
        place = np.sort(chance.choice(len(notes), 20, replace=False))
        note_s = notes.onset_s[place]
        lead_s = {"before": 0.05, "with": 0.0, "held": 0.03, "in advance": 0.3}[habit]
        length_s = {"before": 0.06, "with": 0.04, "held": 1.5, "in advance": 0.2}[habit]
        onset_s = np.maximum(note_s - lead_s, 0)
        keys = base + chance.integers(0, 6, 20)
        pressed = notes_from(keys, onset_s, onset_s + length_s)
        # Ticks of the helper are milliseconds; here they have to be the quartet's.
        tempo = part.track.timeline.tempo
        pressed = replace(
            pressed,
            onset_ticks=tempo.ticks_at(pressed.onset_s),
            release_ticks=tempo.ticks_at(pressed.release_s),
        )
        both, origin = concatenate_notes([notes, pressed])
        assert np.array_equal(find_unnamed_switches(both, player).is_switch, origin == 1)
