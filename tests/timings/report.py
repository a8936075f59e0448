"""Writes reports/timings.md: limits first, then each comparison as a table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from tests.timings.commands import HELP, WHOLE_DEMO, Timed
from tests.timings.growing import Grown
from tests.timings.measuring import Spread, ratios
from tests.timings.memory import Peak
from tests.timings.music import RealFiles
from tests.timings.readers import MIDO, OURS

MOST_HELP_S, MOST_DEMO_S = 0.3, 5.0
LEAST_READING_RATIO = 5.0
MOST_REVIEW_RATIO = 1.0
NOISE = "dense, noise for curves"
"""Shown beside the others without a limit: nobody draws such curves."""
MOST_EXPONENT = 1.2
"""1 is in step; memory and chance move a fit over four sizes by a tenth or so."""

_CHANCE = "no growth that can be told from chance"


@dataclass(frozen=True)
class Machine:
    """What the figures were measured on; loads are the system's averages over a minute."""

    cores: int
    python: str
    load_before: float
    load_after: float


@dataclass(frozen=True)
class Measured:
    """All of one run.

    Parameters
    ----------
    reading
        Processor seconds by file and reader, a figure for each round.
    contents
        Notes, controller changes and bends that each reader found, by file.
    review
        Processor seconds of mido's loading and of our whole review, by file.
    memory
        Peaks by what was run, on the dense file.
    """

    machine: Machine
    commands: Mapping[str, Timed]
    reading: Mapping[str, Mapping[str, Sequence[float]]]
    contents: Mapping[str, Mapping[str, tuple[int, int, int]]]
    real: RealFiles
    review: Mapping[str, tuple[Sequence[float], Sequence[float]]]
    memory: Mapping[str, Peak]
    growth: Sequence[Grown]


@dataclass(frozen=True)
class Limit:
    """A limit and whether it holds."""

    name: str
    limit: str
    measured: str
    holds: bool


def limits(measured: Measured) -> Iterator[Limit]:
    """Every limit of the run."""
    for name, most_s in ((HELP, MOST_HELP_S), (WHOLE_DEMO, MOST_DEMO_S)):
        seconds = measured.commands[name].clock_s.median
        yield Limit(name, f"under {most_s:g} s", f"{seconds:.2f} s", seconds < most_s)
    for name, (theirs, ours) in measured.review.items():
        if name == NOISE:
            continue
        ratio = ratios(ours, theirs).median
        yield Limit(
            f"whole review against mido's loading, {name}",
            f"at most {MOST_REVIEW_RATIO:g} times as long",
            f"{ratio:.2f} times",
            ratio <= MOST_REVIEW_RATIO,
        )
    dense = next(name for name in measured.reading if name.startswith("dense"))
    by_reader = measured.reading[dense]
    ratio = ratios(by_reader[MIDO], by_reader[OURS]).median
    yield Limit(
        f"mido's reading against ours, {dense}",
        f"at least {LEAST_READING_RATIO:g} times as long",
        f"{ratio:.1f} times",
        ratio >= LEAST_READING_RATIO,
    )
    for grown in measured.growth:
        yield Limit(
            f"time of a review grows with {grown.axis.name}",
            f"as its power {MOST_EXPONENT:g} at most",
            f"power {grown.growth.exponent:.2f}" if grown.growth else _CHANCE,
            grown.growth is None or grown.growth.exponent <= MOST_EXPONENT,
        )


def table(head: Sequence[str], rows: Iterator[Sequence[str]]) -> Iterator[str]:
    """A Markdown table, numbers to the right, and an empty line."""
    yield "| " + " | ".join(head) + " |"
    yield "| --- |" + " ---: |" * (len(head) - 1)
    for row in rows:
        yield "| " + " | ".join(row) + " |"
    yield ""


def render(measured: Measured) -> str:
    """The whole report."""
    machine = measured.machine
    rounds = [len(next(iter(by_reader.values()))) for by_reader in measured.reading.values()]
    lines = [
        "# How long mockcheck takes",
        "",
        "Made by `python -m tests.timings`; nobody edits it by hand. All sides of a table were run"
        f" in turn, {min(rounds)} to {max(rounds)} rounds; figures are medians, with the least and"
        " the most in brackets. Ratios are taken round by round. Where nothing else is said,"
        " seconds are those of the processor, so that other work on the machine counts little.",
        "",
        f"Machine: {machine.cores} cores, Python {machine.python}. Load average over the last"
        f" minute: {machine.load_before:.1f} before the run, {machine.load_after:.1f} after it; the"
        " run itself is 1. More than that means that other work slowed it down.",
        "",
        "## Limits",
        "",
        *table(("figure", "limit", "measured", "holds"), _limit_rows(measured)),
        "## Commands",
        "",
        "Processor seconds are what the command itself asked for: where they are far below the"
        " clock, the machine was busy with other work.",
        "",
        *table(("command", "seconds by the clock", "seconds of the processor"),
               ((name, _spread(timed.clock_s), _spread(timed.processor_s))
                for name, timed in measured.commands.items())),
        "## Reading",
        "",
        "Notes, controller changes and bends are counted in what each reader gives back: equal"
        " counts mean equal work, though mido gives back messages and pairs no notes. Of"
        f" {measured.real.found} real files all four read {measured.real.readable}.",
        "",
        *table(("file and reader", "seconds", "against ours", "notes", "controllers", "bends"),
               _reading_rows(measured)),
        "## Whole review against mido's loading",
        "",
        "Read, infer, search for fingerings, check, write JSON; mido only loads. Drawn curves are"
        " swells and vibrato. Noise jumps at every event, so that most notes begin bent; it has no"
        " limit.",
        "",
        *table(("file", "mido loads", "we review", "ours against mido"), _review_rows(measured)),
        "## Memory, dense file",
        "",
        *table(("what", "libraries, MB", "peak, MB", "added by the file, MB"),
               ((name, f"{peak.libraries_mb:.0f}", f"{peak.most_mb:.0f}", f"{peak.added_mb:.0f}")
                for name, peak in measured.memory.items())),
        "## Growth of a whole review",
        "",
        "Time as a power of the size, fitted to the medians: 1 is in step, 2 would be the square,"
        " and 0 no growth at all.",
        "",
        *(line for grown in measured.growth for line in _growth_lines(grown)),
    ]  # fmt: skip
    return "\n".join(lines).rstrip() + "\n"


def _limit_rows(measured: Measured) -> Iterator[Sequence[str]]:
    for limit in limits(measured):
        yield limit.name, limit.limit, limit.measured, "yes" if limit.holds else "**no**"


def _reading_rows(measured: Measured) -> Iterator[Sequence[str]]:
    for file, by_reader in measured.reading.items():
        for reader, seconds in by_reader.items():
            against = ratios(seconds, by_reader[OURS])
            counts = [f"{count:,}" for count in measured.contents[file][reader]]
            yield f"{file}, {reader}", _spread(Spread.of(seconds)), _spread(against), *counts


def _review_rows(measured: Measured) -> Iterator[Sequence[str]]:
    for file, (theirs, ours) in measured.review.items():
        sides = (Spread.of(theirs), Spread.of(ours), ratios(ours, theirs))
        yield file, *(_spread(side) for side in sides)


def _growth_lines(grown: Grown) -> Iterator[str]:
    said = _CHANCE
    if growth := grown.growth:
        said = f"power {growth.exponent:.2f}; the worst size lies {growth.off_by:.0%} off the line"
    yield f"With {grown.axis.name} ({grown.axis.what}): {said}."
    yield ""
    rows = zip(grown.sizes, grown.seconds, strict=True)
    yield from table((grown.axis.name, "seconds"), ((f"{n:,}", _spread(s)) for n, s in rows))


def _spread(spread: Spread) -> str:
    return f"{_short(spread.median)} ({_short(spread.least)}-{_short(spread.most)})"


def _short(number: float) -> str:
    """Three figures, so that milliseconds and seconds both can be read."""
    if number >= 100:
        return f"{number:.0f}"
    return f"{number:.1f}" if number >= 10 else f"{number:.2f}" if number >= 1 else f"{number:.4f}"
