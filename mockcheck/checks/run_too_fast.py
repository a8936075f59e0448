"""Runs with more notes than the time holds."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._levels import instrument_family
from mockcheck.checks._registry import check
from mockcheck.infer.rates import FastPassage, Strokes, fast_passages, strokes
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity

_PRINTED_RUNS = "printed runs under printed metronome marks in 116 open string quartet scores"
_SECTIONS = "score-to-recording alignments of open orchestral scores"


class RunTooFast(Params):
    """Limits of the check, for the violin; heavier instruments take their share of them."""

    slurred_sight_notes_per_s: float = quantity(
        11.7,
        unit="notes/s",
        low=1,
        high=40,
        meaning="slurred run that a section plays at sight",
        source=f"90th percentile of {_PRINTED_RUNS}",
    )
    slurred_rehearsed_notes_per_s: float = quantity(
        14.9,
        unit="notes/s",
        low=1,
        high=40,
        meaning="slurred run that rehearsed players manage",
        source=f"99th percentile of {_PRINTED_RUNS}",
    )
    slurred_solo_notes_per_s: float = quantity(
        16,
        unit="notes/s",
        low=1,
        high=40,
        meaning="slurred run that a soloist has ever managed",
        source="fastest violin trill, from memory",
    )
    separate_sight_notes_per_s: float = quantity(
        9.2,
        unit="notes/s",
        low=1,
        high=40,
        meaning="run in separate bows that a section plays at sight",
        source=f"finale in semiquavers, three recordings: {_SECTIONS}",
    )
    separate_rehearsed_notes_per_s: float = quantity(
        10.4,
        unit="notes/s",
        low=1,
        high=40,
        meaning="run in separate bows that rehearsed players manage",
        source=f"10.1 in {_SECTIONS}, 10.4 in alignments of solo recordings of Bach's partitas",
    )
    separate_solo_notes_per_s: float = quantity(
        13.5,
        unit="notes/s",
        low=1,
        high=40,
        meaning="run in separate bows that a soloist has ever managed",
        source="press reports of the speed record on the violin",
    )
    impossible_factor: float = quantity(
        1.15,
        unit="times the solo limit",
        low=1,
        high=3,
        meaning="from here on nobody plays it",
        source="spread between automatic alignments and marks, about 15 percent",
    )
    viola_share: float = quantity(
        0.95,
        unit="share of the violin's rate",
        low=0.2,
        high=1,
        meaning="viola against violin",
        source=_SECTIONS,
    )
    cello_share: float = quantity(
        0.9,
        unit="share of the violin's rate",
        low=0.2,
        high=1,
        meaning="cello against violin",
        source=_SECTIONS,
    )
    double_bass_share: float = quantity(
        0.85,
        unit="share of the violin's rate",
        low=0.2,
        high=1,
        meaning="bass against violin",
        source=_SECTIONS,
    )
    window_notes: float = quantity(
        8,
        unit="notes",
        low=3,
        high=64,
        meaning="notes looked at together; shorter figures are never too fast for a run",
    )


@check(
    id="run-too-fast",
    family="speed",
    severity=Severity.RISKY,
    title="A run has more notes than the time holds.",
    params=RunTooFast,
)
def find(part: PlayedPart, p: RunTooFast) -> Iterator[Observation]:
    """Find runs faster than players at this level have been heard to play.

    Why a player minds: fingers and bow have a top speed; above it the run smears, or the section
    leaves notes out, each player others.
    Measured: onsets in windows of eight changing notes; each note needs the time that its stroke,
    slurred or separate, takes on this instrument at this level. Risky above the level's rate,
    impossible above any rate ever measured.
    Fine when: the notes are a trill or a tremolo, or an ornament shorter than the window.
    Source: rates measured in recordings and counted in printed scores, named with each limit.
    """
    line = strokes(part)
    if not len(line.row):
        return
    slurred = part.articulation.is_any("legato", "portato")[line.note]
    excluded = part.articulation.is_any("pizzicato", "trill", "tremolo")[line.note]
    shared = line.is_shared if part.players > 1 else np.zeros_like(line.is_shared)
    counted = ~line.is_repeat & ~excluded & ~shared
    share = {"viola": p.viola_share, "cello": p.cello_share, "double bass": p.double_bass_share}
    factor = share.get(instrument_family(part), 1.0)
    rates = {
        level: (
            getattr(p, f"slurred_{level}_notes_per_s") * factor,
            getattr(p, f"separate_{level}_notes_per_s") * factor,
        )
        for level in ("sight", "rehearsed", "solo")
    }
    needed = {level: 1 / np.where(slurred, *rates[level]) for level in rates}
    window = int(p.window_notes)
    for found in fast_passages(line.onset_s, needed[part.session.level], counted, window):
        inside = slice(found.first, found.after)
        hopeless = fast_passages(
            line.onset_s[inside],
            needed["solo"][inside] / p.impossible_factor,
            counted[inside] | (np.arange(found.after - found.first) == 0),
            window,
        )
        yield _observe(
            part,
            line,
            found,
            is_slurred=bool(slurred[inside].mean() > 0.5),
            is_hopeless=bool(hopeless),
        )


def _observe(
    part: PlayedPart, line: Strokes, found: FastPassage, *, is_slurred: bool, is_hopeless: bool
) -> Observation:
    stroke = "slurred" if is_slurred else "in separate bows"
    level = part.session.level
    rows = tuple(line.note[found.first : found.after].tolist())
    return Observation(
        note_indices=rows,
        message=(
            f"{len(rows)} notes {stroke} at {found.notes_per_s:.1f} a second; at level {level}"
            f" {found.limit_notes_per_s:.1f} is as fast as they go."
        ),
        suggestion=(
            f"Take the tempo down to {1 / found.ratio:.0%}, leave notes out between the first and"
            " the last, or divide the run between desks."
        ),
        evidence=(
            Evidence(
                "notes per second",
                round(found.notes_per_s, 2),
                round(found.limit_notes_per_s, 2),
                "notes/s",
            ),
        ),
        confidence=float(part.articulation.confidence[list(rows)].min())
        if not is_hopeless
        else 1.0,
        severity=Severity.IMPOSSIBLE if is_hopeless else Severity.RISKY,
    )
