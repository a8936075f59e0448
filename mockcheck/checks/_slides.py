"""What the checks on slides share: passages, the pace of the hand, and which slides to keep."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from mockcheck.infer.joins import holds_on_one_string
from mockcheck.model.finding import Evidence, Observation
from mockcheck.model.played import PlayedPart, Slide
from mockcheck.playing.fingerboard import HIGHEST_STOP_SEMITONES, Fingerboard, stop_distance_mm

WIDEST_KEPT_SEMITONES = 12
"""Expressive slides span thirds to octaves. From memory."""
_PHRASE_S = 4.0
"""About a breath or a bow to either side; a longer way off is another phrase. From memory."""
_PHRASE_REST_S = 0.3
"""A rest after a note that ends a phrase. Common practice, no source."""
_PEAK_WORTH, _CLOSE_WORTH = 1.0, 0.5


@dataclass(frozen=True)
class Kept:
    """A slide worth keeping: its place among the slides of a passage, from 1, and why."""

    number: int
    slide: Slide
    reason: str


def slide_passages(part: PlayedPart, gap_s: float) -> Iterator[list[Slide]]:
    """Slides of one track that follow each other within so many seconds."""
    for role in part.roles:
        own = sorted(
            (slide for slide in part.slides if slide.track == role.index),
            key=lambda slide: slide.onset_ticks,
        )
        passage: list[Slide] = []
        for slide in own:
            if passage:
                ends = np.array([passage[-1].release_ticks, slide.onset_ticks])
                left, right = part.timeline.tempo.seconds_at(ends)
                if right - left > gap_s:
                    yield passage
                    passage = []
            passage.append(slide)
        if passage:
            yield passage


def strings_for(
    board: Fingerboard, slide: Slide, lowest_stop: float, tolerance: float
) -> list[tuple[int, float, float]]:
    """Strings on which both ends of a slide lie on the board, with both stops in semitones."""
    low, high = sorted((slide.from_pitch, slide.to_pitch))
    return [
        (string, low - open_pitch, high - open_pitch)
        for string, open_pitch in enumerate(board.open_strings)
        if low - open_pitch >= lowest_stop - tolerance
        and high - open_pitch <= HIGHEST_STOP_SEMITONES + tolerance
    ]


def shortest_way_mm(board: Fingerboard, slide: Slide, tolerance: float) -> float:
    """The way of the hand along the string on which it is shortest; 0 where no string has both."""
    ways = []
    for _, low, high in strings_for(board, slide, 1, tolerance):
        stops = np.clip(np.array([low, high]), 0, HIGHEST_STOP_SEMITONES)
        nut_to_low, nut_to_high = stop_distance_mm(board.string_length_mm, stops)
        ways.append(float(nut_to_high - nut_to_low))
    return min(ways, default=0.0)


def semitones(slide: Slide) -> float:
    """How far a slide goes, either way."""
    return abs(slide.to_pitch - slide.from_pitch)


def is_timed(slide: Slide) -> bool:
    """Whether a slide leads from one note to another in a time of its own."""
    return slide.source == "bend" and slide.from_note != slide.to_note >= 0


def named_slide(part: PlayedPart, slide: Slide) -> str:
    """A slide at the head of a sentence."""
    return (
        f"The slide from {part.pitch_name(slide.from_pitch)} to {part.pitch_name(slide.to_pitch)}"
    )


def notes_of(slides: Sequence[Slide]) -> tuple[int, ...]:
    """The notes that slides leave and reach, in order."""
    ends = {note for slide in slides for note in (slide.from_note, slide.to_note)}
    return tuple(sorted(ends - {-1}))


def observe_times(
    part: PlayedPart,
    slides: Sequence[Slide],
    extreme: Slide,
    limit_ms: float,
    words: tuple[str, str],
    suggestion: str,
) -> Observation:
    """Slides of one passage whose time is beyond a limit, told by the farthest of them.

    `words` say how several are, and what the limit means: 'long, the longest'.
    """
    several, meaning = words
    begins = (
        f"{named_slide(part, extreme)} takes"
        if len(slides) == 1
        else f"{len(slides)} slides are {several} with"
    )
    return Observation(
        note_indices=notes_of(slides),
        message=f"{begins} {extreme.duration_ms:.0f} ms; {meaning}",
        suggestion=suggestion,
        evidence=(Evidence("time of the slide", round(extreme.duration_ms), limit_ms, "ms"),),
        confidence=sum(slide.confidence for slide in slides) / len(slides),
        span_ticks=(slides[0].onset_ticks, max(slide.release_ticks for slide in slides)),
    )


def worth_keeping(part: PlayedPart, slides: Sequence[Slide], most: int) -> list[Kept]:
    """The slides of a passage that a player would choose, in order of time.

    Up to the top of a phrase, onto a long note, wide but no wider than an octave; or down to the
    close of a phrase. Only those that one string holds, if there are any.

    Source: direction and interval of expressive slides, from memory; longer notes let expression
    decide, Nagata and others 2015.
    """
    longest_s = max(_arrival_s(part, slide) for slide in slides) or 1.0
    ranked = []
    for number, slide in enumerate(slides, start=1):
        width = min(semitones(slide), WIDEST_KEPT_SEMITONES) / WIDEST_KEPT_SEMITONES
        length = _arrival_s(part, slide) / longest_s
        peak, close = _is_peak(part, slide), _is_close(part, slide)
        worth = width + length + _PEAK_WORTH * peak + _CLOSE_WORTH * close
        worth *= _has_string(part, slide)
        if peak:
            reason = "up to the top of the phrase"
        elif close:
            reason = "down to the close of the phrase"
        elif length >= width:
            reason = "onto a long note"
        else:
            reason = "a wide one"
        ranked.append((-worth, number, Kept(number, slide, reason)))
    chosen = [kept for _, _, kept in sorted(ranked)[: max(most, 1)]]
    return sorted(chosen, key=lambda kept: kept.number)


def _arrival_s(part: PlayedPart, slide: Slide) -> float:
    """How long the note sounds that a slide leads to; none after a fall."""
    return 0.0 if slide.to_note < 0 else float(part.notes.duration_s[slide.to_note])


def _is_peak(part: PlayedPart, slide: Slide) -> bool:
    """Whether a slide rises to the highest note around."""
    if slide.to_note < 0 or slide.to_pitch <= slide.from_pitch:
        return False
    notes, at_s = part.notes, part.notes.onset_s[slide.to_note]
    own = part.track == slide.track
    near = own & (np.abs(notes.onset_s - at_s) <= _PHRASE_S)
    return bool(notes.pitch[slide.to_note] >= notes.pitch[near].max())


def _is_close(part: PlayedPart, slide: Slide) -> bool:
    """Whether a slide sinks to the last note before a rest."""
    if slide.to_note < 0 or slide.to_pitch >= slide.from_pitch:
        return False
    notes, note = part.notes, slide.to_note
    later = notes.onset_s[(part.track == slide.track) & (notes.onset_s > notes.onset_s[note])]
    return not len(later) or bool(later[0] - notes.release_s[note] >= _PHRASE_REST_S)


def _has_string(part: PlayedPart, slide: Slide) -> bool:
    ends = np.rint([[slide.from_pitch], [slide.to_pitch]]).astype(np.int16)
    return bool(holds_on_one_string(part.instrument, ends[0], ends[1])[0])
