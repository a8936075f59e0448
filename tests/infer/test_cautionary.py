from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import corpus, pitch, stream

from mockcheck.infer.cautionary import cautionary
from mockcheck.infer.printed_signs import printed_signs
from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import SpellingColumns
from mockcheck.units import pitch_from_name
from tests.phrases import phrase
from tests.reading.printed_spelling import fifths_of
from tests.report.synthetic import BAR, VIOLIN, frames_timeline, part_of


def reminded(bars: str, key: int = 0) -> list[str]:
    """Notes that want a reminder as 'bar: name', from bars of printed names."""
    table = [bar.split() for bar in bars.split("|")]
    part = printed([[(name, place) for place, name in enumerate(bar)] for bar in table], key)
    names = [name for bar in table for name in bar]
    numbers = [number for number, bar in enumerate(table, start=1) for _ in bar]
    found = np.flatnonzero(cautionary(part)).tolist()
    return [f"{numbers[row]}: {names[row]}" for row in found]


def printed(bars: Sequence[Sequence[tuple[str, float]]], key: int = 0) -> PlayedPart:
    """A part as an edition spells it: in each bar names with their places, at most 16."""
    rows = [
        (pitch_from_name(name), round(BAR * (bar + place / 16)), name)
        for bar, notes in enumerate(bars)
        for name, place in notes
    ]
    rows.sort(key=lambda row: (row[1], row[0]))
    part = part_of("Violin 1", VIOLIN, [(note, tick, tick + 10) for note, tick, _ in rows])
    fifths = np.array([fifths_of(name) for _, _, name in rows], np.int8)
    keys = np.full(len(rows), key, np.int8)
    spelling = SpellingColumns(fifths, fifths.copy(), keys, keys.copy(), np.ones(len(rows), bool))
    return replace(part, spelling=spelling)


def test_the_letter_altered_in_the_bar_before_is_reminded_once() -> None:
    assert reminded("F#5 G5 | F5 F5 G5") == ["2: F5"]


def test_two_bars_later_it_is_forgotten() -> None:
    assert reminded("F#5 G5 | A5 | F5") == []
    assert reminded("F#5 G5 | | F5") == []


def test_another_octave_in_the_same_bar_is_reminded() -> None:
    assert reminded("F#4 G4 F5 F5") == ["1: F5"]


def test_another_octave_altered_in_the_bar_before_is_reminded() -> None:
    assert reminded("F#4 G4 | F5") == ["2: F5"]


def test_a_sign_that_is_needed_is_no_reminder() -> None:
    assert reminded("F#5 F5 | G5 F#5") == []


def test_the_signature_is_what_a_reminder_goes_back_to() -> None:
    assert reminded("F5 G5 | F#5", key=1) == ["2: F#5"]
    assert reminded("F#5 G5 | F#5", key=1) == []


def test_what_was_put_right_within_the_bar_before_needs_none() -> None:
    assert reminded("F#5 G5 F5 | F5") == []


def test_music_in_its_key_needs_none() -> None:
    assert reminded("C5 D5 E5 F5 | G5 F5 E5 D5") == []


def test_a_part_without_bars_or_spelling_has_none() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 900)], timeline=frames_timeline())
    assert cautionary(part).tolist() == [False]
    assert cautionary(part_of("Violin 1", VIOLIN, [(60, 0, 900)])).tolist() == [False]


def test_it_reads_what_was_heard_and_written() -> None:
    part = phrase("violin 4/4 q=100 key=0 | F#5:1 G5:3 | F5:4 |")
    assert cautionary(part).tolist() == [False, False, True]


NAMES = st.sampled_from([f"{letter}{sign}4" for letter in "CDEFGAB" for sign in ("", "#", "b")])


@given(st.lists(st.lists(NAMES, min_size=1, max_size=6), min_size=1, max_size=5))
def test_a_reminder_never_stands_where_a_sign_does_and_once_a_line(bars: list[list[str]]) -> None:
    part = printed([[(name, place) for place, name in enumerate(bar)] for bar in bars])
    signs, wanted = printed_signs(part), cautionary(part)
    assert signs is not None
    assert not (signs.is_printed & wanted).any()
    places = list(zip(signs.bar_index[wanted], signs.step[wanted], strict=True))
    assert len(places) == len(set(places))


@dataclass(frozen=True)
class Shown:
    """A part of a corpus work and the signs another library would show; masks of its notes."""

    part: PlayedPart
    by_library: np.ndarray[tuple[int], np.dtype[np.bool_]]


def shown_by_music21(work: str) -> Iterator[Shown]:
    """music21's own decision, with reminders in all octaves as its default has them."""
    for part in corpus.parse(work).parts:
        bars: list[list[tuple[str, float]]] = []
        shown: list[list[tuple[float, int, bool]]] = []
        past: list[pitch.Pitch] = []
        altered: list[pitch.Pitch] = []
        keys = set()
        for measure in part.getElementsByClass(stream.Measure):
            if measure.keySignature is not None:
                altered = measure.keySignature.alteredPitches
                keys.add(measure.keySignature.sharps)
            notes = [
                (float(note.offset), one)
                for note in measure.flatten().notes
                if not note.duration.isGrace and (note.tie is None or note.tie.type == "start")
                for one in sorted(note.pitches, key=lambda one: one.midi)
            ]
            here: list[pitch.Pitch] = []
            bars.append([])
            shown.append([])
            for offset, one in notes:
                own = pitch.Pitch(one.nameWithOctave)
                own.updateAccidentalDisplay(
                    pitchPast=here,
                    pitchPastMeasure=past,
                    alteredPitches=altered,
                    cautionaryPitchClass=True,
                    cautionaryAll=False,
                    overrideStatus=True,
                    cautionaryNotImmediateRepeat=False,
                )
                here.append(own)
                is_shown = own.accidental is not None and bool(own.accidental.displayStatus)
                bars[-1].append((own.nameWithOctave.replace("-", "b"), 2 * offset))
                shown[-1].append((offset, own.midi, is_shown))
            past = here
        assert len(keys) == 1
        flat = [flag for bar in shown for _, _, flag in sorted(bar, key=lambda row: row[:2])]
        yield Shown(printed(bars, keys.pop()), np.array(flat))


@pytest.mark.parametrize("work", ["mozart/k80/movement1", "haydn/opus1no1/movement1"])
def test_published_movements_get_the_reminders_another_library_gives(work: str) -> None:
    ours = theirs = both = needed = shown = 0
    for found in shown_by_music21(work):
        signs, wanted = printed_signs(found.part), cautionary(found.part)
        assert signs is not None
        reminders = found.by_library & ~signs.is_printed
        ours, theirs = ours + int(wanted.sum()), theirs + int(reminders.sum())
        both += int((wanted & reminders).sum())
        needed += int(signs.is_printed.sum())
        shown += int((signs.is_printed & found.by_library).sum())
    assert theirs > 0
    # In eight more movements 329 are the same, 5 are ours alone, 4 the library's alone.
    assert both >= 0.95 * max(ours, theirs)
    assert shown >= 0.97 * needed
