"""What was heard in each part, in a line: strokes with their surety, slides, dynamics."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np

from mockcheck.infer.dynamics import dynamic_name
from mockcheck.model.played import ARTICULATIONS, PlayedPart
from mockcheck.model.review import Review
from mockcheck.model.words import count_of, printable

_MOST_PARTS = 12
_MOST_STROKES = 4
_LEAST_SHARE = 0.02
"""A stroke on less of a part's notes is told in the tables, not in a line."""


def heard_lines(review: Review, *, every: bool = False) -> Iterator[str]:
    """One line for each part that plays, at most a dozen unless `every` is asked for."""
    parts = [part for part in review.played.parts if len(part.notes)]
    shown = parts if every else parts[:_MOST_PARTS]
    for part in shown:
        facts = [_strokes(part), _slides(part), *_dynamics(part)]
        yield f"{printable(part.name)}: {'; '.join(facts)}."
    if len(parts) > len(shown):
        yield f"And {count_of(len(parts) - len(shown), 'more part')}."


def _strokes(part: PlayedPart) -> str:
    codes = part.articulation.code
    words: list[str] = []
    for code, notes in Counter(codes.tolist()).most_common(_MOST_STROKES):
        share = notes / len(codes)
        if share < _LEAST_SHARE and words:
            break
        sure = float(np.mean(part.articulation.confidence[codes == code]))
        words.append(f"{ARTICULATIONS[code]} {share:.0%} ({sure:.0%} sure)")
    return ", ".join(words)


def _slides(part: PlayedPart) -> str:
    if not part.slides:
        return "no slides"
    kinds = Counter(slide.kind for slide in part.slides)
    if len(kinds) == 1:
        return count_of(len(part.slides), "slide")
    named = ", ".join(f"{count} {kind}" for kind, count in kinds.most_common())
    return f"{count_of(len(part.slides), 'slide')} ({named})"


def _dynamics(part: PlayedPart) -> Iterator[str]:
    if not part.dynamics:
        return
    values = np.concatenate([curve.loudness for curve in part.dynamics])
    softest, loudest = dynamic_name(float(values.min())), dynamic_name(float(values.max()))
    span = softest if softest == loudest else f"{softest} to {loudest}"
    sources = sorted({curve.source for curve in part.dynamics})
    yield f"{span} by {' and '.join(sources)}"
