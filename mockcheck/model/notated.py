"""A part as it stands on paper: bars, voices, and in them notes, chords and rests.

Times are exact fractions of a quarter note. A note that needs several note values, because of a
bar line or of a beat that must be seen, is several events tied to each other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain


@dataclass(frozen=True)
class Tuplet:
    """So many notes in the time of so many; 3 and 2 for a triplet.

    `is_start` and `is_stop` mark the first and the last event of its bracket.
    """

    actual: int
    normal: int
    is_start: bool = False
    is_stop: bool = False


@dataclass(frozen=True)
class NotatedHarmonic:
    """How a harmonic is played; the head it belongs to has the sounding pitch.

    `stopped` is (MIDI pitch, place on the line of fifths) of the note under the firm finger, None
    for a natural harmonic; `touched` the same of the light finger.
    """

    stopped: tuple[int, int] | None
    touched: tuple[int, int]


@dataclass(frozen=True)
class NotatedHead:
    """One note head.

    Parameters
    ----------
    pitch
        Sounding MIDI pitch; of a double bass an octave under the written one.
    fifths
        How it is spelled, a place on the line of fifths (C = 0, G = 1, F = -1).
    note_indices
        Notes of the part it stands for: one, or more where keys were doubled.
    accidental
        Sharps, or flats below 0, printed in front of it; None where nothing is printed.
    is_cautionary
        The accidental only reminds.
    is_tied_from, is_tied_to
        It goes on from the event before, or into the next one, with the same bow.
    harmonic
        None for an ordinary note.
    finger, string_index
        As in `FingeringColumns`; None where no hand takes the note.
    slides
        What slides begin here and end here, as ('start' | 'stop', number).
    """

    pitch: int
    fifths: int
    note_indices: tuple[int, ...]
    accidental: int | None = None
    is_cautionary: bool = False
    is_tied_from: bool = False
    is_tied_to: bool = False
    harmonic: NotatedHarmonic | None = None
    finger: int | None = None
    string_index: int | None = None
    slides: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True)
class NotatedEvent:
    """A note, a chord or a rest with one note value.

    Parameters
    ----------
    start, length
        Quarters from the bar line, and quarters; the length of a grace note is 0.
    value, dots
        Name of the note value, 'quarter' or '16th' as MusicXML has them, and its dots.
    tuplet
        None where the value is as long as it says.
    heads
        Lowest pitch first; none for a rest.
    is_grace, is_full_bar
        A grace note; a rest for the whole bar, whatever its length.
    marks
        Signs over the head: 'staccato', 'accent', 'tenuto', 'trill', 'scoop', 'fall'.
    words
        Words above it: 'pizz.', 'arco', 'con sord.'.
    tremolo_strokes
        Strokes through the stem; 0 for none.
    slurs
        What slurs begin and end here, as ('start' | 'stop', number).
    beams
        One word for each beam, longest first: 'begin', 'continue', 'end', 'forward hook',
        'backward hook'.
    """

    start: Fraction
    length: Fraction
    value: str
    dots: int = 0
    tuplet: Tuplet | None = None
    heads: tuple[NotatedHead, ...] = ()
    is_grace: bool = False
    is_full_bar: bool = False
    marks: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    tremolo_strokes: int = 0
    slurs: tuple[tuple[str, int], ...] = ()
    beams: tuple[str, ...] = ()

    @property
    def is_rest(self) -> bool:
        """Nothing sounds."""
        return not self.heads

    @property
    def note_indices(self) -> tuple[int, ...]:
        """Notes of the part that the event stands for, whether they begin here or go on."""
        return tuple(chain.from_iterable(head.note_indices for head in self.heads))


@dataclass(frozen=True)
class NotatedVoice:
    """One voice of a bar; its events follow each other without a gap. Numbers count from 1."""

    number: int
    events: tuple[NotatedEvent, ...]


@dataclass(frozen=True)
class Clef:
    """A clef: its name, MusicXML's sign and line, and the staff steps of its outer lines.

    Staff steps count as in `staff_steps`: middle C stands on 35.
    """

    name: str
    sign: str
    line: int
    bottom: int

    @property
    def top(self) -> int:
        """Staff step of the highest line."""
        return self.bottom + 8


@dataclass(frozen=True)
class NotatedBar:
    """One bar.

    Parameters
    ----------
    number
        As people count, from 1.
    length
        Quarters that are there; less than the metre says in a pick-up or a bar cut short.
    is_implicit
        The bar is not as long as its metre.
    metre, key_fifths, clef
        Printed at the start of the bar; None where they stay as they are. Metre is (beats, beat
        type), the key its sharps, or flats below 0.
    tempo_bpm
        Quarter notes a minute, where the tempo changes; None elsewhere.
    is_compound
        The tempo is counted in dotted values.
    voices
        The first voice is always there.
    """

    number: int
    length: Fraction
    is_implicit: bool
    metre: tuple[int, int] | None
    key_fifths: int | None
    clef: Clef | None
    tempo_bpm: float | None
    is_compound: bool
    voices: tuple[NotatedVoice, ...]


@dataclass(frozen=True)
class NotatedPart:
    """Some or all bars of one part.

    Parameters
    ----------
    name, instrument_id
        As in the played part.
    written_octaves
        Octaves between what is written and what sounds: 1 for a double bass.
    bars
        In order, without a gap.
    doubled
        Notes of the part that share a head with another one: the same key at the same place.
    """

    name: str
    instrument_id: str
    written_octaves: int
    bars: tuple[NotatedBar, ...]
    doubled: tuple[int, ...] = ()

    def events(self) -> Iterator[tuple[NotatedBar, NotatedVoice, NotatedEvent]]:
        """Every event with its bar and voice."""
        for bar in self.bars:
            for voice in bar.voices:
                for event in voice.events:
                    yield bar, voice, event
