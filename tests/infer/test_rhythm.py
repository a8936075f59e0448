from fractions import Fraction

import numpy as np
import pytest

from mockcheck.model.played import PlayedPart
from mockcheck.model.written import ONSET_KINDS, WrittenRhythm
from tests.checks.hands import by_hand
from tests.phrases import phrase, played
from tests.reading.printed_rhythm import halves
from tests.reading.rhythm_figures import read_played, some_part


def written(part: PlayedPart) -> WrittenRhythm:
    assert part.written is not None
    return part.written


def places(part: PlayedPart) -> list[str]:
    """Beat from 1 and place of each note."""
    rhythm = written(part)
    return [
        f"{beat + 1}+{rhythm.position(note)}"
        for note, beat in enumerate(rhythm.onsets.beat.tolist())
    ]


def test_a_quantised_file_is_only_named() -> None:
    part = phrase("violin 4/4 q=100 | C5:1 D5:1/2 E5:1/2 F5:1/3 G5:1/3 A5:1/3 B5:3/4 C6:1/4 |")
    rhythm = written(part)
    assert rhythm.is_quantised
    assert places(part) == ["1+0", "2+0", "2+1/2", "3+0", "3+1/3", "3+2/3", "4+0", "4+3/4"]
    assert np.abs(rhythm.onsets.deviation_ms).max() < 2
    assert rhythm.onsets.division.tolist() == [1, 2, 2, 3, 3, 3, 4, 4]
    assert np.array_equal(rhythm.ticks().round(), part.notes.onset_ticks)


def test_odd_places_of_a_machine_are_kept_as_they_are() -> None:
    part = phrase("violin 4/4 q=100 | C5:5/16 D5:11/16 E5:7/16 F5:9/16 G5:1/48 A5:47/48 B5:1 |")
    assert places(part)[1:4] == ["1+5/16", "2+0", "2+7/16"]
    assert places(part)[5] == "3+1/48"


@pytest.mark.parametrize("late_ms", [10, 20])
def test_what_a_hand_plays_is_read_as_written(late_ms: float) -> None:
    text = "violin 4/4 q=90 | " + "C5:1 D5:1/2 E5:1/2 F5:3/4 G5:1/4 A5:1/3 B5:1/3 C6:1/3 | " * 8
    drawn = phrase(text)
    (part,) = by_hand(text, late_ms=late_ms).parts
    right = [a == b for a, b in zip(places(part), places(drawn), strict=True)]
    assert np.mean(right) >= 0.97
    assert written(part).jitter_ms == pytest.approx(late_ms, rel=0.4)


def test_the_playing_is_beside_the_place() -> None:
    text = "violin 4/4 q=60 | " + "C5:1 D5:1 E5:1 F5:1 | " * 8
    (part,) = by_hand(text, late_ms=20).parts
    rhythm = written(part)
    off_ms = 1000 * (part.notes.onset_s - np.arange(32)) - rhythm.late_ms
    assert rhythm.onsets.deviation_ms == pytest.approx(off_ms, abs=3)


def test_parts_tell_each_other_how_the_beat_is_divided() -> None:
    between = "viola 4/4 q=132 | " + "D4:17/24 C4:7/24 r:7 | " * 6
    quavers = "violin 4/4 q=132 | " + "C5:1/4 D5:1/4 E5:1/4 F5:1/4 " * 48
    triplets = "violin 4/4 q=132 | " + "C5:1/3 D5:1/3 E5:1/3 " * 48

    def thirds(other: str) -> int:
        count = 0
        for seed in range(4):
            parts = by_hand(other, between, late_ms=15, seed=seed).parts
            (viola,) = [part for part in parts if part.instrument.id == "viola"]
            count += sum(place.endswith("/3") for place in places(viola))
        return count

    assert thirds(triplets) > thirds(quavers)


def test_grace_notes_and_rolled_chords_are_playing() -> None:
    grace = "r:19/20 B4:1/20 C5:3/2 r:1/2 "
    text = "violin 4/4 q=60 | C4:1 C4:1/2 C4:1/2 C4:1 C4:1 | " + grace + "| C4:1 C4:1 C4:2 | " * 6
    (part,) = by_hand(text, late_ms=12).parts
    kinds = [ONSET_KINDS[code] for code in written(part).onsets.kind]
    assert kinds.count("grace") == 1
    assert kinds[5] == "grace"
    assert places(part)[5] == places(part)[6]


def test_divided_lines_are_read_each_alone() -> None:
    part = phrase("violin players=8 4/4 q=100 | C5:1 D5:1 E5:1 F5:1 |")
    assert written(part).voice.tolist() == [0, 0, 0, 0]


def test_a_part_without_notes_and_a_file_without_beats_have_no_rhythm() -> None:
    for part in played("violin 4/4 | C5:1 |", "viola 4/4 | r:4 |").parts:
        assert (part.written is not None) == (len(part.notes) > 0)


def test_the_first_note_of_a_file_has_a_place() -> None:
    assert places(phrase("violin 4/4 | C5:1/8 |")) == ["1+0"]


def test_pick_ups_and_short_bars_keep_beats() -> None:
    part = phrase("violin 3/4 q=100 | r:2 C5:1 | D5:1 E5:1/2 F5:1/2 G5:1 |")
    assert places(part) == ["3+0", "4+0", "5+0", "5+1/2", "6+0"]


@pytest.mark.parametrize(("jitter_ms", "least"), [(0, 0.99), (10, 0.99), (20, 0.97), (30, 0.92)])
def test_published_quartets_come_out_as_printed(jitter_ms: float, least: float) -> None:
    works = [
        work for half in halves() for work in half if work.name in ("quartet_13", "quartet_23")
    ]
    assert works
    part = some_part()
    readings = [read_played(work, jitter_ms, part) for work in works]
    right = sum(reading.right for reading in readings) / sum(reading.notes for reading in readings)
    assert right >= least


def test_places_are_in_lowest_terms() -> None:
    rhythm = written(phrase("violin 4/4 q=100 | C5:1/2 D5:1/4 E5:1/4 F5:1/6 G5:1/3 A5:1/2 |"))
    for note in range(6):
        place = Fraction(int(rhythm.onsets.numerator[note]), int(rhythm.onsets.denominator[note]))
        assert place.numerator == rhythm.onsets.numerator[note]
        assert rhythm.onsets.division[note] % place.denominator == 0
