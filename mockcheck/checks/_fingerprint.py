"""Names a finding by its music, so that it keeps its name when bars are inserted before it."""

from __future__ import annotations

from collections.abc import Sequence

from mockcheck.model.identity import FindingId, name_finding
from mockcheck.model.played import PlayedPart

_RHYTHM_STEPS_PER_QUARTER = 48
"""Grid on which a finding's rhythm is remembered: fine enough for triplets of demisemiquavers,
coarse enough that another resolution or a shifted bar line gives the same id."""
_STEPS_OF_LENGTH = 12
"""The length of a finding counts in quarters of a beat: a longer bow is another, a tail is not."""
_NEIGHBOURS = 3
"""Notes on either side that tell one low F from the next."""


def fingerprint(check_id: str, part: PlayedPart, rows: Sequence[int]) -> FindingId:
    """The id of a finding of some notes of a part.

    It follows the notes alone: pitches, rhythm in parts of a beat, length, and the next three
    notes on either side. Tempo, bar numbers, tracks, velocities and resolution are not in it, the
    part's name is in it apart.
    """
    onsets, releases = part.notes.onset_ticks, part.notes.release_ticks
    first, last = min(rows), max(rows)
    per_step = _ticks_per_rhythm_step(part)
    length = (int(releases[list(rows)].max()) - int(onsets[first])) / per_step
    after = range(last + 1, min(last + 1 + _NEIGHBOURS, len(part.notes)))
    return name_finding(
        check_id,
        part.name,
        f"{_rhythm(part, rows, rows[0], per_step)}x{round(length / _STEPS_OF_LENGTH)}",
        _rhythm(part, range(max(first - _NEIGHBOURS, 0), first), first, per_step),
        _rhythm(part, after, last, per_step),
    )


def _rhythm(part: PlayedPart, rows: Sequence[int], anchor: int, per_step: float) -> str:
    """Pitches, each at its distance from the onset of an anchor note."""
    onsets = part.notes.onset_ticks
    return ",".join(
        f"{part.notes.pitch[row]}@{round((int(onsets[row]) - int(onsets[anchor])) / per_step)}"
        for row in rows
    )


def _ticks_per_rhythm_step(part: PlayedPart) -> float:
    if part.timeline.meter is not None:
        return part.timeline.meter.ticks_per_quarter / _RHYTHM_STEPS_PER_QUARTER
    # Frames have no beats: a hundredth of a second takes the place of the step.
    return max(0.01 / float(part.timeline.tempo.seconds_per_tick[0]), 1e-9)
