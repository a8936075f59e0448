"""Slides that no single string holds, or no hand travels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from mockcheck.checks._registry import check
from mockcheck.checks._slides import semitones, shortest_way_mm, strings_for
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart, Slide
from mockcheck.params import Params, quantity
from mockcheck.playing.fingerboard import HIGHEST_STOP_SEMITONES, Fingerboard, fingerboard
from mockcheck.playing.hand import BASS_HAND, CELLO_HAND, hand_for


class SlideCrossesStrings(Params):
    """Limits of the check."""

    hard_mm_per_s: float = quantity(
        820,
        unit="mm/s",
        low=50,
        high=10000,
        meaning="violin and viola: a hand that slides faster leaves no slide to hear",
        source="an octave from the nut, 164 mm, in the usual time of its shift, 0.2 s, from memory",
    )
    fastest_mm_per_s: float = quantity(
        1370,
        unit="mm/s",
        low=50,
        high=10000,
        meaning="violin and viola: no hand slides faster",
        source="the same octave in the shortest time of its shift, 0.12 s, from memory",
    )
    hard_low_mm_per_s: float = quantity(
        1380,
        unit="mm/s",
        low=50,
        high=10000,
        meaning="cello and bass: a hand that slides faster leaves no slide to hear",
        source="an octave from the nut of the cello, 345 mm, in the usual time of its shift,"
        " 0.25 s, from memory; a fifth in 183 ms (840 mm/s) is the pace of recent recordings (arXiv"
        " 2604.22037)",
    )
    fastest_low_mm_per_s: float = quantity(
        2300,
        unit="mm/s",
        low=50,
        high=10000,
        meaning="cello and bass: no hand slides faster",
        source="the same octave in the shortest time of its shift, 0.15 s, from memory",
    )
    end_tolerance_semitones: float = quantity(
        0.5,
        unit="semitones",
        low=0,
        high=2,
        meaning="an end so near a note counts as that note",
        source="bends seldom end exactly on the pitch",
    )


@dataclass(frozen=True)
class _Fault:
    """What is wrong with a slide, how bad it is, and the number that says so."""

    severity: Severity
    message: str
    suggestion: str
    evidence: Evidence


@check(
    id="slide-crosses-strings",
    family="slides",
    severity=Severity.IMPOSSIBLE,
    title="A slide needs more than one string, or a faster hand.",
    params=SlideCrossesStrings,
)
def find(part: PlayedPart, p: SlideCrossesStrings) -> Iterator[Observation]:
    """Find slides whose two ends no finger can join on one string.

    Why a player minds: a slide is one finger gliding along one string; from an open string, to
    one, or across to another string there is a step or a hole instead.
    Measured: whether one string holds both sounding ends stopped; if so, mm along the string on
    which the way is shortest, over the time of the slide. Impossible when no string holds both or
    the hand would have to be faster than any shift; risky when only an open lowest string is in
    the way, since a start or end a semitone off is nearly the same; awkward when faster than a
    shift usually is.
    Fine when: the slide is short of the notes themselves, as most are; only its own ends count.
    Source: ideal string for the geometry; shift times from memory, named with each limit.
    """
    board = fingerboard(part.instrument)
    for slide in part.slides:
        fault = _without_string(part, board, slide, p) or _too_fast(board, slide, p)
        if fault is None:
            continue
        rows = {slide.from_note} if slide.to_note < 0 else {slide.from_note, slide.to_note}
        yield Observation(
            note_indices=tuple(sorted(rows)),
            message=fault.message,
            suggestion=fault.suggestion,
            evidence=(fault.evidence,),
            confidence=slide.confidence,
            severity=fault.severity,
            span_ticks=(slide.onset_ticks, slide.release_ticks),
        )


def _without_string(
    part: PlayedPart, board: Fingerboard, slide: Slide, p: SlideCrossesStrings
) -> _Fault | None:
    if strings_for(board, slide, 1, p.end_tolerance_semitones):
        return None
    low = min(slide.from_pitch, slide.to_pitch)
    slid = f"A slide from {part.pitch_name(slide.from_pitch)} to {part.pitch_name(slide.to_pitch)}"
    if strings_for(board, slide, 0, p.end_tolerance_semitones):
        return _Fault(
            Severity.RISKY,
            f"{slid}: {part.pitch_name(low)} is the open string, on which no finger glides, so that"
            " end is a step.",
            "Let the slide begin or end a semitone above the open string, or play the two notes"
            " without one.",
            Evidence("stopped strings that hold both ends", 0, 1, "strings"),
        )
    reached = [open_pitch for open_pitch in board.open_strings if open_pitch <= low + 0.5]
    evidence = Evidence(
        "lower end under the lowest open string",
        round(min(board.open_strings) - low, 2),
        0,
        "semitones",
    )
    if reached:
        room = max(reached) + HIGHEST_STOP_SEMITONES - low
        evidence = Evidence(
            "width of the slide", round(semitones(slide), 2), round(room, 2), "semitones"
        )
    return _Fault(
        Severity.IMPOSSIBLE,
        f"{slid}: no string of the {part.instrument.id} has both ends.",
        "Slide only the part that one string holds, play the two notes without a slide, or hand the"
        " line over to another instrument on the way.",
        evidence,
    )


def is_heard_at_pace(board: Fingerboard, slide: Slide, p: SlideCrossesStrings) -> bool:
    """Whether the hand of a slide goes no faster than a shift usually does."""
    hard, _ = _paces(board, p)
    return _pace_mm_per_s(board, slide, p) <= hard + 1e-6


def _paces(board: Fingerboard, p: SlideCrossesStrings) -> tuple[float, float]:
    """The usual and the fastest pace of a shift on this size of instrument, mm/s."""
    is_low = hand_for(board.string_length_mm) in (CELLO_HAND, BASS_HAND)
    if is_low:
        return p.hard_low_mm_per_s, p.fastest_low_mm_per_s
    return p.hard_mm_per_s, p.fastest_mm_per_s


def _pace_mm_per_s(board: Fingerboard, slide: Slide, p: SlideCrossesStrings) -> float:
    way_mm = shortest_way_mm(board, slide, p.end_tolerance_semitones)
    return 1000 * way_mm / max(slide.duration_ms, 1e-3)


def _too_fast(board: Fingerboard, slide: Slide, p: SlideCrossesStrings) -> _Fault | None:
    # Only a drawn bend has a length; what a switch asks for takes the player's own time.
    if slide.source != "bend":
        return None
    hard, fastest = _paces(board, p)
    pace = _pace_mm_per_s(board, slide, p)
    way_mm = shortest_way_mm(board, slide, p.end_tolerance_semitones)
    if pace <= hard + 1e-6:
        return None
    is_hopeless = pace > fastest + 1e-6
    return _Fault(
        Severity.IMPOSSIBLE if is_hopeless else Severity.AWKWARD,
        f"A slide over {way_mm:.0f} mm of string in {slide.duration_ms:.0f} ms:"
        + (" no hand travels so fast." if is_hopeless else " too fast to be heard as a slide."),
        "Give the slide more time, slide only its last few semitones, or play the two notes without"
        " one.",
        Evidence("speed of the hand", round(pace), fastest if is_hopeless else hard, "mm/s"),
    )
