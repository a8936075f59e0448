"""Signs and words of a part: strokes, colours, slurs, slides, harmonics."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction

from mockcheck.errors import BadBrief
from mockcheck.model.articulations import ARTICULATIONS, COLOURS
from mockcheck.model.notated import NotatedHarmonic
from mockcheck.model.played import PlayedPart
from mockcheck.notation._voices import Sound
from mockcheck.playing.harmonics import harmonics

_MARKS = {
    "staccato": ("staccato",),
    "spiccato": ("staccato",),
    "portato": ("tenuto", "staccato"),
    "marcato": ("accent",),
}
_MANNERS = {"pizzicato": "pizz.", "col legno": "col legno"}
_BOWED = "arco"
_COLOURS = {
    "con sordino": ("con sord.", "senza sord."),
    "sul ponticello": ("sul pont.", "ord."),
    "sul tasto": ("sul tasto", "ord."),
}
"""Words where a colour begins and where it ends."""
TREMOLO_STROKES = 3
_LEAST_SIGN = Fraction(1, 2)
"""A sign for tremolo or a trill stands on notes from a quaver on; shorter ones are played out."""
_MOST_NUMBERS = 6
"""MusicXML tells so many slurs and slides apart that go on at once."""
_FIFTHS_UP = (0, -5, 2, -3, 4, -1, 6, 1, -4, 3, -2, 5)
"""Places on the line of fifths from a note to one so many semitones above, as usually spelled."""
Ends = dict[int, list[tuple[str, int]]]


def mark_of(part: PlayedPart, sound: Sound) -> tuple[str, ...]:
    """Signs over a note for its stroke."""
    stroke = ARTICULATIONS[int(part.articulation.code[sound.notes[0]])]
    marks = _MARKS.get(stroke, ())
    if stroke == "trill" and sound.end - sound.place >= _LEAST_SIGN:
        marks = ("trill",)
    return marks


def tremolo_of(part: PlayedPart, sound: Sound) -> int:
    """Strokes through the stem."""
    stroke = ARTICULATIONS[int(part.articulation.code[sound.notes[0]])]
    is_sign = stroke == "tremolo" and sound.end - sound.place >= _LEAST_SIGN
    return TREMOLO_STROKES if is_sign else 0


def words_of(part: PlayedPart, sounds: Sequence[Sound]) -> list[tuple[str, ...]]:
    """Words above each sound of a voice, where the way of playing changes; bowed at first."""
    manner, colour = _BOWED, ""
    found = []
    for sound in sounds:
        first = sound.notes[0]
        new_manner = _MANNERS.get(ARTICULATIONS[int(part.articulation.code[first])], _BOWED)
        code = int(part.articulation.colour[first])
        new_colour = COLOURS[code] if code >= 0 else ""
        words = [new_manner] if new_manner != manner else []
        if new_colour != colour:
            words += _colour_words(colour, new_colour)
        manner, colour = new_manner, new_colour
        found.append(tuple(words))
    return found


def _colour_words(before: str, after: str) -> list[str]:
    off = _COLOURS[before][1] if before else ""
    on = _COLOURS[after][0] if after else ""
    # From the bridge to the fingerboard nobody says that the bow passes its usual place.
    is_muted = "con sordino" in (before, after)
    return [word for word in ((off, on) if is_muted or not after else (on,)) if word]


def slur_ends(part: PlayedPart, voices: Sequence[Sequence[Sound]]) -> Ends:
    """Where slurs begin and stop, by `id` of the sound; a slur over one sound is none."""
    if part.slur is None:
        return {}
    under: dict[int, list[Sound]] = defaultdict(list)
    for sounds in voices:
        for sound in sounds:
            for slur in sorted({int(part.slur[note]) for note in sound.notes}):
                if slur >= 0:
                    under[slur].append(sound)
    spans = []
    for sounds_under in under.values():
        first = min(sounds_under, key=lambda sound: sound.place)
        last = max(sounds_under, key=lambda sound: sound.place)
        if last.place > first.place:
            spans.append((first.place, last.place, id(first), id(last)))
    return _numbered(spans)


def slide_ends(
    part: PlayedPart, voices: Sequence[Sequence[Sound]]
) -> tuple[Ends, dict[int, tuple[str, ...]]]:
    """Where slides begin and stop, by note; and signs for scoops and falls, by note."""
    place = {note: sound.place for sounds in voices for sound in sounds for note in sound.notes}
    marks: dict[int, tuple[str, ...]] = {}
    spans = []
    for slide in part.slides:
        if slide.kind == "fall" and slide.from_note in place:
            marks[slide.from_note] = ("fall",)
        elif slide.kind == "scoop" and slide.to_note in place:
            marks[slide.to_note] = ("scoop",)
        elif slide.from_note in place and slide.to_note in place:
            first, last = place[slide.from_note], place[slide.to_note]
            if last > first:
                spans.append((first, last, slide.from_note, slide.to_note))
    return _numbered(spans), marks


def _numbered(spans: Iterable[tuple[Fraction, Fraction, int, int]]) -> Ends:
    """Each span with the lowest number that no other has at that time."""
    ends: Ends = defaultdict(list)
    busy_until: dict[int, Fraction] = {}
    for first, last, from_key, to_key in sorted(spans):
        free = [n for n in range(1, _MOST_NUMBERS + 1) if busy_until.get(n, first) <= first]
        if free:
            busy_until[free[0]] = last
            ends[from_key].append(("start", free[0]))
            ends[to_key].append(("stop", free[0]))
    # What ends on a note is closed before the next begins there.
    return {key: sorted(found, key=lambda end: end[0] == "start") for key, found in ends.items()}


def harmonic_of(part: PlayedPart, pitch: int, fifths: int) -> NotatedHarmonic | None:
    """The easiest way to play a harmonic, as it is written; None where there is none."""
    if part.instrument.is_ensemble:
        return None
    try:
        ways = harmonics(part.instrument, pitch)
    except BadBrief:
        return None
    if not ways:
        return None
    way = ways[0]
    stopped = way.stopped_pitch
    return NotatedHarmonic(
        stopped=None if stopped is None else _spelled_from(pitch, fifths, stopped),
        touched=_spelled_from(pitch, fifths, way.touched_pitch),
    )


def _spelled_from(pitch: int, fifths: int, other: int) -> tuple[int, int]:
    return other, fifths + _FIFTHS_UP[(other - pitch) % 12]


def is_harmonic(part: PlayedPart, note: int) -> bool:
    """Whether a note is played as a harmonic."""
    return ARTICULATIONS[int(part.articulation.code[note])] == "harmonic"
