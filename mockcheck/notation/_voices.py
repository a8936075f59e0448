"""Notes put into voices: chords struck together, and notes held while the line moves on."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction

from mockcheck.model.played import PlayedPart
from mockcheck.model.written import ONSET_KINDS
from mockcheck.notation._ends import note_ends
from mockcheck.notation._measures import Measures, note_places

MOST_VOICES = 4
_GRACE = ONSET_KINDS.index("grace")


@dataclass
class Sound:
    """Notes with one head each that begin and end together; `graces` lead into them."""

    place: Fraction
    end: Fraction
    notes: list[int]
    graces: list[int] = field(default_factory=list)


@dataclass
class _Voice:
    sounds: list[Sound] = field(default_factory=list)
    spans: list[tuple[Fraction, Fraction]] = field(default_factory=list)

    def is_free(self, start: Fraction, end: Fraction) -> bool:
        row = bisect_left(self.spans, (end, end))
        return row == 0 or self.spans[row - 1][1] <= start

    def add(self, sound: Sound) -> None:
        self.sounds.append(sound)
        insort(self.spans, (sound.place, sound.end))


def find_voices(part: PlayedPart, measures: Measures) -> list[list[Sound]]:
    """The sounds of a part by voice, in order of time; no two of a voice at once.

    Lines of a divided part have a voice each, up to four; what lies deeper joins the fourth. A note
    held while its line moves on takes a voice that is free, or ends with the next onset.
    """
    places = note_places(part, measures)
    is_grace = [False] * len(places)
    line = [0] * len(places)
    if part.written is not None:
        is_grace = [kind == _GRACE for kind in part.written.onsets.kind.tolist()]
        line = [min(voice, MOST_VOICES - 1) for voice in part.written.voice.tolist()]
    ends = note_ends(part, measures, places, line)
    groups: dict[tuple[int, Fraction], list[int]] = defaultdict(list)
    graces: dict[tuple[int, Fraction], list[int]] = defaultdict(list)
    for note, place in enumerate(places):
        (graces if is_grace[note] else groups)[line[note], place].append(note)
    for key in graces.keys() - groups.keys():
        # An ornament that leads nowhere is a note.
        groups[key] = graces.pop(key)
    voices = [_Voice() for _ in range(MOST_VOICES)]
    held = _place_lines(voices, groups, ends)
    by_start = {(k, s.place): s for k, voice in enumerate(voices) for s in voice.sounds}
    _place_held(voices, held, by_start)
    for key, notes in graces.items():
        by_start[key].graces += notes
    return [sorted(voice.sounds, key=lambda sound: sound.place) for voice in voices]


def _place_lines(
    voices: list[_Voice], groups: dict[tuple[int, Fraction], list[int]], ends: list[Fraction]
) -> list[tuple[int, Fraction, Sound]]:
    """Each line in its own voice; returns what is held over its next onset, and that onset."""
    held = []
    keys = sorted(groups)
    for key, following in zip(keys, [*keys[1:], None], strict=True):
        own, place = key
        after = following[1] if following is not None and following[0] == own else None
        lasting: dict[Fraction, list[int]] = defaultdict(list)
        moving = []
        for note in groups[key]:
            if after is None or ends[note] <= after:
                moving.append(note)
            else:
                lasting[ends[note]].append(note)
        if moving:
            voices[own].add(Sound(place, max(ends[note] for note in moving), moving))
        for end, notes in lasting.items():
            assert after is not None, "held over something"
            held.append((own, after, Sound(place, end, notes)))
    return sorted(held, key=lambda row: (row[2].place, row[0], row[2].end))


def _place_held(
    voices: list[_Voice],
    held: list[tuple[int, Fraction, Sound]],
    by_start: dict[tuple[int, Fraction], Sound],
) -> None:
    for own, after, sound in held:
        # The next voice down first: the held note is most often the lower one.
        order = [(own + step) % MOST_VOICES for step in range(MOST_VOICES)]
        free = [k for k in order if voices[k].is_free(sound.place, sound.end)]
        if free:
            voices[free[0]].add(sound)
            by_start.setdefault((own, sound.place), sound)
        elif (own, sound.place) in by_start:
            by_start[own, sound.place].notes += sound.notes
        else:
            sound.end = after
            by_start[own, sound.place] = _squeeze_in(voices[own], sound)


def _squeeze_in(voice: _Voice, sound: Sound) -> Sound:
    """Where all voices are taken, what is held longest there is cut; no note may be lost."""
    for other in voice.sounds:
        if other.place == sound.place:
            other.notes += sound.notes
            return other
        if other.place < sound.place < other.end:
            other.end = sound.place
        elif sound.place < other.place < sound.end:
            sound.end = other.place
    voice.spans = sorted((other.place, other.end) for other in voice.sounds)
    voice.add(sound)
    return sound
