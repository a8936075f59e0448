"""How the time of a whole review grows with events, tracks, notes and findings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from mockcheck.checks._runner import run_checks
from mockcheck.report.review_json import render_json
from tests.benchmarks.dense_mockup import dense_mockup
from tests.timings.measuring import Growth, Run, Spread, fit_growth, timed_in_turn
from tests.timings.reviewing import whole_review

_NOTES_A_MINUTE = 120


@dataclass(frozen=True)
class Axis:
    """One thing that grows while the rest stays.

    Parameters
    ----------
    name, what
        What grows, and what the files are otherwise.
    files
        The bytes of each, the plain one first, which has none of what grows, where there is one.
    has_plain
        Whether the first is such a file: then the time above it is what counts.
    size
        How much of it a file has, counted in what the product found.
    run
        Gets a file ready and gives what is timed.
    """

    name: str
    what: str
    files: Sequence[bytes]
    has_plain: bool
    size: Callable[[Path], int]
    run: Callable[[Path], Run]


@dataclass(frozen=True)
class Grown:
    """Sizes, seconds of each, and the power of the size that the time follows.

    `growth` is None where the time does not rise enough to be told from chance.
    """

    axis: Axis
    sizes: tuple[int, ...]
    seconds: tuple[Spread, ...]
    growth: Growth | None


def axes() -> list[Axis]:
    """The four things that may grow, with four sizes each."""
    return [
        Axis(
            "events", "4 tracks, 600 notes, curves ever denser; time above the file without curves",
            [_mockup(parts=4, notes=150, minutes=4, curve_events=events)
             for events in (0, 25_000, 50_000, 100_000, 200_000)],
            True, _events, _reviewing,
        ),
        Axis(
            "tracks", "tracks alike, 200 notes and 5,000 events of curves on each",
            [_mockup(parts=parts, notes=200, minutes=2, curve_events=5000)
             for parts in (2, 4, 8, 15)],
            False, _tracks, _reviewing,
        ),
        Axis(
            "notes", "4 tracks, no curves, two notes a second, the piece ever longer",
            [_mockup(parts=4, notes=notes, minutes=notes / _NOTES_A_MINUTE, curve_events=0)
             for notes in (500, 1000, 2000, 4000)],
            False, _notes, _reviewing,
        ),
        Axis(
            "findings", "4 tracks, 6,000 notes, ever more of them below every string; time of"
            " checks and JSON alone, above the file without such notes",
            [_mockup(parts=4, notes=1500, minutes=12, curve_events=0, low_every=every)
             for every in (0, 16, 8, 4, 2)],
            True, _findings, _checking,
        ),
    ]  # fmt: skip


def _mockup(**sizes: float) -> bytes:
    return dense_mockup(running=True, drawn=True, **sizes)  # type: ignore[arg-type]


def measure_growth(axis: Axis, folder: Path, rounds: int) -> Grown:
    """Time every size in turn and fit."""
    paths = [folder / f"{axis.name}-{number}.mid" for number in range(len(axis.files))]
    for path, content in zip(paths, axis.files, strict=True):
        path.write_bytes(content)
    counts = [axis.size(path) for path in paths]
    runs = {str(path): axis.run(path) for path in paths}
    seconds = list(timed_in_turn(runs, rounds).values())
    if axis.has_plain:
        plain = seconds[0]
        counts = [count - counts[0] for count in counts[1:]]
        seconds = [[a - b for a, b in zip(row, plain, strict=True)] for row in seconds[1:]]
    spreads = tuple(map(Spread.of, seconds))
    is_told = min(spread.median for spread in spreads) > 0
    growth = fit_growth(counts, [spread.median for spread in spreads]) if is_told else None
    return Grown(axis, tuple(counts), spreads, growth)


def _reviewing(path: Path) -> Run:
    return partial(whole_review, path)


def _checking(path: Path) -> Run:
    result = whole_review(path)

    def check_and_write() -> None:
        run = run_checks(result.played)
        render_json(replace(result, findings=run.findings, outcomes=run.outcomes))

    return check_and_write


def _events(path: Path) -> int:
    return whole_review(path).played.score.event_count


def _tracks(path: Path) -> int:
    return len(whole_review(path).played.parts)


def _notes(path: Path) -> int:
    return sum(len(part.notes) for part in whole_review(path).played.parts)


def _findings(path: Path) -> int:
    return len(whole_review(path).findings)
