"""Places and names in a musician's words, the same under a picture as in a report or a table."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.time import Location

_SAME_BEAT = 1e-6
_FORMULA_STARTS = ("=", "+", "-", "@")


def printable(text: str) -> str:
    """Text out of a file becomes one line that cannot command a terminal or turn its direction.

    Control and format characters, lone surrogates and unassigned code points go; white space of
    any kind becomes single spaces.
    """
    kept = (c if c.isprintable() else " " if c.isspace() else "" for c in text)
    return " ".join("".join(kept).split())


def cell(text: str) -> str:
    """One line that a spreadsheet takes for text, even where a track name starts like a formula.

    Source: common practice, a leading apostrophe marks text in spreadsheets.
    """
    line = printable(text)
    # Full-width signs start a formula too where such keyboards are usual.
    return f"'{line}" if unicodedata.normalize("NFKC", line[:1]) in _FORMULA_STARTS else line


def shortened(text: str, longest: int) -> str:
    """At most `longest` characters, the cut shown by three dots."""
    return text if len(text) <= longest else text[: max(longest - 3, 0)].rstrip() + "..."


def count_of(number: int, noun: str) -> str:
    """'1 place', '4 places', '1,204 notes'."""
    return f"{number:,} {noun}" if number == 1 else f"{number:,} {noun}s"


def counts_words(findings: Iterable[Finding]) -> str:
    """Findings by severity, worst first, in words; empty when there are none."""
    rows = list(findings)
    words = []
    for severity in sorted(Severity, reverse=True):
        number = sum(f.severity is severity for f in rows)
        if number:
            is_noun = severity is Severity.REMARK
            words.append(count_of(number, "remark") if is_noun else f"{number:,} {severity.label}")
    return ", ".join(words)


def last_bar(start: Location, end: Location) -> int | None:
    """The bar in which a passage still sounds; one that stops on a bar line is not in the next.

    None where there are no bars.
    """
    if start.bar is None or end.bar is None:
        return None
    stops_on_bar_line = end.beat is not None and end.beat <= 1 + _SAME_BEAT
    return max(start.bar, end.bar - 1 if stops_on_bar_line else end.bar)


def place_words(start: Location, end: Location) -> str:
    """'bar 12, beat 3', 'bars 12-14, from beat 3', or seconds where there are no bars."""
    last = last_bar(start, end)
    if last is None or start.beat is None:
        words = f"at {_seconds(start.time_s)} s"
        if end.time_s - start.time_s >= 1:
            words = f"{words} to {_seconds(end.time_s)} s"
    elif last == start.bar:
        words = f"bar {start.bar}, beat {_beat(start.beat)}"
    else:
        words = f"bars {start.bar}-{last}, from beat {_beat(start.beat)}"
    return f"{words} ({start.timecode})" if start.timecode else words


def place_list(starts: Iterable[Location], longest: int | None = None) -> str:
    """'bars 20, 24, 31-33', or seconds where there are no bars; `longest` caps the items named."""
    places = list(starts)
    bars = [place.bar for place in places if place.bar is not None]
    if bars:
        return bars_words(bars, longest)
    return _listed("at", [f"{_seconds(place.time_s)} s" for place in places], longest)


def bars_words(bars: Iterable[int], longest: int | None = None) -> str:
    """'bar 7', 'bars 20, 24, 31-33'; `longest` caps the items named."""
    rising = sorted(set(bars))
    return _listed("bar" if len(rising) == 1 else "bars", _ranges(rising), longest)


def _listed(noun: str, items: list[str], longest: int | None) -> str:
    cut = longest is not None and len(items) > longest
    return f"{noun} {', '.join(items[:longest])}{' ...' if cut else ''}"


def _ranges(bars: list[int]) -> list[str]:
    """Neighbours joined: 20, 24, 31, 32, 33 as '20', '24', '31-33'."""
    runs: list[list[int]] = []
    for bar in bars:
        if runs and bar == runs[-1][1] + 1:
            runs[-1][1] = bar
        else:
            runs.append([bar, bar])
    return [str(first) if first == last else f"{first}-{last}" for first, last in runs]


def _beat(beat: float) -> str:
    return f"{beat:.2f}".rstrip("0").rstrip(".")


def _seconds(time_s: float) -> str:
    return f"{time_s:.1f}"
