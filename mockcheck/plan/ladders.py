"""From a tempo that is comfortable up to the written one, in three or four passes with a click."""

from __future__ import annotations

from dataclasses import dataclass

from mockcheck.model.time import Timeline
from mockcheck.plan.clicks import Clicks, clicks_of
from mockcheck.plan.spots import Spot

FROM_HALF = (0.5, 0.75, 0.875, 1.0)
FROM_THREE_QUARTERS = (0.75, 0.875, 1.0)
"""Shares of the written tempo. Common practice, no source."""
COMFORTABLE_HEADROOM = 1.25
"""Headroom at sight of the first pass, if half the tempo gives it; proposal, no source."""

_BEAT_WORDS = {
    4.0: "whole note",
    2.0: "half",
    1.5: "dotted quarter",
    1.0: "quarter",
    0.75: "dotted eighth",
    0.5: "eighth",
    0.375: "dotted sixteenth",
    0.25: "sixteenth",
}


@dataclass(frozen=True)
class Rung:
    """One pass.

    Parameters
    ----------
    share
        Of the written tempo.
    click_bpm
        Clicks a minute on the first beat.
    count_in_s, passage_s
        How long the count-in and the bars take.
    """

    share: float
    click_bpm: float
    count_in_s: float
    passage_s: float

    @property
    def seconds(self) -> float:
        """The whole pass, count-in included."""
        return self.count_in_s + self.passage_s


@dataclass(frozen=True)
class Ladder:
    """The passes of one spot.

    Parameters
    ----------
    rungs
        From slow to full.
    clicks
        The click of every rung: the tempo alone differs.
    beat
        'quarter', 'dotted quarter', ...: what the click counts on the first beat.
    tempos_change
        Whether the tempo or the counted beat changes within the spot, so that the click follows.
    """

    rungs: tuple[Rung, ...]
    clicks: Clicks
    beat: str
    tempos_change: bool

    @property
    def seconds(self) -> float:
        """All passes together."""
        return sum(rung.seconds for rung in self.rungs)


def ladder_of(spot: Spot, timeline: Timeline) -> Ladder:
    """The passes of a spot: from three quarters where hands are comfortable there, else from half.

    Parameters
    ----------
    spot
        What to practise.
    timeline
        The file's tempo and bars.

    Not modelled: how often players want a pass again.
    """
    start = spot.headroom / COMFORTABLE_HEADROOM
    shares = FROM_THREE_QUARTERS if start >= FROM_THREE_QUARTERS[0] else FROM_HALF
    clicks = clicks_of(timeline, spot.first_bar_index, spot.last_bar_index)
    meter, tempo = timeline.meter, timeline.tempo
    assert meter is not None
    begins_s, ends_s = tempo.second_at(spot.start_ticks), tempo.second_at(spot.end_ticks)
    tick_s = tempo.second_at(spot.start_ticks + 1) - begins_s
    unit = float(clicks.unit_ticks[0])
    own = (tempo.ticks > spot.start_ticks) & (tempo.ticks < spot.end_ticks)
    return Ladder(
        rungs=tuple(
            Rung(
                share=share,
                click_bpm=60 * share / (unit * tick_s),
                count_in_s=clicks.count_in_ticks * tick_s / share,
                passage_s=(ends_s - begins_s) / share,
            )
            for share in shares
        ),
        clicks=clicks,
        beat=_BEAT_WORDS.get(round(unit / meter.ticks_per_quarter, 4), "beat"),
        tempos_change=bool(own.any() or (clicks.unit_ticks != unit).any()),
    )
