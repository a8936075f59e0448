"""Every way to sound a harmonic: natural on an open string, artificial over a stopped note.

How well each one speaks rests on these sources:

partials
    Partials 2 to 5 are the usable ones of a violin string (the web essay "On Violin Harmonics",
    and table 1 of the paper "String Fingering Diagrams" (2005)); that longer strings speak higher
    is from memory.
forms
    Touching a major third, fourth or fifth above a stopped note, and that the octave is never
    used on the violin: "Violin Mastery" (1919). That the minor third is rare, and what cello and
    bass do, is from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import gcd, log2
from typing import Literal

from mockcheck.errors import BadBrief
from mockcheck.model.finding import Evidence
from mockcheck.model.instrument import Instrument
from mockcheck.playing.chords import VERDICTS, Verdict, _instrument_by_id
from mockcheck.playing.demands import (
    FINGER_DISTANCE,
    LOW_STRING_TOP_SEMITONES,
    SECTION_TOP_SEMITONES,
    Demand,
    Grade,
    finger_name,
)
from mockcheck.playing.fingerboard import HIGHEST_STOP_SEMITONES, Fingerboard, fingerboard
from mockcheck.playing.hand import (
    BASS_HAND,
    CELLO_HAND,
    THUMB,
    VIOLA_HAND,
    VIOLIN_HAND,
    Hand,
    hand_for,
)
from mockcheck.units import SEMITONES_PER_OCTAVE, pitch_name

@dataclass(frozen=True)
class HarmonicWay:
    """One way to sound one harmonic.

    Parameters
    ----------
    kind
        Natural on an open string, artificial over a stopped note.
    sounding_pitch
        MIDI pitch that is heard.
    string_index, string
        0 = highest, and the letter players use.
    partial
        How many equal parts the string, or what is left of it, vibrates in.
    stopped_semitones, stopped_pitch
        The note under the firm finger: above the open string, and as a MIDI pitch; None for a
        natural harmonic.
    touched_semitones
        Exact place of the light finger above the open string; between two semitones for most.
    touched_pitch
        The nearest note a finger would stop there, MIDI pitch.
    touched_mm
        The same place from the nut, mm.
    reach_mm
        From the firm to the light finger, mm; 0 for a natural harmonic.
    fingers
        Numbers of the two, thumb = -1; empty for a natural harmonic, which any finger touches.
    cents_off
        How far the sound lies from the tempered pitch, negative is flat, with open strings and
        stopped notes tempered; of an artificial harmonic the stopping finger corrects it.
    verdict
        Easy, possible or hard.
    reason
        One plain sentence for the verdict.
    notations
        Ways to write it, simplest first; each is a whole phrase.
    evidence
        The number that decides, beside its limit; None where no number does.
    """

    kind: Literal["natural", "artificial"]
    sounding_pitch: int
    string_index: int
    string: str
    partial: int
    stopped_semitones: int | None
    stopped_pitch: int | None
    touched_semitones: float
    touched_pitch: int
    touched_mm: float
    reach_mm: float
    fingers: tuple[int, ...]
    cents_off: float
    verdict: Verdict
    reason: str
    notations: tuple[str, ...]
    evidence: Evidence | None = None

    @property
    def is_wide_stretch(self) -> bool:
        """Whether the hand has to open further than it does without strain."""
        return self.evidence is not None and self.evidence.quantity == FINGER_DISTANCE


def harmonics(
    instrument: Instrument | str,
    pitch: int,
    *,
    middle_c_octave: int = 4,
    tolerance_cents: float = TOLERANCE_CENTS,
    hand: Hand | None = None,
) -> tuple[HarmonicWay, ...]:
    """A sounding harmonic can usually be played in several ways; these are all, easiest first.

    Parameters
    ----------
    instrument
        An Instrument, or the id of one.
    pitch
        Sounding MIDI pitch.
    middle_c_octave
        How note names in `reason` and `notations` are numbered, 3, 4 or 5.
    tolerance_cents
        How far a partial may lie from the tempered pitch and still count as it, 0-50.
    hand
        The hand that plays; None for the one that belongs to the instrument's size.

    Returns
    -------
    Empty where there is none; `explain_no_harmonic` then says why.

    Raises
    ------
    BadBrief
        A number that is no MIDI pitch, or an instrument without strings of its own.

    Source: ideal string, partial n has nodes at k/n of its length; verdicts as in this module's
    own list of sources.
    Not modelled: stiffness of the string, pure fifths between open strings, two fingers too thick
    to stand close together high up, and a bass extension closed by its gate.
    """
    board = _board(instrument, pitch)
    ways = _ways(board, hand or hand_for(board.string_length_mm), pitch, middle_c_octave)
    return tuple(way for way in ways if abs(_cents_off(way.partial)) <= tolerance_cents)


def explain_no_harmonic(
    instrument: Instrument | str, pitch: int, *, middle_c_octave: int = 4
) -> str | None:
    """Why no harmonic sounds at a pitch, with the nearest that do; None where one does.

    Parameters
    ----------
    pitch
        Sounding MIDI pitch.

    Raises
    ------
    BadBrief
        As `harmonics`.
    """
    board = _board(instrument, pitch)
    hand = hand_for(board.string_length_mm)
    sounding = [other for other in range(128) if _available(board, hand, other)]
    if pitch in sounding:
        return None
    name = pitch_name(pitch, middle_c_octave)
    lower = [pitch_name(other, middle_c_octave) for other in sounding if other < pitch][-1:]
    higher = [pitch_name(other, middle_c_octave) for other in sounding if other > pitch][:1]
    if not lower:
        letter = board.string_letter(board.open_strings.index(min(board.open_strings)))
        return (
            f"{name} is too low: no harmonic lies below {higher[0]}, the octave of the open"
            f" {letter} string. Write it as an ordinary note, or an octave higher or more."
        )
    if not higher:
        return (
            f"{name} is too high: above {lower[0]} no string of this length speaks. Write it lower."
        )
    return (
        f"{name} is no partial of an open string, and {_nearest_miss(board, hand, pitch)}"
        f" The nearest harmonics are {lower[0]} and {higher[0]}."
    )


def _board(instrument: Instrument | str, pitch: int) -> Fingerboard:
    if isinstance(instrument, str):
        instrument = _instrument_by_id(instrument)
    if not 0 <= pitch <= 127:
        message = f"A sounding note is a MIDI pitch from 0 to 127, not {pitch}."
        raise BadBrief(message)
    return fingerboard(instrument)


@lru_cache(maxsize=4096)
def _ways(
    board: Fingerboard, hand: Hand, pitch: int, middle_c_octave: int
) -> tuple[HarmonicWay, ...]:
    ways = [*_natural(board, hand, pitch, middle_c_octave)]
    ways += _artificial(board, hand, pitch, middle_c_octave)
    return tuple(sorted(ways, key=_difficulty))


def _available(board: Fingerboard, hand: Hand, pitch: int) -> bool:
    ways = _ways(board, hand, pitch, 4)
    return any(abs(_cents_off(way.partial)) <= TOLERANCE_CENTS for way in ways)


def _difficulty(way: HarmonicWay) -> tuple[float, ...]:
    """Equally hard: natural ones ring more freely, low partials speak better, the neck is nearer.

    Artificial ones are told apart by form, fourth first, then by the lower stop.
    """
    form = way.partial
    if way.stopped_semitones is not None:
        form = [form.partial for form in _FORMS].index(way.partial)
    return (
        VERDICTS.index(way.verdict),
        way.kind == "artificial",
        form,
        way.touched_semitones,
        way.string_index,
    )


def _natural(
    board: Fingerboard, hand: Hand, pitch: int, middle_c_octave: int
) -> Iterator[HarmonicWay]:
    partials = _PARTIALS[hand_for(board.string_length_mm)]
    for string, open_pitch in enumerate(board.open_strings):
        for partial in range(2, partials.highest + 1):
            if _sounds_above(partial) != pitch - open_pitch:
                continue
            for node in range(1, partial):
                # A node it shares with a lower partial would sound that one.
                if gcd(node, partial) == 1:
                    yield _natural_way(board, hand, string, (node, partial), middle_c_octave)


def _natural_way(
    board: Fingerboard, hand: Hand, string: int, node: tuple[int, int], middle_c_octave: int
) -> HarmonicWay:
    place, partial = node
    letter, open_pitch = board.string_letter(string), board.open_strings[string]
    touched = _semitones_up(place, partial)
    pitch, touched_pitch = open_pitch + _sounds_above(partial), open_pitch + round(touched)
    notations = [f"{pitch_name(pitch, middle_c_octave)} with a small circle above it, sul {letter}"]
    is_on_a_note = abs(touched - round(touched)) * 100.0 <= OUT_OF_TUNE_CENTS
    if is_on_a_note and touched_pitch != pitch:
        notations.append(f"a diamond at {pitch_name(touched_pitch, middle_c_octave)}, sul {letter}")
    hardest = max(
        _of_natural(board, hand, string, partial, touched), key=lambda demand: demand.grade
    )
    return HarmonicWay(
        kind="natural",
        sounding_pitch=pitch,
        string_index=string,
        string=letter,
        partial=partial,
        stopped_semitones=None,
        stopped_pitch=None,
        touched_semitones=touched,
        touched_pitch=touched_pitch,
        touched_mm=board.string_length_mm * place / partial,
        reach_mm=0.0,
        fingers=(),
        cents_off=_cents_off(partial),
        verdict=VERDICTS[hardest.grade],
        reason=hardest.reason,
        notations=tuple(notations),
        evidence=hardest.evidence,
    )


def _artificial(
    board: Fingerboard, hand: Hand, pitch: int, middle_c_octave: int
) -> Iterator[HarmonicWay]:
    for string, form, stop in _stops(board, pitch):
        spread = _spread(hand, stop, form, _reach_mm(board, form, stop))
        if spread.grade is Grade.IMPOSSIBLE:
            continue
        found = [*_of_artificial(board, hand, string, form, stop, spread)]
        hardest = max(found, key=lambda demand: demand.grade)
        stopped = board.open_strings[string] + stop
        touched = stop + _semitones_up(1, form.partial)
        sound, below, above = (
            pitch_name(note, middle_c_octave)
            for note in (pitch, stopped, stopped + form.interval_semitones)
        )
        letter = board.string_letter(string)
        yield HarmonicWay(
            kind="artificial",
            sounding_pitch=pitch,
            string_index=string,
            string=letter,
            partial=form.partial,
            stopped_semitones=stop,
            stopped_pitch=stopped,
            touched_semitones=touched,
            touched_pitch=stopped + form.interval_semitones,
            touched_mm=board.string_length_mm * (1.0 - 2.0 ** (-touched / SEMITONES_PER_OCTAVE)),
            reach_mm=spread.reach_mm,
            fingers=spread.fingers,
            cents_off=_cents_off(form.partial),
            verdict=VERDICTS[hardest.grade],
            reason=hardest.reason,
            notations=(
                f"{below} as an ordinary note and a diamond at {above} above it",
                f"the same with {sound} small and in brackets over it",
            ),
            evidence=hardest.evidence,
        )


def _stops(board: Fingerboard, pitch: int) -> Iterator[tuple[int, _Form, int]]:
    """Every string, form and stop that would sound a pitch, in reach or not."""
    highest = _sounds_above(_PARTIALS[hand_for(board.string_length_mm)].highest)
    for string, open_pitch in enumerate(board.open_strings):
        for form in _FORMS:
            stop = pitch - open_pitch - _sounds_above(form.partial)
            if 1 <= stop <= HIGHEST_STOP_SEMITONES and pitch - open_pitch <= highest:
                yield string, form, stop


def _nearest_miss(board: Fingerboard, hand: Hand, pitch: int) -> str:
    misses = [
        _spread(hand, stop, form, _reach_mm(board, form, stop))
        for _, form, stop in _stops(board, pitch)
    ]
    if not misses:
        return "no artificial form sounds it."
    nearest = min(misses, key=lambda spread: spread.reach_mm / spread.widest_mm)
    return (
        f"an artificial one would need fingers {nearest.reach_mm:.0f} mm apart, where an opened"
        f" hand reaches about {nearest.widest_mm:.0f} mm."
    )


