"""Runs of the published music itself, played faster than anybody has been heard to play."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from random import Random

from tests.accuracy.faults.fault import Fault, fault_at, put_notes
from tests.accuracy.faults.speed import is_at_rate
from tests.accuracy.midi_music import Music, Note, Part

SLURRED_NOTES_PER_S, SEPARATE_NOTES_PER_S = 14.9, 13.5
"""The fastest published for a soloist, a violin; violas and cellos are slower. Slurred: 99th
percentile of printed runs of eight notes or more under printed metronome marks in 116 open string
quartet scores. Separate: press reports of record performances of one solo, 13 to 14.3; the fastest
64 notes in recordings of unaccompanied works are at 10.4."""
PAST_LIMIT = 1.5
SHORTEST_RUN, LONGEST_RUN = 8, 24
MOST_NOTES = 48
"""Of a run played forth and back."""
OCTAVE = 12
SLUR_OVERLAP_TICKS = 10
"""How far slurred notes last over in these files."""
UNEVEN = 1.1
"""Gaps between onsets may differ by a tenth: triplets written in whole ticks do."""


@dataclass(frozen=True)
class Run:
    """Single notes of a part in a row, each of another pitch than the one before."""

    notes: tuple[Note, ...]
    notes_per_s: float

    @property
    def is_separate(self) -> bool:
        """No note is slurred to the next."""
        return all(left.release < right.onset for left, right in pairwise(self.notes))

    @property
    def has_leap(self) -> bool:
        """An octave or more from one note to the next, which may be what a check speaks of."""
        return any(abs(b.pitch - a.pitch) >= OCTAVE for a, b in pairwise(self.notes))

    @property
    def limit_notes_per_s(self) -> float:
        """The fastest rate published for its stroke; a few slurs are enough for the higher one."""
        return SEPARATE_NOTES_PER_S if self.is_separate else SLURRED_NOTES_PER_S


def fastest_run(music: Music, part: Part, start: int, end: int) -> Run | None:
    """The fastest run that begins between two ticks, taken as far as it goes on evenly."""
    places = [i for i, note in enumerate(part.notes) if start <= note.onset < end]
    runs = [run for i in places if (run := _run_from(music, part.notes, i)) is not None]
    return max(runs, key=lambda run: (run.notes_per_s, len(run.notes)), default=None)


def _run_from(music: Music, notes: tuple[Note, ...], first: int) -> Run | None:
    after = first + 1
    while after < len(notes) and after - first < LONGEST_RUN and _goes_on(notes, first, after):
        after += 1
    run = notes[first:after]
    # No chord at either end: inside, two notes at once would leave no gap.
    begins_alone = first == 0 or notes[first - 1].onset < run[0].onset
    ends_alone = after == len(notes) or notes[after].onset > run[-1].onset
    if len(run) < SHORTEST_RUN or not (begins_alone and ends_alone):
        return None
    seconds = music.second_at(run[-1].onset) - music.second_at(run[0].onset)
    return Run(run, (len(run) - 1) / seconds)


def _goes_on(notes: tuple[Note, ...], first: int, place: int) -> bool:
    """Single notes of equal length on a line; two pitches to and fro are a trill, no run."""
    before, note = notes[place - 1], notes[place]
    gap, whole = note.onset - before.onset, notes[first + 1].onset - notes[first].onset
    is_single = before.release <= note.onset + SLUR_OVERLAP_TICKS
    is_even = 0 < gap <= UNEVEN * whole and whole <= UNEVEN * gap
    last_four = [n.pitch for n in notes[max(place - 3, first) : place + 1]]
    is_trill = len(last_four) == 4 and last_four[:2] == last_four[2:]
    return is_single and is_even and note.pitch != before.pitch and not is_trill


def _in_tempo(music: Music, run: Run, notes_per_s: float, order: list[int]) -> list[Note]:
    """Notes of a run at another rate, in an order, each as long for its gap as it is printed."""
    gaps = [right.onset - left.onset for left, right in pairwise(run.notes)]
    lengths = [note.release - note.onset for note in run.notes]
    shares = [length / gap for length, gap in zip(lengths, gaps, strict=False)]
    # What the run ends on is often a longer note; in the run it is one like the others.
    shares.append(min(lengths[-1] / gaps[-1], shares[-1]))
    begin = music.second_at(run.notes[0].onset)
    ticks = [music.tick_at(begin + i / notes_per_s) for i in range(len(order) + 1)]
    return [
        Note(onset, onset + _ticks(shares[place], after - onset), run.notes[place].pitch)
        for place, (onset, after) in zip(order, pairwise(ticks), strict=True)
    ]


def _ticks(share: float, gap: int) -> int:
    """A printed share of a gap in whole ticks; slurred stays over it and separate under it."""
    if share > 1:
        return max(round(share * gap), gap + 1)
    return max(min(round(share * gap), gap - 1), 1) if share < 1 else gap


def published_run(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """The fastest run near the note, at 1.5 times the published limit of its stroke.

    The time it no longer needs stays empty, or the run goes forth and back in it.
    """
    bar = music.bar_at(note.onset)
    run = fastest_run(music, part, note.onset, music.bar_start(bar + 2))
    if run is None:
        return None
    rate = PAST_LIMIT * run.limit_notes_per_s
    start, end = run.notes[0].onset, run.notes[-1].release
    order = list(range(len(run.notes)))
    is_filled = chance.random() < 0.5
    if is_filled:
        seconds = music.second_at(end) - music.second_at(start)
        count = max(len(order), min(int(seconds * rate), MOST_NOTES))
        turn = [*order, *order[-2:0:-1]]
        order = [turn[i % len(turn)] for i in range(count)]
    notes = _in_tempo(music, run, rate, order)
    if run.notes_per_s >= rate or not is_at_rate(music, notes, rate):
        return None
    stroke = "separate" if run.is_separate else "slurred"
    detail = (
        f"{len(run.notes)} {stroke} notes, printed {run.notes_per_s:.1f} a second, now {rate:.1f}"
        f"{', forth and back' if is_filled else ''}"
    )
    changed = put_notes(part, start, max(end, notes[-1].release), notes)
    span = (start, notes[-1].release)
    checks = ("run-too-fast", "leap-too-fast") if run.has_leap else ("run-too-fast",)
    return fault_at("published run past the limit", music, changed, span, detail, *checks)
