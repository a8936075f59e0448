"""How far published passages pin the bow times and the factor of a rehearsed section down.

Every time could be longer until a passage that is played becomes impossible: that is the frontier.
Each half of the table gives one; the other half says what it would cost there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from mockcheck.infer.headroom import LEVEL_FACTORS
from mockcheck.playing.times import MotionTimes
from tests.accuracy.passages import Passage, least_ratio, published_passages

BOW_TIMES = ("slurred_s", "separate_s", "repeated_s", "crossing_s")
STEPS = tuple(1 + step / 200 for step in range(-20, 61))
"""Factors on the bow times that are tried, nine tenths to 1.3."""


@dataclass(frozen=True)
class Frontier:
    """What one half of the table allows, and what becomes of the other half there.

    `bow_factor` multiplies the declared bow times, `rehearsed` a soloist's times; `impossible`
    and `too_fast` are the works of the other half that would be called so.
    """

    half: str
    bow_factor: float
    rehearsed: float
    impossible: tuple[str, ...]
    too_fast: tuple[str, ...]


def with_bow(factor: float) -> MotionTimes:
    """The declared times with all times of the bow multiplied."""
    times = MotionTimes()
    return times.model_copy(update={name: getattr(times, name) * factor for name in BOW_TIMES})


def halves() -> dict[str, tuple[Passage, ...]]:
    """Every second row, from the first and from the second."""
    rows = published_passages()
    return {"odd rows": rows[::2], "even rows": rows[1::2]}


def fit_bow(passages: Sequence[Passage]) -> float:
    """The longest bow times, as a factor, at which none of these passages is impossible."""
    return max(
        factor
        for factor in STEPS
        if all(least_ratio(passage, with_bow(factor)) <= 1 for passage in passages)
    )


def fit_rehearsed(passages: Sequence[Passage]) -> float:
    """The largest factor at which no section of these passages is too slow for its mark."""
    return 1 / max(least_ratio(passage) for passage in passages if passage.is_section)


@cache
def frontiers() -> tuple[Frontier, ...]:
    """Fit each half and try it on the other."""
    found = []
    for name, fitted in halves().items():
        others = next(rows for other, rows in halves().items() if other != name)
        bow, rehearsed = fit_bow(fitted), fit_rehearsed(fitted)
        times = with_bow(bow)
        found.append(
            Frontier(
                name,
                bow,
                rehearsed,
                tuple(row.work for row in others if least_ratio(row, times) > 1),
                tuple(
                    row.work
                    for row in others
                    if row.is_section and least_ratio(row) * rehearsed > 1 + 1e-9
                ),
            )
        )
    return tuple(found)


def describe() -> list[str]:
    """The section of the accuracy report."""
    lines = [
        "Bow times and the factor of a rehearsed section, fitted as a frontier on half of the"
        " published passages and tried on the other half. Declared: bow times as they stand"
        f" (factor 1), rehearsed {LEVEL_FACTORS.rehearsed}. No table says what reading at sight"
        f" costs; {LEVEL_FACTORS.sight} is from memory.",
        "",
        "| fitted on | bow times could be | impossible in the other half | rehearsed could be |"
        " too fast for a section in the other half |",
        "| --- | --- | --- | --- | --- |",
    ]
    lines += [
        f"| {row.half} | x {row.bow_factor:.3f} | {len(row.impossible)}: "
        f"{'; '.join(row.impossible) or 'none'} | {row.rehearsed:.3f} | {len(row.too_fast)}: "
        f"{'; '.join(row.too_fast) or 'none'} |"
        for row in frontiers()
    ]
    return lines
