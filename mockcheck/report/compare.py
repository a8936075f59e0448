"""What became of the findings, as text for a composer and as JSON for a script."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from mockcheck.model.finding import Finding
from mockcheck.model.review import Review, finding_dict
from mockcheck.model.words import count_of, place_words, printable
from mockcheck.plan.compare import Comparison, Kept, LengthChange
from mockcheck.report._verdict import level_words
from mockcheck.report.review_json import base_name, json_text
from mockcheck.report.terminal import wrap

SCHEMA = "mockcheck.compare/1"

_NARROWEST = 60
_HANGING = " " * 14
_MOST_TOLD = 12
_MOST_DISTANCES = 2
"""Different distances by which findings moved that the headline tells one by one."""


def headline(comparison: Comparison) -> str:
    """'Fixed: 3; still there: 5 (2 of them moved by 4 bars); new: 1.'"""
    accepted = len(comparison.accepted)
    return (
        f"Fixed: {len(comparison.fixed):,}; still there: {len(comparison.kept):,}"
        f"{_moved_words(comparison.kept)}; new: {len(comparison.new):,}"
        f"{f'; accepted and not counted: {accepted:,}' if accepted else ''}."
    )


def _moved_words(kept: Sequence[Kept]) -> str:
    moved = Counter(pair.moved_bars for pair in kept if pair.has_moved)
    if not moved:
        return ""
    total = sum(moved.values())
    whole = total == len(kept)
    if len(moved) > _MOST_DISTANCES:
        return f" ({'all' if whole else f'{total:,} of them'} moved)"
    told = [
        f"{'all' if number == len(kept) else f'{number:,} of them'} moved {_distance(bars)}"
        for bars, number in sorted(moved.items(), key=lambda row: -row[1])
    ]
    return f" ({', '.join(told)})"


def _distance(bars: int) -> str:
    if bars == 0:
        return "within the bar"
    return f"by {count_of(bars, 'bar')}" if bars > 0 else f"back by {count_of(-bars, 'bar')}"


def change_lines(comparison: Comparison) -> list[str]:
    """What became of the music itself: parts, and bars that came in or went."""
    lines = [
        f"'{printable(old)}' is now called '{printable(new)}'." for old, new in comparison.renamed
    ]
    lines += [f"No longer there: '{printable(name)}'." for name in comparison.left_out]
    lines += [f"Came in: '{printable(name)}'." for name in comparison.added]
    return lines + [_length_words(change) for change in comparison.length_changes]


def _length_words(change: LengthChange) -> str:
    size = abs(change.seconds if change.bars is None else change.bars)
    noun = "s" if change.bars is None else "bar" if size == 1 else "bars"
    verb = "came in" if change.seconds > 0 else "went"
    before = change.before
    where = f"{before.time_s:.1f} s" if before.bar is None else f"bar {before.bar}"
    return f"{size:.4g} {noun} {verb} before what was {where}."


def kept_place(pair: Kept) -> str:
    """'bar 12, beat 1 (was bar 8, beat 1)', or the place alone where it has not moved."""
    here = place_words(pair.new.start, pair.new.end)
    if not pair.has_moved:
        return here
    return f"{here} (was {place_words(pair.old.start, pair.old.start)})"


def severity_words(pair: Kept) -> str:
    """'better: was awkward' where the severity is another now; empty where it is the same."""
    if pair.old.severity is pair.new.severity:
        return ""
    worse = "worse" if pair.new.severity > pair.old.severity else "better"
    return f"{worse}: was {pair.old.severity.label}"


def judged_words(comparison: Comparison) -> str:
    """Both files, and for whom they were judged."""
    old, new = comparison.old_review, comparison.new_review
    files = f"{_file(new)}, held against {_file(old)}"
    before, now = old.played.session, new.played.session
    words = f"{files}; judged at level {level_words(now)}."
    if level_words(before) != level_words(now):
        words += (
            f" The old file was judged at level {before.level_name}, so findings may differ by that"
            " alone."
        )
    return words


def render_compare(comparison: Comparison, width: int = 100, *, show_all: bool = False) -> str:
    """A composer reads what a revision cured, what it left and what it brought in.

    Everything new is told; of the rest the worst dozen, or all of it with `show_all`.
    """
    lines: list[str] = []
    for text, first, hanging in _paragraphs(comparison, show_all):
        lines += wrap(text, max(width, _NARROWEST), first, hanging) if text else [""]
    return "\n".join(lines)


def _paragraphs(comparison: Comparison, show_all: bool) -> Iterator[tuple[str, str, str]]:
    yield headline(comparison), "", ""
    yield judged_words(comparison), "", ""
    for line in change_lines(comparison):
        yield line, "  - ", "    "
    if comparison.new:
        yield "", "", ""
        yield "New", "", ""
    for finding in _worst_first(comparison.new):
        place = place_words(finding.start, finding.end)
        yield _told(finding, place), "  ", _HANGING
        yield f"Do: {printable(finding.suggestion)}", _HANGING, _HANGING + "    "
    kept = [
        _told(pair.new, kept_place(pair), severity_words(pair))
        for pair in sorted(comparison.kept, key=lambda pair: _rank(pair.new))
    ]
    yield from _group("Still there", kept, show_all)
    fixed = [
        _told(finding, f"was {place_words(finding.start, finding.end)}")
        for finding in _worst_first(comparison.fixed)
    ]
    yield from _group("Fixed", fixed, show_all)
    vain = [printable(unused.words) for unused in comparison.new_review.unused_acceptances]
    yield from _group("Accepted by the brief, but not found", vain, True)


def _group(title: str, told: Sequence[str], show_all: bool) -> Iterator[tuple[str, str, str]]:
    if told:
        yield "", "", ""
        yield title, "", ""
    shown = told if show_all else told[:_MOST_TOLD]
    for text in shown:
        yield text, "  ", _HANGING
    if len(shown) < len(told):
        yield f"and {len(told) - len(shown):,} more; --all prints every one.", "  ", "    "


def _told(finding: Finding, place: str, after: str = "") -> str:
    return (
        f"{finding.severity.label:10}  {printable(finding.part)}, {place}:"
        f" {printable(finding.message)} [{finding.check}]{f'; {after}' if after else ''}"
    )


def _worst_first(findings: Sequence[Finding]) -> list[Finding]:
    return sorted(findings, key=_rank)


def _rank(finding: Finding) -> tuple[int, float, int]:
    return -finding.severity, finding.start.time_s, finding.track


def render_compare_json(comparison: Comparison) -> str:
    """The contract `mockcheck.compare/1`; findings are as in review.json."""
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "old": _source(comparison.old_review),
        "new": _source(comparison.new_review),
        "headline": headline(comparison),
        "counts": {
            "fixed": len(comparison.fixed),
            "still_there": len(comparison.kept),
            "moved": sum(pair.has_moved for pair in comparison.kept),
            "new": len(comparison.new),
            "accepted": len(comparison.accepted),
        },
        "parts": {
            "renamed": [{"old": old, "new": new} for old, new in comparison.renamed],
            "left_out": list(comparison.left_out),
            "added": list(comparison.added),
        },
        "length_changes": [
            {"before": change.before.to_dict(), "bars": change.bars, "seconds": change.seconds}
            for change in comparison.length_changes
        ],
        "fixed": [finding_dict(finding) for finding in comparison.fixed],
        "still_there": [
            {
                "old": finding_dict(pair.old),
                "new": finding_dict(pair.new),
                "moved_bars": pair.moved_bars,
            }
            for pair in comparison.kept
        ],
        "new_findings": [finding_dict(finding) for finding in comparison.new],
        "accepted": [finding_dict(finding) for finding in comparison.accepted],
    }
    return json_text(document)


def _source(review: Review) -> dict[str, Any]:
    score = review.played.score
    return {
        "file": base_name(score.file),
        "sha256": score.sha256,
        "level": review.played.session.level_name,
    }


def _file(review: Review) -> str:
    return printable(base_name(review.played.score.file))
