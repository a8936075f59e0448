"""The review on one screen: the answer first, then the worst, then what to know about it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review
from mockcheck.model.words import count_of, counts_words, place_list, place_words, printable
from mockcheck.report._caveats import caution, caveats
from mockcheck.report._heaviest_bars import heaviest_bars
from mockcheck.report._verdict import (
    GUESS_BELOW,
    counts_line,
    level_words,
    verdict,
)

_NARROWEST = 40
_GROUPS_SHOWN = {Severity.AWKWARD: 3, Severity.REMARK: 1}
"""Kinds of a severity shown for each part; the two worse severities are always shown in full."""
_PLACES_SHOWN = 12
_LINES_SHOWN = 8
_HANGING = " " * 14
_COLOURS: dict[Severity, dict[str, Any]] = {
    Severity.IMPOSSIBLE: {"fg": "red", "bold": True},
    Severity.RISKY: {"fg": "yellow", "bold": True},
    Severity.AWKWARD: {"fg": "cyan"},
    Severity.REMARK: {"dim": True},
}


@dataclass(frozen=True)
class _Line:
    """One paragraph before wrapping; `severity` colours its first word, `is_head` all of it."""

    text: str
    first_indent: str = ""
    indent: str = ""
    severity: Severity | None = None
    is_head: bool = False


def render_terminal(
    review: Review, colour: bool, width: int = 100, *, show_all: bool = False
) -> str:
    """A composer reads in ten seconds whether the parts can go on the stands, and what to mend.

    Parameters
    ----------
    colour
        Adds colour to words that are there anyway; without it the text is complete.
    width
        Columns to wrap to; less than 40 is taken as 40.
    show_all
        Every finding on its own, every remark, every place and warning.
    """
    lines: list[str] = []
    for line in _composed(review, show_all):
        wrapped = wrap(line.text, max(width, _NARROWEST), line.first_indent, line.indent)
        lines += _coloured(wrapped, line) if colour else wrapped
    return "\n".join(lines)


def _composed(review: Review, show_all: bool) -> Iterator[_Line]:
    worst = review.worst()
    yield _Line(verdict(review), severity=worst or Severity.REMARK, is_head=True)
    yield _Line(what_was_judged(review))
    yield _Line(counts_line(review)[0].upper() + counts_line(review)[1:] + ".")
    hidden = 0
    clean = []
    for part, findings in _worst_part_first(review):
        if not findings:
            clean.append(printable(part.name))
            continue
        yield _Line("")
        yield _Line(_part_head(part, review, findings), indent="  ", is_head=True)
        for group in _groups(findings, show_all):
            if isinstance(group, int):
                hidden += group
            else:
                yield from _group_lines(group, show_all)
    if clean:
        yield _Line("")
        yield _Line(f"Nothing found in: {', '.join(clean)}.", indent="  ")
    heaviest = heaviest_bars(review)
    if heaviest:
        yield _Line("")
        yield _Line(heaviest, indent="  ")
    yield from _closing(review, hidden, show_all)


def _closing(review: Review, hidden: int, show_all: bool) -> Iterator[_Line]:
    for caveat in caveats(review, every=show_all):
        yield _Line("")
        yield _Line(caveat.title, is_head=True)
        shown = caveat.lines if show_all else caveat.lines[:_LINES_SHOWN]
        for text in shown:
            yield _Line(text, "  - ", "    ")
        if len(shown) < len(caveat.lines):
            yield _Line(f"and {len(caveat.lines) - len(shown):,} more", "    ", "    ")
    warning = caution(review)
    if warning:
        yield _Line("")
        yield _Line(warning, indent="  ")
    if review.findings:
        yield _Line("")
    if hidden:
        yield _Line(f"{count_of(hidden, 'lesser finding')} not shown; --all prints every one.")
    if review.findings:
        yield _Line("`mockcheck explain NAME` says why a check exists; names are in [brackets].")


def what_was_judged(review: Review) -> str:
    """File, length, parts and level in one sentence."""
    score = review.played.score
    minutes, seconds = divmod(round(score.duration_s), 60)
    bars = f"{count_of(score.bar_count, 'bar')}, " if score.bar_count is not None else ""
    return (
        f"{printable(score.file)}: {bars}{minutes} min {seconds:02} s,"
        f" {count_of(len(review.played.parts), 'part')}; judged at level"
        f" {level_words(review.played.session)}."
    )


def _worst_part_first(review: Review) -> list[tuple[PlayedPart, list[Finding]]]:
    """Parts by their worst severity, then by how much of it; score order among equals."""
    by_part: dict[str, list[Finding]] = {part.name: [] for part in review.played.parts}
    for finding in review.findings:
        if finding.accepted is None:
            by_part.setdefault(finding.part, []).append(finding)

    def badness(part: PlayedPart) -> tuple[int, ...]:
        severities = [finding.severity for finding in by_part[part.name]]
        return tuple(-severities.count(level) for level in sorted(Severity, reverse=True))

    return [(part, by_part[part.name]) for part in sorted(review.played.parts, key=badness)]


def _part_head(part: PlayedPart, review: Review, findings: list[Finding]) -> str:
    players = count_of(part.players, "player")
    reach = tempo_reach(part, review)
    return f"{printable(part.name)} ({players}): {counts_words(findings)}{reach}"


def tempo_reach(part: PlayedPart, review: Review) -> str:
    """The tempo the tightest passage allows, where that is below the written one."""
    rows = {role.index for role in part.roles}
    tight = [
        (track.headroom, track.headroom_at)
        for track in review.tracks
        if track.index in rows and track.headroom is not None and track.headroom < 1
    ]
    if not tight:
        return ""
    headroom, place = min(tight, key=lambda row: row[0])
    if place is None:
        return ""
    bpm = part.timeline.tempo.bpm_at(place.tick)
    where = f"{place_words(place, place)} plays up to"
    if bpm is None:
        return f"; {where} {headroom:.0%} of its speed"
    # Rounded down: the tempo named must itself be playable.
    return f"; {where} quarter = {int(bpm * headroom)}, written {bpm:.0f}"


def _groups(findings: list[Finding], show_all: bool) -> Iterator[list[Finding] | int]:
    """Findings of one kind together, worst kind first; a number stands for findings held back."""
    by_kind: dict[tuple[int, str], list[Finding]] = {}
    for row, finding in enumerate(findings):
        kind = str(row) if show_all else finding.check
        by_kind.setdefault((-finding.severity, kind), []).append(finding)
    shown = dict.fromkeys(Severity, 0)
    for key in sorted(by_kind, key=lambda key: key[0]):
        group = by_kind[key]
        severity = group[0].severity
        shown[severity] += 1
        is_shown = show_all or shown[severity] <= _GROUPS_SHOWN.get(severity, len(by_kind))
        yield group if is_shown else len(group)


def _group_lines(group: list[Finding], show_all: bool) -> Iterator[_Line]:
    # The surest of a kind speaks for all of it; the first in time among equals.
    first = max(group, key=lambda finding: finding.confidence)
    guess = " (rests on a guess)" if first.confidence < GUESS_BELOW else ""
    place = place_words(first.start, first.end)
    # The id is what a brief accepts it by; the check's name is the first part of it.
    name = f"[{first.check}] id {printable(first.id)}" if show_all else f"[{first.check}]"
    yield _Line(
        f"{first.severity.label:10}  {place}: {printable(first.message)}{guess} {name}",
        "  ",
        _HANGING,
        severity=first.severity,
    )
    yield _Line(f"Do: {printable(first.suggestion)}", _HANGING, _HANGING + "    ")
    others = [finding for finding in group if finding is not first]
    if others:
        places = place_list((f.start for f in others), None if show_all else _PLACES_SHOWN)
        yield _Line(f"And {len(others):,} more: {places}.", _HANGING, _HANGING + "    ")


def _coloured(wrapped: list[str], line: _Line) -> list[str]:
    import click

    style = _COLOURS[line.severity] if line.severity is not None else {}
    if line.is_head:
        return [click.style(text, **(style | {"bold": True})) for text in wrapped]
    if line.severity is None:
        return wrapped
    word = line.severity.label
    return [wrapped[0].replace(word, click.style(word, **style), 1), *wrapped[1:]]


def wrap(text: str, width: int, first_indent: str = "", indent: str = "") -> list[str]:
    """Lines of at most `width` terminal columns; a word too long for a line is cut.

    An East Asian wide character takes two columns, a combining mark none.
    Source: Unicode Standard Annex 11, East Asian Width.
    """
    lines: list[str] = []
    line, used, is_empty = first_indent, columns(first_indent), True
    for word in text.split(" "):
        for piece in _pieces(word, width - columns(indent)):
            room = columns(piece) + (0 if is_empty else 1)
            if used + room > width and not is_empty:
                lines.append(line)
                line, used, is_empty = indent, columns(indent), True
                room = columns(piece)
            line += piece if is_empty else f" {piece}"
            used += room
            is_empty = False
    return [kept.rstrip() for kept in [*lines, line]]


def columns(text: str) -> int:
    """Terminal columns a text takes."""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def _pieces(word: str, width: int) -> Iterator[str]:
    piece, used = "", 0
    for character in word:
        room = columns(character)
        if used + room > width:
            yield piece
            piece, used = "", 0
        piece += character
        used += room
    yield piece
