"""Every way to sound a harmonic: natural on an open string, artificial over a stopped note."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import gcd
from typing import Literal

from mockcheck.errors import BadBrief
from mockcheck.model.finding import Evidence
from mockcheck.model.instrument import Instrument
from mockcheck.playing._harmonic_demands import (
    FORMS,
    OUT_OF_TUNE_CENTS,
    Form,
    Spread,
    cents_off,
    demands_of_artificial,
    demands_of_natural,
    partials_of,
    semitones_sounded,
    semitones_up,
    spread_for,
)
from mockcheck.playing.chords import VERDICTS, Verdict, instrument_by_id
from mockcheck.playing.demands import FINGER_DISTANCE, Demand, Grade
from mockcheck.playing.fingerboard import HIGHEST_STOP_SEMITONES, Fingerboard, fingerboard
from mockcheck.playing.hand import Hand, hand_for
from mockcheck.units import SEMITONES_PER_OCTAVE, pitch_name

TOLERANCE_CENTS = 35.0
"""A partial this near a tempered pitch is taken for it: the seventh, 31 cents flat, still counts;
the eleventh, 49 flat, is a quarter tone (arithmetic)."""


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
        Ways to write it in words, simplest first.
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
        is_reach = self.evidence is not None and self.evidence.quantity == FINGER_DISTANCE
        return is_reach and self.verdict == "hard"


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

    Source: ideal string, partial n has its nodes at k/n of the length; verdicts as told in
    `_harmonic_demands`.
    Not modelled: stiffness of the string, pure fifths between open strings, fingers too thick to
    stand close together high up, and the open E of a bass whose extension is closed by a gate.
    """
    board = _board(instrument, pitch)
    ways = _ways(board, hand or hand_for(board.string_length_mm), pitch, middle_c_octave)
    return tuple(way for way in ways if abs(way.cents_off) <= tolerance_cents)


def explain_no_harmonic(
    instrument: Instrument | str, pitch: int, *, middle_c_octave: int = 4
) -> str | None:
    """Why no harmonic sounds at a pitch, and the nearest that do; None where one does.

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
    if harmonics(instrument, pitch):
        return None
    name = pitch_name(pitch, middle_c_octave)
    sounding = [other for other in range(128) if harmonics(instrument, other)]
    lower = [pitch_name(other, middle_c_octave) for other in sounding if other < pitch]
    higher = [pitch_name(other, middle_c_octave) for other in sounding if other > pitch]
    if not lower:
        letter = board.string_letter(board.open_strings.index(min(board.open_strings)))
        return (
            f"{name} is too low: no harmonic sounds below {higher[0]}, the octave of the open"
            f" {letter} string. Write it as an ordinary note."
        )
    if not higher:
        return (
            f"{name} is too high: no string of this length speaks above {lower[-1]}. Write it"
            " lower."
        )
    return (
        f"No open string has {name} as a harmonic, and {_nearest_miss(board, pitch)}. The nearest"
        f" harmonics are {lower[-1]} below and {higher[0]} above."
    )


def _board(instrument: Instrument | str, pitch: int) -> Fingerboard:
    if isinstance(instrument, str):
        instrument = instrument_by_id(instrument)
    if not 0 <= pitch <= 127:
        message = f"A sounding note is a MIDI pitch from 0 to 127, not {pitch}."
        raise BadBrief(message)
    return fingerboard(instrument)


@lru_cache(maxsize=4096)
def _ways(
    board: Fingerboard, hand: Hand, pitch: int, middle_c_octave: int
) -> tuple[HarmonicWay, ...]:
    ways = [
        *_natural(board, hand, pitch, middle_c_octave),
        *_artificial(board, hand, pitch, middle_c_octave),
    ]
    return tuple(sorted(ways, key=_difficulty))


def _difficulty(way: HarmonicWay) -> tuple[float, ...]:
    """Equally hard: natural ones ring more freely, low partials speak better, the neck is nearer.

    Artificial ones are told apart by form, the commonest first, then by the lower stop.
    """
    order = way.partial
    if way.stopped_semitones is not None:
        order = [form.partial for form in FORMS].index(way.partial)
    is_artificial = way.kind == "artificial"
    return VERDICTS.index(way.verdict), is_artificial, order, way.touched_semitones


def _natural(
    board: Fingerboard, hand: Hand, pitch: int, middle_c_octave: int
) -> Iterator[HarmonicWay]:
    for string, open_pitch in enumerate(board.open_strings):
        for partial in range(2, partials_of(board).highest + 1):
            if semitones_sounded(partial) != pitch - open_pitch:
                continue
            for node in range(1, partial):
                # A node shared with a lower partial would sound that one.
                if gcd(node, partial) == 1:
                    yield _natural_way(board, hand, string, (node, partial), middle_c_octave)


def _natural_way(
    board: Fingerboard, hand: Hand, string: int, node: tuple[int, int], middle_c_octave: int
) -> HarmonicWay:
    place, partial = node
    letter, open_pitch = board.string_letter(string), board.open_strings[string]
    touched = semitones_up(place, partial)
    pitch, touched_pitch = open_pitch + semitones_sounded(partial), open_pitch + round(touched)
    notations = [f"{pitch_name(pitch, middle_c_octave)} with a small circle above, sul {letter}"]
    # A diamond can only name a note; the nodes between two notes would be touched wrongly.
    is_on_a_note = abs(touched - round(touched)) * 100.0 <= OUT_OF_TUNE_CENTS
    if is_on_a_note and touched_pitch != pitch:
        diamond = pitch_name(touched_pitch, middle_c_octave)
        notations.append(f"a diamond at {diamond}, sul {letter}")
    hardest = _hardest(demands_of_natural(board, hand, string, partial, touched))
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
        cents_off=cents_off(partial),
        verdict=VERDICTS[hardest.grade],
        reason=hardest.reason,
        notations=tuple(notations),
        evidence=hardest.evidence,
    )


def _artificial(
    board: Fingerboard, hand: Hand, pitch: int, middle_c_octave: int
) -> Iterator[HarmonicWay]:
    for string, form, stop in _stops(board, pitch):
        spread = spread_for(board, hand, form, stop)
        if spread.grade is not Grade.IMPOSSIBLE:
            hardest = _hardest(demands_of_artificial(board, hand, string, form, stop, spread))
            yield _artificial_way(board, string, (form, stop), spread, hardest, middle_c_octave)


def _artificial_way(
    board: Fingerboard,
    string: int,
    place: tuple[Form, int],
    spread: Spread,
    hardest: Demand,
    middle_c_octave: int,
) -> HarmonicWay:
    form, stop = place
    stopped = board.open_strings[string] + stop
    touched = stop + semitones_up(1, form.partial)
    touched_pitch = stopped + form.interval_semitones
    pitch = stopped + semitones_sounded(form.partial)
    sound, below, above = (
        pitch_name(note, middle_c_octave) for note in (pitch, stopped, touched_pitch)
    )
    notations = [f"{below} as an ordinary note and a diamond at {above} above it"]
    if touched_pitch != pitch:
        notations.append(f"the same with {sound} small in brackets above")
    return HarmonicWay(
        kind="artificial",
        sounding_pitch=pitch,
        string_index=string,
        string=board.string_letter(string),
        partial=form.partial,
        stopped_semitones=stop,
        stopped_pitch=stopped,
        touched_semitones=touched,
        touched_pitch=touched_pitch,
        touched_mm=board.string_length_mm * (1.0 - 2.0 ** (-touched / SEMITONES_PER_OCTAVE)),
        reach_mm=spread.reach_mm,
        fingers=spread.fingers,
        cents_off=cents_off(form.partial),
        verdict=VERDICTS[hardest.grade],
        reason=hardest.reason,
        notations=tuple(notations),
        evidence=hardest.evidence,
    )


def _stops(board: Fingerboard, pitch: int) -> Iterator[tuple[int, Form, int]]:
    """Every string, form and stop that would sound a pitch, in reach or not."""
    highest = semitones_sounded(partials_of(board).highest)
    for string, open_pitch in enumerate(board.open_strings):
        for form in FORMS:
            stop = pitch - open_pitch - semitones_sounded(form.partial)
            if 1 <= stop <= HIGHEST_STOP_SEMITONES and pitch - open_pitch <= highest:
                yield string, form, stop


def _hardest(demands: Iterator[Demand]) -> Demand:
    # The first of equals: a stretch is told before anything else.
    return max(demands, key=lambda demand: demand.grade)


def _nearest_miss(board: Fingerboard, pitch: int) -> str:
    hand = hand_for(board.string_length_mm)
    spreads = [spread_for(board, hand, form, stop) for _, form, stop in _stops(board, pitch)]
    if not spreads:
        return "no artificial form sounds it"
    nearest = min(spreads, key=lambda spread: spread.strain)
    reach_mm, widest_mm = round(nearest.reach_mm), round(nearest.widest_mm)
    limit = (
        f"where an opened hand reaches about {widest_mm} mm"
        if reach_mm > widest_mm
        else "just beyond an opened hand"
    )
    return f"an artificial one asks for two fingers {reach_mm} mm apart, {limit}"
