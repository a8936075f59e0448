"""Runs with the notes left out that the finding says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from mockcheck.export._doubled import doubled
from mockcheck.infer._runs import Run, find_run
from mockcheck.infer.thinning import Thinned, thin_run
from mockcheck.model.finding import Finding, Severity
from mockcheck.model.played import PlayedPart, TightPassage
from mockcheck.model.review import Review

CHECK = "run-too-fast"


@dataclass(frozen=True)
class ThinRun:
    """What becomes of one run.

    Parameters
    ----------
    finding
        The finding that asks for it.
    left_out
        Notes of the part that go, doubled ones and lower notes of double stops included.
    moved
        Onset and release, ticks, of each note that stays.
    before, after
        The top notes of the run in order of time, its landing not counted.
    """

    finding: Finding
    left_out: frozenset[int]
    moved: Mapping[int, tuple[int, int]]
    before: tuple[int, ...]
    after: tuple[int, ...]


def thin_runs(review: Review, part: PlayedPart) -> Iterator[ThinRun]:
    """The runs of a part that are too fast and have notes that nobody misses.

    What goes and where the rest is put is what the finding suggests: `infer/thinning.py`. A note
    that stays sounds for the same share of the time to the next as before. Of findings that share
    a run the first says what becomes of it.
    """
    passages = {
        (
            int(part.notes.onset_ticks[passage.note_indices[0]]),
            tuple(part.notes.pitch[list(passage.note_indices)].tolist()),
        ): passage
        for passage in part.passages
        if not passage.is_leap
    }
    touched: set[int] = set()
    for finding in review.findings:
        if finding.check != CHECK or finding.part != part.name or finding.accepted is not None:
            continue
        passage = passages.get((finding.start.tick, finding.pitches))
        if passage is None or finding.severity < Severity.RISKY:
            continue
        thinned = _thin(part, passage, finding)
        if thinned is not None and touched.isdisjoint(thinned.before):
            touched |= set(thinned.before)
            yield thinned


def _thin(part: PlayedPart, passage: TightPassage, finding: Finding) -> ThinRun | None:
    thinned, run = thin_run(part, passage), find_run(part, passage)
    if thinned is None or run is None:
        return None
    notes_of = _notes_of_events(part, run)
    events = {run.top_note(event): event for event in range(run.first, run.after)}
    gone = frozenset(n for top in thinned.left_out for n in notes_of[events[top]])
    return ThinRun(
        finding=finding,
        left_out=gone,
        moved=_moved(part, run, thinned, notes_of),
        before=tuple(events),
        after=thinned.kept,
    )


def _moved(
    part: PlayedPart, run: Run, thinned: Thinned, notes_of: Mapping[int, list[int]]
) -> dict[int, tuple[int, int]]:
    """New onset and release of every note that stays; those that stay as they are left out."""
    events = {run.top_note(event): event for event in range(run.first, run.after)}
    last = run.after - 1
    # A run that leads nowhere ends where its last note does.
    end_ticks = (
        int(run.ticks[run.landing])
        if run.landing is not None
        else int(part.notes.release_ticks[run.top_note(last)])
    )
    was = {
        events[top]: int(run.ticks[events[top] + 1] if events[top] < last else end_ticks)
        for top in thinned.kept
    }
    moved = {}
    for (top, onset), (_, next_onset) in pairwise(
        [*zip(thinned.kept, thinned.onset_ticks, strict=True), (-1, end_ticks)]
    ):
        event = events[top]
        shift = onset - int(run.ticks[event])
        stretch = (next_onset - onset) / max(was[event] - int(run.ticks[event]), 1)
        for note in notes_of[event]:
            begin, end = int(part.notes.onset_ticks[note]), int(part.notes.release_ticks[note])
            new = (begin + shift, begin + shift + round((end - begin) * stretch))
            if new != (begin, end):
                moved[note] = new
    return moved


def _notes_of_events(part: PlayedPart, run: Run) -> dict[int, list[int]]:
    """The notes that begin with each event, doubled keys on other tracks among them.

    A note held from the event before belongs to that one.
    """
    seen: set[int] = set()
    notes_of: dict[int, list[int]] = {}
    for event in range(run.first, run.after):
        begun = [int(run.rows[note]) for note in run.player.notes[event]]
        own = [note for note in begun if note not in seen]
        seen |= set(own)
        doubles = [row for note in own for row in doubled(part, note) if row not in seen]
        seen |= set(doubles)
        notes_of[event] = [*own, *doubles]
    return notes_of
