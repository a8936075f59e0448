"""Whether one player can sound a chord: the verdict, how to hold it, and the reason in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from mockcheck.errors import BadBrief
from mockcheck.model.finding import Evidence
from mockcheck.model.instrument import Instrument
from mockcheck.playing.demands import finger_name
from mockcheck.playing.fingerboard import HIGHEST_STOP_SEMITONES, Fingerboard, fingerboard
from mockcheck.playing.hand import OPEN, Hand, hand_for
from mockcheck.playing.holding import Hold, OutOfReach, find_hold
from mockcheck.units import pitch_name

Verdict = Literal["easy", "possible", "hard", "impossible"]
Failure = Literal[
    "below open strings",
    "one string",
    "more notes than strings",
    "strings not neighbours",
    "out of reach",
]
Sustained = Literal["together", "together only loud and short", "broken"]

VERDICTS: tuple[Verdict, ...] = ("easy", "possible", "hard", "impossible")
"""From easiest to worst; the order of Grade."""

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True)
class ChordAnswer:
    """What one player can do with one chord; tuples run with the pitches, low to high.

    Parameters
    ----------
    pitches
        Sounding MIDI pitches, low to high.
    verdict
        Easy, possible, hard or impossible, for one professional who has to hold it.
    strings
        String of each note, 0 = highest; empty when impossible.
    fingers
        0 = open, 1-4, thumb = -1; one workable way, never the only one.
    stops_semitones
        Height of each note above its open string.
    stretch_mm
        Distance along the string between the outermost stopped fingers, mm; of a chord out of
        reach, the least that any strings would ask for.
    sustained
        Two notes sound together as long as the bow lasts, three only loud and short, four are
        broken; None when impossible.
    reason
        One plain sentence.
    failure
        Why it is impossible; None when it is not.
    evidence
        The number that decides, beside its limit; None where no number does.
    """

    pitches: tuple[int, ...]
    verdict: Verdict
    strings: tuple[int, ...]
    fingers: tuple[int, ...]
    stops_semitones: tuple[int, ...]
    stretch_mm: float
    sustained: Sustained | None
    reason: str
    failure: Failure | None = None
    evidence: Evidence | None = None

    @property
    def is_playable(self) -> bool:
        """Whether one player can do it at all."""
        return self.failure is None

    @property
    def cause(self) -> str | None:
        """The id of the check that reports this impossibility; None when playable."""
        if self.failure is None:
            return None
        if self.failure == "below open strings":
            return "note-below-open-string"
        if self.failure == "out of reach":
            return "chord-out-of-reach" if len(self.pitches) > 1 else "note-above-range"
        is_double_stop = len(self.pitches) == 2 and self.failure == "one string"
        return "double-stop-on-one-string" if is_double_stop else "chord-needs-divisi"


def chord(
    instrument: Instrument | str,
    pitches: Sequence[int],
    *,
    middle_c_octave: int = 4,
    hand: Hand | None = None,
) -> ChordAnswer:
    """Whether one player can play these notes at once, and how.

    Parameters
    ----------
    instrument
        An Instrument, or the id of one.
    pitches
        Sounding MIDI pitches in any order; a pitch given twice is a unison on two strings.
    middle_c_octave
        How note names in `reason` are numbered, 3, 4 or 5.
    hand
        The hand that plays; None for the one that belongs to the instrument's size.

    Raises
    ------
    BadBrief
        No pitch, a number that is no MIDI pitch, or an instrument without strings of its own.

    Source: geometry of the fingerboard, and the reaches in `hand` with their sources.
    Not modelled: what comes before and after, harmonics, and whether the chord can be reached in
    time.
    """
    if isinstance(instrument, str):
        instrument = instrument_by_id(instrument)
    board = fingerboard(instrument)
    if not pitches or not all(0 <= pitch <= 127 for pitch in pitches):
        message = f"A chord is one or more MIDI pitches from 0 to 127, not {list(pitches)}."
        raise BadBrief(message)
    ordered = tuple(sorted(int(pitch) for pitch in pitches))
    hand = hand or hand_for(board.string_length_mm)
    return _answer(board, hand, instrument.id, ordered, middle_c_octave)


def instrument_by_id(instrument_id: str) -> Instrument:
    """The instrument of that id; BadBrief lists the ids there are."""
    from mockcheck.instruments import instrument, instrument_ids

    if instrument_id not in instrument_ids():
        known = ", ".join(instrument_ids())
        message = f"There is no instrument '{instrument_id}'. Choose one of: {known}."
        raise BadBrief(message)
    return instrument(instrument_id)


@lru_cache(maxsize=1 << 16)
def _answer(
    board: Fingerboard, hand: Hand, name: str, pitches: tuple[int, ...], middle_c_octave: int
) -> ChordAnswer:
    notes = [pitch_name(pitch, middle_c_octave) for pitch in pitches]
    failure = (
        _too_few_strings(board, name, pitches, notes)
        or _below(board, pitches, notes)
        or _on_too_few_strings(board, pitches, notes)
    )
    if failure is not None:
        return _impossible(pitches, *failure)
    hold = find_hold(board, hand, pitches)
    if isinstance(hold, Hold):
        return _playable(board, pitches, notes, hold)
    if isinstance(hold, OutOfReach):
        reason = _out_of_reach(hold.evidence)
        return _impossible(pitches, "out of reach", reason, hold.evidence, hold.stretch_mm)
    reason = (
        f"{_joined(notes)} can only be found on strings that are not neighbours, so one bow"
        " cannot sound them together."
    )
    return _impossible(pitches, "strings not neighbours", reason, None)


def _impossible(
    pitches: tuple[int, ...],
    failure: Failure,
    reason: str,
    evidence: Evidence | None,
    stretch_mm: float = 0.0,
) -> ChordAnswer:
    return ChordAnswer(
        pitches, "impossible", (), (), (), stretch_mm, None, reason, failure, evidence
    )


def _playable(
    board: Fingerboard, pitches: tuple[int, ...], notes: list[str], hold: Hold
) -> ChordAnswer:
    hardest = hold.hardest
    sustained: tuple[Sustained, ...] = ("together", "together", "together only loud and short")
    return ChordAnswer(
        pitches=pitches,
        verdict=VERDICTS[hold.grade],
        strings=hold.strings,
        fingers=hold.fingers,
        stops_semitones=hold.stops,
        stretch_mm=hold.stretch_mm,
        sustained=sustained[len(pitches) - 1] if len(pitches) <= len(sustained) else "broken",
        reason=hardest.reason if hardest is not None else _described(board, notes, hold),
        evidence=hardest.evidence if hardest is not None else None,
    )


def _described(board: Fingerboard, notes: list[str], hold: Hold) -> str:
    places = []
    for note, string, finger in zip(notes, hold.strings, hold.fingers, strict=True):
        how = "open" if finger == OPEN else f"under the {finger_name(finger)} finger"
        places.append(f"{note} {how} on the {board.string_letter(string)} string")
    return f"{_joined(places)}."


def _too_few_strings(
    board: Fingerboard, name: str, pitches: tuple[int, ...], notes: list[str]
) -> tuple[Failure, str, Evidence] | None:
    count, strings = len(pitches), len(board.open_strings)
    if count <= strings:
        return None
    reason = (
        f"{_joined(notes)} are {_number(count)} notes, and a {name} has {_number(strings)} strings."
    )
    return "more notes than strings", reason, Evidence("notes at once", count, strings, "strings")


def _below(
    board: Fingerboard, pitches: tuple[int, ...], notes: list[str]
) -> tuple[Failure, str, Evidence] | None:
    lowest = min(board.open_strings)
    below = [note for note, pitch in zip(notes, pitches, strict=True) if pitch < lowest]
    if not below:
        return None
    letter = board.string_letter(board.open_strings.index(lowest))
    verb = "lies" if len(below) == 1 else "lie"
    reason = f"{_joined(below)} {verb} below the open {letter}, the lowest string."
    evidence = Evidence("lowest note", pitches[0], lowest, "MIDI pitch")
    return "below open strings", reason, evidence


def _on_too_few_strings(
    board: Fingerboard, pitches: tuple[int, ...], notes: list[str]
) -> tuple[Failure, str, Evidence] | None:
    """The notes that have fewer strings among them than they are, found from below and above."""
    strings = range(len(board.open_strings))
    count = len(pitches)
    for size in range(1, count + 1):
        low = [s for s in strings if board.open_strings[s] <= pitches[size - 1]]
        if len(low) < size:
            higher = min(p for p in board.open_strings if p > pitches[size - 1])
            limit = f"below the open {board.string_letter(board.open_strings.index(higher))}"
            return _shared(board, notes[:size], low, limit)
        top = pitches[count - size]
        high = [s for s in strings if top - board.open_strings[s] <= HIGHEST_STOP_SEMITONES]
        if len(high) < size:
            return _shared(board, notes[count - size :], high, "above the end of the other strings")
    return None


def _shared(
    board: Fingerboard, notes: list[str], strings: list[int], limit: str
) -> tuple[Failure, str, Evidence]:
    count = len(notes)
    if not strings:
        reason = f"{notes[-1]} lies beyond the end of the fingerboard."
        return "out of reach", reason, Evidence("strings that reach the note", 0, 1, "strings")
    letters = _joined([board.string_letter(string) for string in reversed(strings)])
    evidence = Evidence("notes for the same strings", count, len(strings), "strings")
    if count == 2:
        reason = f"{_joined(notes)} both lie {limit}, so they need the {letters} string at once."
    else:
        plural = "string" if len(strings) == 1 else "strings"
        reason = (
            f"{_joined(notes)} all lie {limit}, so {_number(count)} notes share the {letters}"
            f" {plural}."
        )
    return "one string", reason, evidence


def _out_of_reach(evidence: Evidence) -> str:
    measured, limit = evidence.measured, evidence.limit
    if evidence.unit == "mm":
        return (
            f"Two fingers would have to stand {measured:.0f} mm apart; an opened hand reaches"
            f" about {limit:.0f} mm."
        )
    if evidence.unit == "semitones":
        return (
            f"The fingers would have to span {measured:.0f} semitones along the string; about"
            f" {_number(int(limit))} is the widest with this many notes."
        )
    if evidence.unit == "strings":
        return f"One finger would have to stop {_number(int(measured))} strings at once."
    return (
        f"The chord needs {_number(int(measured))} fingers, and only {_number(int(limit))} are"
        " free to stop notes."
    )


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)


def _joined(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
