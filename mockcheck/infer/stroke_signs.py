"""What length, rate and loudness of each note say for and against each stroke."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.note_lengths import NoteLengths
from mockcheck.infer.tremolo_and_trills import find_tremolo, find_trills
from mockcheck.model.articulations import ARTICULATIONS
from mockcheck.params import Params, quantity

HEARD = ARTICULATIONS[: ARTICULATIONS.index("trill") + 1]
"""The strokes that timing can show; their order is that of the columns of signs."""
LEGATO, DETACHE, PORTATO, MARCATO, STACCATO, SPICCATO, TREMOLO, TRILL = range(len(HEARD))

Column = NDArray[np.float64]


class StrokeLength(Params):
    """How long the notes of one stroke sound."""

    share: float = quantity(
        0.8,
        unit="share of the time to the next onset",
        low=0.1,
        high=1,
        meaning="they sound for about this",
        source="see STROKE_LENGTHS",
    )
    spread: float = quantity(
        0.1, unit="share", low=0.02, high=0.4, meaning="standard deviation of that"
    )
    alone_s: float = quantity(
        0.35,
        unit="s",
        low=0.01,
        high=5,
        meaning="before a rest, where the time to the next onset says nothing, about this",
        source="fitted on half of the printed quartets of the listening measurement",
    )
    alone_spread: float = quantity(
        0.9, unit="natural logarithm", low=0.1, high=2, meaning="standard deviation of that"
    )


STROKE_LENGTHS = {
    # Staccato on the piano about 0.4 (Bresin and Battel, 2000); the other shares from memory.
    DETACHE: StrokeLength(),
    MARCATO: StrokeLength(share=0.7, spread=0.15, alone_s=0.4, alone_spread=0.7),
    STACCATO: StrokeLength(share=0.45, spread=0.15, alone_s=0.16, alone_spread=0.45),
    SPICCATO: StrokeLength(share=0.3, spread=0.12, alone_s=0.05, alone_spread=0.5),
}


class SignParams(Params):
    """What weighs how much; nats are steps of the natural logarithm of odds."""

    strongest: float = quantity(
        6,
        unit="nats",
        low=1,
        high=20,
        meaning="no single note speaks more strongly than this against a stroke",
    )
    custom_notes: float = quantity(
        8,
        unit="notes",
        low=1,
        high=64,
        meaning="so many separate notes of a line weigh as much as the usual share",
    )
    least_spread: float = quantity(
        0.02,
        unit="share of the time to the next onset",
        low=0.001,
        high=0.1,
        meaning="lengths drawn alike vary no less than this: ticks round them",
    )
    separate_share: float = quantity(
        0.55,
        unit="share of the time to the next onset",
        low=0.4,
        high=0.8,
        meaning="shorter notes do not show how long separate notes are by custom",
    )
    even_chance_s: float = quantity(
        1,
        unit="s",
        low=0.2,
        high=5,
        meaning="after so long a time to the next onset, longer than its neighbours, a rest is as"
        " likely as not",
        source="fitted on half of the printed quartets of the listening measurement",
    )
    rest_slope: float = quantity(
        2,
        unit="nats for each e-fold of that time",
        low=0,
        high=5,
        meaning="how fast the odds of a rest grow with it",
        source="fitted on half of the printed quartets of the listening measurement",
    )
    even_rhythm: float = quantity(
        -1, unit="nats", low=-5, high=0, meaning="odds of a rest after a note of an even rhythm"
    )
    uneven: float = quantity(
        1.5, unit="times", low=1.1, high=3, meaning="longer than this against a neighbour is uneven"
    )
    bounce_rate: float = quantity(
        5,
        unit="notes/s",
        low=3,
        high=8,
        meaning="short notes faster than this leave the string, slower ones are stopped on it",
        source="controlled spiccato about 5 notes/s, its upper end 6.67: The Strad, an article on"
        " spiccato and sautille after Dounis",
    )
    bounce_slope: float = quantity(
        8,
        unit="nats for each e-fold of the rate",
        low=1,
        high=30,
        meaning="how sharp that border is, and that of marcato",
    )
    marcato_rate: float = quantity(
        4,
        unit="notes/s",
        low=1,
        high=8,
        meaning="faster notes are not marked one by one",
        source="from memory",
    )
    accent: float = quantity(
        12,
        unit="steps of 127",
        low=4,
        high=60,
        meaning="louder than those around it by this, a note is marked",
        source="from memory",
    )
    marked: float = quantity(
        1.5, unit="nats", low=0, high=6, meaning="what an accent says for marcato"
    )
    unmarked: float = quantity(
        -3, unit="nats", low=-10, high=0, meaning="what its lack says against it"
    )
    joined: float = quantity(
        6, unit="nats", low=1, high=20, meaning="what a join says for a slur, and its lack against"
    )
    renewed: float = quantity(
        2.5,
        unit="nats",
        low=0,
        high=10,
        meaning="what a pitch struck again without a gap says for portato, where separate notes"
        " leave one",
        source="in printed quartets 1,610 such repetitions are under a slur and 20 are not",
    )
    not_renewed: float = quantity(
        -4, unit="nats", low=-10, high=0, meaning="what anything else says against portato"
    )
    in_run: float = quantity(
        4, unit="nats", low=1, high=20, meaning="what a fast repetition says for tremolo or trill"
    )
    out_of_run: float = quantity(
        -6, unit="nats", low=-20, high=0, meaning="what anything else says against them"
    )


SIGNS = SignParams()
_CLOCK_S = 1e-3
_BEFORE_RESTS = (3 / 4, 2 / 3, 1 / 2, 1 / 3, 1 / 4)
"""What is left of the time to the next onset where a written rest takes the other part."""


def hear_signs(lengths: NoteLengths, *, touch_is_slur: bool, touch_is_renewed: bool) -> Column:
    """Slurred notes run into each other, separate ones leave a little air, short ones much.

    Parameters
    ----------
    lengths
        The onsets of one line, m of them.
    touch_is_slur
        Whether notes that touch without overlapping are meant to be slurred.
    touch_is_renewed
        Whether a pitch struck again without a gap is under one bow.

    Returns
    -------
    Log-likelihood of each stroke at each onset, the best one 0, shape (m, len(HEARD)).

    Source: the numbers are named one by one in `SignParams` and `STROKE_LENGTHS`.
    Not modelled: portato with a gap before each note, which timing does not tell from detache.
    """
    signs = np.empty((len(lengths), len(HEARD)))
    rest = _chance_of_rest(lengths)
    custom = _custom_share(lengths)
    gap_s = np.maximum(lengths.gap_s, _CLOCK_S)
    is_joined = lengths.overlaps | lengths.touches
    # A join says that the next note follows, not how long a separate note would be.
    share = np.where(is_joined, np.minimum(lengths.share, custom[0]), lengths.share)
    separate = _separate(lengths, custom, share, rest)
    signs[:, DETACHE] = separate
    bounces = np.minimum(SIGNS.bounce_slope * np.log(SIGNS.bounce_rate * gap_s), 50)
    for stroke, slower in ((STACCATO, bounces), (SPICCATO, -bounces)):
        signs[:, stroke] = _length_signs(lengths, stroke, lengths.share, rest, slower)
    signs[:, MARCATO] = _marked(lengths, gap_s, share, rest)
    signs[:, PORTATO] = separate + _renewed(lengths, touch_is_renewed)
    # The last note under a slur may have any length.
    signs[:, LEGATO] = signs[:, DETACHE:TREMOLO].max(axis=1) + _joined(lengths, touch_is_slur)
    plainest = signs[:, :TREMOLO].max(axis=1)
    for stroke, runs in ((TREMOLO, find_tremolo(lengths)), (TRILL, find_trills(lengths))):
        signs[:, stroke] = plainest + np.where(runs, SIGNS.in_run, SIGNS.out_of_run)
    signs -= signs.max(axis=1, keepdims=True)
    weighed: Column = np.maximum(signs, -SIGNS.strongest)
    return weighed


def _chance_of_rest(lengths: NoteLengths) -> Column:
    """Whether the time to the next onset holds a rest, so that it is not the note's own."""
    before_s = np.append(np.inf, lengths.gap_s[:-1])
    after_s = np.append(lengths.gap_s[1:], np.inf)
    is_even = lengths.gap_s <= SIGNS.uneven * np.minimum(before_s, after_s)
    odds = SIGNS.rest_slope * np.log(np.maximum(lengths.gap_s, _CLOCK_S) / SIGNS.even_chance_s)
    odds = odds + np.where(is_even, SIGNS.even_rhythm, 0.0)
    chance: Column = 1 / (1 + np.exp(-np.minimum(odds, 50)))
    return np.clip(chance, 0.02, 0.98)


def _custom_share(lengths: NoteLengths) -> tuple[float, float]:
    """How long separate notes of this line are and how much that varies, as shares.

    Drawn to what is usual where there are few.
    """
    share = lengths.share
    shares = share[(share > SIGNS.separate_share) & (share <= 1) & ~lengths.overlaps]
    usual, few = STROKE_LENGTHS[DETACHE], SIGNS.custom_notes
    count = len(shares)
    if not count:
        return usual.share, usual.spread
    middle = float(np.median(shares))
    # 1.48 times the middle departure is the standard deviation of a normal law.
    spread = 1.48 * float(np.median(np.abs(shares - middle)))
    spread = (few * usual.spread + count * spread) / (few + count)
    return (
        (few * usual.share + count * middle) / (few + count),
        min(max(spread, SIGNS.least_spread), usual.spread),
    )


def _separate(
    lengths: NoteLengths, custom: tuple[float, float], share: Column, rest: Column
) -> Column:
    """Separate notes by the custom of the line, before the next onset or before a rest.

    A rest takes a written value, so that the note is as short as for half or a third of the time.
    """
    middle, spread = custom
    share = np.maximum(share, _CLOCK_S)
    with_next = _normal(share, middle, spread)
    parts = [_normal(share, part * middle, part * spread) for part in _BEFORE_RESTS]
    with_rest = np.logaddexp.reduce(parts, axis=0) - np.log(len(parts))
    alone = _alone(lengths, DETACHE) - np.log(share)
    rests = np.log(rest / 2) + np.logaddexp(with_rest, alone)
    density: Column = np.logaddexp(np.log1p(-rest) + with_next, rests) + np.log(share)
    return density


def _length_signs(
    lengths: NoteLengths,
    stroke: int,
    share: Column,
    rest: Column,
    rate_odds: Column | float = np.inf,
) -> Column:
    """Density of the note's length, by its share of the time to the next onset or by itself.

    Both are densities of the logarithm of the sounding time, so that they can be added.
    `rate_odds` are the odds that notes at this rate are played so.
    """
    own = STROKE_LENGTHS[stroke]
    share = np.maximum(share, _CLOCK_S)
    with_next = _normal(share, own.share, own.spread) + np.log(share) - np.logaddexp(0, -rate_odds)
    density: Column = np.logaddexp(
        np.log1p(-rest) + with_next, np.log(rest) + _alone(lengths, stroke)
    )
    return density


def _alone(lengths: NoteLengths, stroke: int) -> Column:
    own = STROKE_LENGTHS[stroke]
    sounds = np.log(np.maximum(lengths.sounds_s, _CLOCK_S))
    return _normal(sounds, np.log(own.alone_s), own.alone_spread)


def _normal(values: Column, mean: float, spread: float) -> Column:
    density: Column = -0.5 * ((values - mean) / spread) ** 2 - np.log(spread * np.sqrt(2 * np.pi))
    return density


def _marked(lengths: NoteLengths, gap_s: Column, share: Column, rest: Column) -> Column:
    faster = -SIGNS.bounce_slope * np.log(SIGNS.marcato_rate * gap_s)
    own = _length_signs(lengths, MARCATO, share, rest)
    is_marked = lengths.accent >= SIGNS.accent
    marked: Column = (
        own - np.logaddexp(0, faster) + np.where(is_marked, SIGNS.marked, SIGNS.unmarked)
    )
    return marked


def _joined(lengths: NoteLengths, touch_is_slur: bool) -> Column:
    """A note is under a slur where it leads into the next, or the one before leads into it."""
    leads = lengths.overlaps | (lengths.touches & ~lengths.repeats & touch_is_slur)
    follows = np.append(False, leads[:-1])
    return np.where(leads | follows, SIGNS.joined, -SIGNS.joined)


def _renewed(lengths: NoteLengths, touch_is_renewed: bool) -> Column:
    leads = lengths.touches & lengths.repeats & touch_is_renewed
    follows = np.append(False, leads[:-1])
    return np.where(leads | follows, SIGNS.renewed, SIGNS.not_renewed)
