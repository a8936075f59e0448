"""Notes out of tune because a bend was never taken back."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import check
from mockcheck.model.columns import stretches
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class BendLeftOver(Params):
    """Limits of the check."""

    smallest_cents: float = quantity(
        15,
        unit="cents",
        low=1,
        high=200,
        meaning="a standing bend smaller than this is tuning, not an accident",
        source="players' intonation spreads by 10 to 20 cents; common practice, no source",
    )
    standing_travel_cents: float = quantity(
        5,
        unit="cents",
        low=0,
        high=100,
        meaning="a bend that moves no further than this while the note sounds stands still",
    )
    under_vibrato_cents: float = quantity(
        30,
        unit="cents",
        low=1,
        high=200,
        meaning="below vibrato a smaller standing bend may be the player's intonation",
        source="players' intonation spreads by 10 to 20 cents; common practice, no source",
    )
    under_vibrato_drift_cents: float = quantity(
        10,
        unit="cents",
        low=0,
        high=50,
        meaning="a middle of the vibrato that strays no further from the begin of the note stands",
    )
    whole_part_share: float = quantity(
        0.8,
        unit="share of the part's notes",
        low=0.2,
        high=1,
        meaning="from this share on the whole part is tuned so on purpose",
    )


@check(
    id="bend-left-over",
    family="slides",
    severity=Severity.AWKWARD,
    title="A note begins bent and stays so.",
    params=BendLeftOver,
    needs_strings=False,
)
def find(part: PlayedPart, p: BendLeftOver) -> Iterator[Observation]:
    """Find notes that a forgotten bend holds out of tune.

    Why a player minds: players read the note and play it in tune; what was heard in the mock-up,
    and perhaps liked, is not what will be recorded.
    Measured: the bend in force when a note begins, in cents, where it does not move while the note
    sounds, or only to and fro around it. Awkward, because it is heard in the mock-up and never on
    the stage.
    Fine when: the bend goes somewhere (a slide), or a whole part is tuned off pitch on purpose,
    which is only remarked once.
    Source: MIDI 1.0 Detailed Specification 4.2, Pitch Bend Change: a bend stays until the next one.
    """
    if not len(part.notes):
        return
    bend = part.bend_at_onset_cents
    stands = part.bend_travel_cents <= p.standing_travel_cents
    is_off = (np.abs(bend) >= p.smallest_cents) & stands
    is_off |= _shakes_off_pitch(part, p)
    if is_off.mean() >= p.whole_part_share and np.ptp(bend[is_off]) <= 2 * p.smallest_cents:
        rows = np.flatnonzero(is_off)
        yield _observe(part, rows, p, Severity.REMARK)
        return
    for first, after in stretches(is_off):
        yield _observe(part, np.arange(first, after), p, Severity.AWKWARD)


def _shakes_off_pitch(part: PlayedPart, p: BendLeftOver) -> NDArray[np.bool_]:
    """Notes whose vibrato goes around a pitch that is not theirs, from begin to end."""
    shaken = part.intonation
    if shaken is None:
        return np.zeros(len(part.notes), np.bool_)
    stays = np.abs(shaken.level_cents - part.bend_at_onset_cents) <= p.under_vibrato_drift_cents
    stays &= np.abs(shaken.drift_cents) <= p.under_vibrato_drift_cents
    stays &= (shaken.vibrato_hz > 0) & (np.abs(shaken.level_cents) >= p.under_vibrato_cents)
    sliding = [note for slide in part.slides for note in (slide.from_note, slide.to_note)]
    stays[[note for note in sliding if note >= 0]] = False
    return stays


def _observe(
    part: PlayedPart, rows: NDArray[np.intp], p: BendLeftOver, severity: Severity
) -> Observation:
    bends = part.bend_at_onset_cents[rows]
    worst = float(bends[np.abs(bends).argmax()])
    direction = "sharp" if worst > 0 else "flat"
    count = "A note begins" if len(rows) == 1 else f"{len(rows)} notes begin"
    if severity is Severity.REMARK:
        message = f"The whole part is bent {abs(worst):.0f} cents {direction}."
        suggestion = "Keep it if the tuning is meant; players will play at their own pitch."
    else:
        message = (
            f"{count} {abs(worst):.0f} cents {direction} because a bend before was never"
            " taken back."
        )
        suggestion = "Set the bend back to the middle before the note, or draw the slide out."
    return Observation(
        note_indices=tuple(rows.tolist()),
        message=message,
        suggestion=suggestion,
        evidence=(Evidence("standing bend", round(abs(worst), 1), p.smallest_cents, "cents"),),
        severity=severity,
    )
