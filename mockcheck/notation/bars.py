"""A part as bars on paper."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.spelled_parts import as_imported
from mockcheck.model.notated import (
    Clef,
    NotatedBar,
    NotatedEvent,
    NotatedHead,
    NotatedPart,
    NotatedVoice,
)
from mockcheck.model.played import PlayedPart
from mockcheck.notation._accidentals import staff_step, with_accidentals
from mockcheck.notation._beams import with_beams
from mockcheck.notation._measures import Measure, Measures, count_bars
from mockcheck.notation._signs import (
    harmonic_of,
    is_harmonic,
    mark_of,
    slide_ends,
    slur_ends,
    tremolo_of,
    words_of,
)
from mockcheck.notation._voices import Sound, find_voices
from mockcheck.notation.clefs import choose_clefs
from mockcheck.notation.values import write_out

Spelling = Literal["as it reads well", "as imported"]
_TEMPO_CHANGE = 0.04
"""A tempo this much faster or slower is a new mark; less is the playing."""
_OCTAVE_STEPS = 7


def notate(
    part: PlayedPart,
    from_bar: int = 1,
    to_bar: int | None = None,
    spelling: Spelling = "as it reads well",
    *,
    beside: Sequence[PlayedPart] = (),
) -> NotatedPart:
    """A player's part is bars, beats and note values, not keys and seconds.

    Parameters
    ----------
    part
        One part.
    from_bar, to_bar
        First and last bar, from 1, both written; None goes to the last bar in which anything of
        `part` or `beside` sounds. Bars after that are rests.
    spelling
        'as it reads well', or 'as imported': what a file opened in a notation program would show.
    beside
        The other parts of the score: they say where it ends and what key holds in a bar in which
        this part rests.

    Returns
    -------
    Every note of the range stands there once, as a head or a chain of tied heads; where a key was
    doubled (same pitch, place and line) the notes share one, and are listed in `doubled`. A note
    that began before the range is tied from it.

    Raises
    ------
    UnreadableInput
        The notes reach further than any music has bars.

    Not modelled: a key signature where the file gives none (the key is open then); clef changes
    inside a bar; divisi of more than four lines, of which the deepest share a voice. A part without
    a written rhythm is put on the nearest demisemiquaver.
    """
    parts = [part, *beside]
    last = max(count_bars(other) for other in parts) if to_bar is None else max(to_bar, from_bar)
    reach = max(last, *(count_bars(other) for other in parts))
    measures, voices = _read(_Identity(part), reach)
    writer = _Writer(part, measures, voices, (from_bar - 1, last), spelling)
    keys = _keys(parts, measures)[from_bar - 1 : last]
    return writer.write(keys)


@dataclass(frozen=True)
class _Identity:
    """A part as a key: the same object, not an equal one."""

    part: PlayedPart

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Identity) and self.part is other.part

    def __hash__(self) -> int:
        return id(self.part)


# Pictures ask for a few bars of the same parts again and again.
@lru_cache(maxsize=32)
def _read(key: _Identity, count: int) -> tuple[Measures, list[list[Sound]]]:
    measures = Measures(key.part.timeline, count)
    return measures, find_voices(key.part, measures)


@dataclass(frozen=True)
class _Chosen:
    """What one sound carries besides its heads."""

    words: tuple[str, ...]
    slurs: tuple[tuple[str, int], ...]


class _Writer:
    def __init__(
        self,
        part: PlayedPart,
        measures: Measures,
        voices: list[list[Sound]],
        bars: tuple[int, int],
        spelling: Spelling,
    ) -> None:
        self.part = part
        self.bars = measures.bars[slice(*bars)]
        self.first = bars[0]
        self.fifths = _fifths(part, spelling)
        begins, ends = self.bars[0].start, self.bars[-1].end
        self.voices = [
            [sound for sound in voice if sound.place < ends and sound.end > begins]
            for voice in voices
        ]
        self.chosen: dict[int, _Chosen] = {}
        slurs = slur_ends(part, self.voices)
        for voice in self.voices:
            for sound, words in zip(voice, words_of(part, voice), strict=True):
                self.chosen[id(sound)] = _Chosen(words, tuple(slurs.get(id(sound), ())))
        self.slides, self.slide_marks = slide_ends(part, self.voices)

    def write(self, keys: list[int]) -> NotatedPart:
        """All bars of the range."""
        is_bass = self.part.instrument.id.startswith("double bass")
        voices = self._by_bar()
        voices = with_accidentals(voices, keys)
        clefs = self._clefs(voices, _OCTAVE_STEPS if is_bass else 0)
        tempos = _tempos(self.part, self.bars)
        bars = []
        for row, (bar, own) in enumerate(zip(self.bars, voices, strict=True)):
            before = row - 1
            bars.append(
                NotatedBar(
                    number=self.first + row + 1,
                    length=bar.shape.length,
                    is_implicit=bar.is_implicit,
                    metre=bar.metre if row == 0 or bar.metre != self.bars[before].metre else None,
                    key_fifths=keys[row] if row == 0 or keys[row] != keys[before] else None,
                    clef=clefs[row] if row == 0 or clefs[row] != clefs[before] else None,
                    tempo_bpm=tempos[row],
                    is_compound=bar.shape.is_compound,
                    voices=tuple(
                        NotatedVoice(number, tuple(with_beams(events, bar.shape)))
                        for number, events in enumerate(own, start=1)
                        if number == 1 or any(event.heads for event in events)
                    ),
                )
            )
        return NotatedPart(
            name=self.part.name,
            instrument_id=self.part.instrument.id,
            written_octaves=1 if is_bass else 0,
            bars=tuple(bars),
            doubled=self._doubled(),
        )

    def _by_bar(self) -> list[list[list[NotatedEvent]]]:
        """Events of each voice, bar by bar."""
        sounds: list[list[list[Sound]]] = [[[] for _ in self.voices] for _ in self.bars]
        lines = [bar.start for bar in self.bars]
        for number, voice in enumerate(self.voices):
            for sound in voice:
                first = max(bisect_right(lines, sound.place) - 1, 0)
                for row in range(first, bisect_left(lines, sound.end)):
                    sounds[row][number].append(sound)
        return [
            [self._events(bar, own) for own in voices]
            for bar, voices in zip(self.bars, sounds, strict=True)
        ]

    def _events(self, bar: Measure, sounds: list[Sound]) -> list[NotatedEvent]:
        length = bar.shape.length
        if not sounds and not bar.is_implicit:
            return [NotatedEvent(Fraction(0), length, "whole", is_full_bar=True)]
        spans: list[tuple[Fraction, Fraction, Sound | None]] = []
        here = Fraction(0)
        for sound in sounds:
            start, end = (
                max(sound.place - bar.start, Fraction(0)),
                min(sound.end - bar.start, length),
            )
            if start > here:
                spans.append((here, start, None))
            spans.append((start, end, sound))
            here = end
        if here < length:
            spans.append((here, length, None))
        written = write_out(bar.shape, [(a, b, sound is None) for a, b, sound in spans])
        events: list[NotatedEvent] = []
        for (start, _, owner), pieces in zip(spans, written, strict=True):
            if owner is not None and bar.start + start == owner.place:
                events += self._graces(owner, start)
            for piece in pieces:
                event = NotatedEvent(
                    piece.start, piece.length, piece.value, piece.dots, piece.tuplet
                )
                events.append(event if owner is None else self._sounding(event, bar, owner))
        return events

    def _sounding(self, event: NotatedEvent, bar: Measure, sound: Sound) -> NotatedEvent:
        is_first = bar.start + event.start == sound.place
        is_last = bar.start + event.start + event.length == sound.end
        # A slur cannot leave an excerpt: it begins or stops on the piece that stands in it.
        begins_here = is_first or bar.start + event.start == self.bars[0].start
        ends_here = is_last or bar.start + event.start + event.length == self.bars[-1].end
        chosen = self.chosen[id(sound)]
        marks = mark_of(self.part, sound) if is_first else ()
        if is_first:
            marks += self.slide_marks.get(sound.notes[0], ())
        return replace(
            event,
            heads=tuple(self._heads(sound, is_first=is_first, is_last=is_last)),
            marks=marks,
            words=chosen.words if is_first else (),
            tremolo_strokes=tremolo_of(self.part, sound),
            slurs=tuple(
                end for end in chosen.slurs if (ends_here if end[0] == "stop" else begins_here)
            ),
        )

    def _heads(self, sound: Sound, *, is_first: bool, is_last: bool) -> list[NotatedHead]:
        pitch = self.part.notes.pitch
        by_pitch: dict[int, list[int]] = {}
        for note in sorted(sound.notes, key=lambda note: (int(pitch[note]), note)):
            by_pitch.setdefault(int(pitch[note]), []).append(note)
        heads = []
        for own, notes in by_pitch.items():
            head = self._head(own, notes)
            slides = tuple(
                end
                for note in notes
                for end in self.slides.get(note, ())
                if (is_first if end[0] == "stop" else is_last)
            )
            heads.append(
                replace(head, is_tied_from=not is_first, is_tied_to=not is_last, slides=slides)
            )
        return heads

    def _head(self, pitch: int, notes: list[int]) -> NotatedHead:
        first, fingering = notes[0], self.part.fingering
        string = -1 if fingering is None else int(fingering.string_index[first])
        finger = None if fingering is None or string < 0 else int(fingering.finger[first])
        fifths = int(self.fifths[first])
        return NotatedHead(
            pitch=pitch,
            fifths=fifths,
            note_indices=tuple(notes),
            harmonic=harmonic_of(self.part, pitch, fifths)
            if is_harmonic(self.part, first)
            else None,
            finger=finger,
            string_index=None if string < 0 else string,
        )

    def _graces(self, sound: Sound, start: Fraction) -> list[NotatedEvent]:
        value = "eighth" if len(sound.graces) == 1 else "16th"
        order = sorted(sound.graces, key=lambda note: int(self.part.notes.onset_ticks[note]))
        pitch = self.part.notes.pitch
        return [
            NotatedEvent(
                start,
                Fraction(0),
                value,
                heads=(self._head(int(pitch[note]), [note]),),
                is_grace=True,
            )
            for note in order
        ]

    def _clefs(self, voices: list[list[list[NotatedEvent]]], up: int) -> list[Clef]:
        steps = [
            [
                staff_step(head.pitch, head.fifths) + up
                for events in own
                for event in events
                for head in event.heads
                if not head.is_tied_from
            ]
            for own in voices
        ]
        ends_in_rest = [own[0][-1].is_rest for own in voices]
        return choose_clefs(self.part.instrument.id, steps, [True, *ends_in_rest[:-1]])

    def _doubled(self) -> tuple[int, ...]:
        pitch = self.part.notes.pitch
        found = []
        for sound in (sound for voice in self.voices for sound in voice):
            same: dict[int, list[int]] = {}
            for note in sound.notes:
                same.setdefault(int(pitch[note]), []).append(note)
            found += [note for notes in same.values() if len(notes) > 1 for note in notes]
        return tuple(sorted(found))


def _fifths(part: PlayedPart, spelling: Spelling) -> NDArray[np.int64]:
    """Spelling of each note; where nobody looked, as an import in C major has it."""
    columns = part.spelling
    if columns is None:
        pitch = part.notes.pitch.astype(np.int64)
        return as_imported(pitch, np.zeros(len(pitch), np.int64))
    chosen = columns.as_imported if spelling == "as imported" else columns.fifths
    return chosen.astype(np.int64)


def _keys(parts: Sequence[PlayedPart], measures: Measures) -> list[int]:
    """Signature of each bar, that of its first note in any part; an open key without one."""
    ticks, signature = [], []
    for part in parts:
        if part.spelling is not None and part.timeline.meter is not None:
            own = part.notes.onset_ticks if part.written is None else part.written.ticks()
            ticks.append(own)
            signature.append(part.spelling.signature_fifths)
    found: dict[int, int] = {}
    meter = parts[0].timeline.meter
    if ticks and meter is not None:
        together = np.rint(np.concatenate(ticks)).astype(np.int64)
        order = np.argsort(together, kind="stable")
        bars, first = np.unique(meter.bar_index(together[order]), return_index=True)
        values = np.concatenate(signature)[order][first]
        found = dict(zip(bars.tolist(), values.tolist(), strict=True))
    keys, key = [], next(iter(found.values()), 0)
    for bar in range(len(measures.bars)):
        key = int(found.get(bar, key))
        keys.append(key)
    return keys


def _tempos(part: PlayedPart, bars: Sequence[Measure]) -> list[float | None]:
    """Tempo marks: at the first bar, and where it changes so that players hear it."""
    tempo = part.timeline.tempo
    marks: list[float | None] = []
    last: float | None = None
    for bar in bars:
        bpm = None if tempo.assumed else tempo.bpm_at(bar.tick)
        if bpm is not None and (last is None or abs(bpm / last - 1) >= _TEMPO_CHANGE):
            last = bpm
            marks.append(bpm)
        else:
            marks.append(None)
    return marks
