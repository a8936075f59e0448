from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import corpus, pitch, stream

from mockcheck.model.notated import NotatedEvent, NotatedHead
from mockcheck.notation._accidentals import with_accidentals
from mockcheck.units import pitch_from_name
from tests.reading.printed_spelling import fifths_of


def heads_of(bars: Sequence[Sequence[str]], keys: Sequence[int]) -> list[list[NotatedHead]]:
    """Heads of each bar with what is printed, from names; one voice of quarters."""
    written = [
        [
            [
                NotatedEvent(
                    start=Fraction(place),
                    length=Fraction(1),
                    value="quarter",
                    heads=(NotatedHead(pitch_from_name(name), fifths_of(name), (place,)),),
                )
                for place, name in enumerate(bar)
            ]
        ]
        for bar in bars
    ]
    return [
        [event.heads[0] for event in voice]
        for bar in with_accidentals(written, keys)
        for voice in bar
    ]


def reminded(bars: str, *keys: int) -> list[str]:
    """Notes with a reminder as 'bar: name', from bars of names; the last key stays."""
    table = [bar.split() for bar in bars.split("|")]
    given_keys = list(keys) or [0]
    heads = heads_of(table, given_keys + given_keys[-1:] * (len(table) - len(given_keys)))
    return [
        f"{number}: {name}"
        for number, (names, row) in enumerate(zip(table, heads, strict=True), start=1)
        for name, head in zip(names, row, strict=True)
        if head.is_cautionary
    ]


def test_the_letter_altered_in_the_bar_before_is_reminded_once() -> None:
    assert reminded("F#5 G5 | F5 F5 G5") == ["2: F5"]


def test_two_bars_later_it_is_forgotten() -> None:
    assert reminded("F#5 G5 | A5 | F5") == []
    assert reminded("F#5 G5 | | F5") == []


def test_another_octave_in_the_same_bar_is_reminded() -> None:
    assert reminded("F#4 G4 F5 F5") == ["1: F5"]


def test_another_octave_altered_in_the_bar_before_is_reminded() -> None:
    assert reminded("F#4 G4 | F5") == ["2: F5"]


def test_a_line_that_was_put_right_needs_none_for_another_octave() -> None:
    assert reminded("F5 F#4 G4 | F5") == []


def test_a_sign_that_is_needed_is_no_reminder() -> None:
    assert reminded("F#5 F5 | G5 F#5") == []


def test_the_signature_is_what_a_reminder_goes_back_to() -> None:
    assert reminded("F5 G5 | F#5", 1) == ["2: F#5"]
    assert reminded("F#5 G5 | F#5", 1) == []


def test_a_new_signature_says_it_itself() -> None:
    assert reminded("F5 G5 | F#5", 0, 1) == []
    assert reminded("F#5 G5 | F#5", 0, 1) == []
    assert reminded("F#5 G5 | F5", 0, -1) == ["2: F5"]


def test_what_was_put_right_within_the_bar_before_needs_none() -> None:
    assert reminded("F#5 G5 F5 | F5") == []


def test_music_in_its_key_needs_none() -> None:
    assert reminded("C5 D5 E5 F5 | G5 F5 E5 D5") == []


def test_a_note_held_over_the_bar_line_gets_no_sign() -> None:
    held = NotatedHead(pitch_from_name("F#5"), fifths_of("F#5"), (0,), is_tied_from=True)
    event = NotatedEvent(start=Fraction(0), length=Fraction(1), value="quarter", heads=(held,))
    assert with_accidentals([[[event]]], [0])[0][0][0].heads == (held,)


NAMES = st.sampled_from([f"{letter}{sign}4" for letter in "CDEFGAB" for sign in ("", "#", "b")])


@given(
    st.lists(st.lists(NAMES, min_size=1, max_size=6), min_size=1, max_size=5), st.integers(-7, 7)
)
def test_a_reader_of_the_page_plays_what_was_meant(bars: list[list[str]], key: int) -> None:
    for names, heads in zip(bars, heads_of(bars, [key] * len(bars)), strict=True):
        in_force: dict[int, int] = {}
        reminders = []
        for name, head in zip(names, heads, strict=True):
            step, wanted = pitch.Pitch(name.replace("b", "-")).diatonicNoteNum, alter(name)
            by_key = in_force.get(step, signature(key, name[0]))
            assert (by_key if head.accidental is None else head.accidental) == wanted
            if head.is_cautionary:
                assert by_key == wanted
                reminders.append(step)
            in_force[step] = wanted
        assert len(reminders) == len(set(reminders))


def alter(name: str) -> int:
    return {"#": 1, "b": -1}.get(name[1], 0)


def signature(key: int, letter: str) -> int:
    """What a signature of so many sharps, or flats below 0, asks on a letter."""
    sharps = "FCGDAEB"
    if key >= 0:
        return int(letter in sharps[:key])
    return -int(letter in sharps[key:])


@dataclass(frozen=True)
class Shown:
    """Bars of one part of a corpus work, and which of its signs another library would show."""

    key: int
    bars: list[list[str]]
    by_library: list[list[bool]]


def shown_by_music21(work: str) -> Iterator[Shown]:
    """music21's own decision, with reminders in all octaves as its default has them."""
    for part in corpus.parse(work).parts:
        bars: list[list[str]] = []
        shown: list[list[bool]] = []
        past: list[pitch.Pitch] = []
        altered: list[pitch.Pitch] = []
        keys = set()
        for measure in part.getElementsByClass(stream.Measure):
            if measure.keySignature is not None:
                altered = measure.keySignature.alteredPitches
                keys.add(measure.keySignature.sharps)
            names = [
                one.nameWithOctave
                for note in sorted(measure.flatten().notes, key=lambda note: note.offset)
                if not note.duration.isGrace and (note.tie is None or note.tie.type == "start")
                for one in sorted(note.pitches, key=lambda one: one.midi)
            ]
            here: list[pitch.Pitch] = []
            for name in names:
                own = pitch.Pitch(name)
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
            bars.append([name.replace("-", "b") for name in names])
            shown.append([bool(own.accidental and own.accidental.displayStatus) for own in here])
            past = here
        assert len(keys) == 1
        yield Shown(keys.pop(), bars, shown)


@pytest.mark.parametrize("work", ["mozart/k80/movement1", "haydn/opus1no1/movement1"])
def test_published_movements_get_the_signs_another_library_gives(work: str) -> None:
    ours = theirs = both = needed = shown = 0
    for part in shown_by_music21(work):
        heads = heads_of(part.bars, [part.key] * len(part.bars))
        for row, flags in zip(heads, part.by_library, strict=True):
            for head, flag in zip(row, flags, strict=True):
                is_needed = head.accidental is not None and not head.is_cautionary
                needed, shown = needed + is_needed, shown + (is_needed and flag)
                ours += head.is_cautionary
                theirs += flag and not is_needed
                both += flag and head.is_cautionary
    assert theirs > 0
    assert both >= 0.95 * max(ours, theirs)
    assert shown >= 0.97 * needed
