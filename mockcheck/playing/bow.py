"""How long one bow lasts: shorter the louder, shorter on larger instruments.

A bow lasts as long as its hair divided by its speed, and loudness is mostly speed: too slow and
too heavy a bow scratches (Schelleng, The bowed string and the player, JASA 53, 1973, from memory).
Two pairs of numbers, one for pp and one for ff, fix two straight lines over loudness in ratio;
each step louder shortens a full tone by a third and the longest bow by a fifth.
"""

from __future__ import annotations

from mockcheck.model.instrument import Instrument
from mockcheck.params import Params, quantity
from mockcheck.playing.hand import BASS_HAND, CELLO_HAND, hand_for


class BowTimes(Params):
    """Seconds of one bow on the violin, and what is left of them on larger instruments."""

    pp_loudness: float = quantity(
        33,
        unit="loudness 0-127",
        low=1,
        high=63,
        meaning="where pp lies: six dynamics from pp to ff in equal steps of 16",
    )
    ff_loudness: float = quantity(
        112, unit="loudness 0-127", low=64, high=127, meaning="where ff lies"
    )
    comfortable_pp_s: float = quantity(
        10,
        unit="s",
        low=1,
        high=60,
        meaning="one bow with a full tone, pp",
        source="0.62 m of hair at 0.05 to 0.08 m/s gives 8 to 12 s (speeds from memory, after"
        " Askenfelt, JASA 86, 1989); an orchestrator's note on bow lengths has 12 s",
    )
    comfortable_ff_s: float = quantity(
        1.25,
        unit="s",
        low=0.1,
        high=10,
        meaning="one bow with a full tone, ff",
        source="0.62 m of hair at 0.4 to 0.6 m/s gives 1.0 to 1.5 s (speeds from memory, as above);"
        " the same note has 0.5 s",
    )
    longest_pp_s: float = quantity(
        12,
        unit="s",
        low=1,
        high=60,
        meaning="longest bow that still sounds, pp",
        source="the same note, 12 s; 0.62 m of hair at 0.05 m/s; printed slurs marked pp reach 6 s"
        " (99th percentile of 3,495 in 116 open string quartet scores)",
    )
    longest_ff_s: float = quantity(
        3.9,
        unit="s",
        low=0.2,
        high=20,
        meaning="longest bow that is still asked for, ff",
        source="99th percentile of 1,697 printed slurs marked ff in 116 open string quartet scores,"
        " 3.87 s; composers print phrase marks too, so it is an upper guide",
    )
    cello_share: float = quantity(
        0.8,
        unit="share of the violin's time",
        low=0.2,
        high=1,
        meaning="shorter hair and heavier strings of the cello",
        source="from memory",
    )
    double_bass_share: float = quantity(
        0.6,
        unit="share of the violin's time",
        low=0.2,
        high=1,
        meaning="shorter hair and heavier strings of the bass",
        source="from memory; two thirds by another memory",
    )


BOW = BowTimes()


def comfortable_bow_s(instrument: Instrument, loudness: float) -> float:
    """One bow with a full tone lasts about ten seconds softly and hardly more than one loudly.

    Parameters
    ----------
    instrument
        Its size decides, whatever its tuning.
    loudness
        0-127, as notes carry it; 80 is about mf.

    Returns
    -------
    Seconds, positive.

    Source: `BowTimes`, where each number is named.
    Not modelled: contact point, the player's arm, and how much of the bow is left when it begins.
    """
    return _share(instrument) * _between(BOW.comfortable_pp_s, BOW.comfortable_ff_s, loudness)


def longest_bow_s(instrument: Instrument, loudness: float) -> float:
    """Beyond a time that falls with loudness no written bow goes on.

    Parameters
    ----------
    instrument, loudness
        As in `comfortable_bow_s`.

    Returns
    -------
    Seconds, longer than the comfortable bow of the same loudness.

    Source: `BowTimes`.
    Not modelled: practice bows of 40 to 60 s at the edge of silence, which nobody writes.
    """
    return _share(instrument) * _between(BOW.longest_pp_s, BOW.longest_ff_s, loudness)


def _between(pp_s: float, ff_s: float, loudness: float) -> float:
    # Softer than pp nothing is gained: a slower bow no longer holds the string.
    steps = max((loudness - BOW.pp_loudness) / (BOW.ff_loudness - BOW.pp_loudness), 0.0)
    return float(pp_s * (ff_s / pp_s) ** steps)


def _share(instrument: Instrument) -> float:
    hand = hand_for(instrument.string_length_mm)
    return {CELLO_HAND: BOW.cello_share, BASS_HAND: BOW.double_bass_share}.get(hand, 1.0)
