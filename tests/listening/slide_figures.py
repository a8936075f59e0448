"""How many slides are heard, and which movements are taken for one."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import mockcheck
from mockcheck.model.played import PlayedScore, Slide
from tests.listening.clock import Clock
from tests.listening.figures import Found
from tests.listening.hearing import chunk_of_rows
from tests.listening.printed import Sheet
from tests.listening.slide_renderings import slide_renderings
from tests.listening.tables import table
from tests.listening.truth import Rendering, TrueSlide

_NEAR_S, _NEAR_ASKED_S = 0.04, 0.2
_END_SEMITONES = 0.6
_DISTRACTORS = ("vibrato", "quick join", "drift", "left over", "wiggle")


@dataclass
class SlideCounts:
    """Slides of one habit; `wrong` counts what false slides were made of."""

    found: Found = field(default_factory=Found)
    kind_right: int = 0
    ends_right: int = 0
    wrong: Counter[str] = field(default_factory=Counter)
    missed: Counter[str] = field(default_factory=Counter)


@dataclass
class SlideFigures:
    """Counts by habit."""

    counts: dict[str, SlideCounts] = field(default_factory=lambda: defaultdict(SlideCounts))

    def measure(self, sheet: Sheet, folder: Path, seed: int) -> None:
        """Render one anthology in every way and listen."""
        for rendering in slide_renderings(sheet, folder, seed):
            played = mockcheck.play(mockcheck.load(rendering.path), rendering.brief)
            count_slides(self.counts[rendering.habit], rendering, played, sheet.clock)

    def text(self) -> str:
        """The table."""
        rows = []
        for habit, counts in self.counts.items():
            found = counts.found
            rows.append(
                (habit, found.true, found.claimed, found.precision, found.recall,
                 _share(counts.kind_right, found.right), _share(counts.ends_right, found.right),
                 counts.wrong["vibrato"], _list(counts.wrong), _list(counts.missed))
            )  # fmt: skip
        head = ("habit", "slides", "claimed", "precision", "recall", "kind", "ends",
                "vibrato called slide", "false ones", "missed")  # fmt: skip
        title = "8. Slides (target: precision and recall 0.95, vibrato never)"
        return table(title, head, rows)


def count_slides(
    counts: SlideCounts, rendering: Rendering, played: PlayedScore, clock: Clock
) -> None:
    """Match heard slides with true ones of the same track, direction and time, one to one."""
    heard = [
        (chunk_of_rows(part)[slide.track], slide) for part in played.parts for slide in part.slides
    ]
    free = set(range(len(heard)))
    for true in rendering.slides:
        match = next((n for n in sorted(free) if _is_same(true, *heard[n], clock)), None)
        counts.found.true += 1
        if match is None:
            counts.missed[true.kind] += 1
            continue
        free.remove(match)
        slide = heard[match][1]
        counts.found.right += 1
        counts.kind_right += slide.kind == true.kind
        counts.ends_right += _has_ends_of(true, slide)
    counts.found.claimed += len(heard)
    counts.wrong.update(_taken_for(rendering, *heard[n]) for n in free)


def _is_same(true: TrueSlide, track: int, slide: Slide, clock: Clock) -> bool:
    if track != true.track:
        return False
    near_s = _NEAR_S if true.carrier == "bend" else _NEAR_ASKED_S
    begin_s, end_s = clock.second_at(true.onset), clock.second_at(true.release)
    heard_s = clock.second_at(slide.onset_ticks), clock.second_at(slide.release_ticks)
    same_way = (slide.to_pitch - slide.from_pitch) * (true.to_pitch - true.from_pitch) > 0
    return same_way and heard_s[0] <= end_s + near_s and heard_s[1] >= begin_s - near_s


def _has_ends_of(true: TrueSlide, slide: Slide) -> bool:
    off = abs(slide.from_pitch - true.from_pitch), abs(slide.to_pitch - true.to_pitch)
    return max(off) <= _END_SEMITONES


def _taken_for(rendering: Rendering, track: int, slide: Slide) -> str:
    """The movement that a false slide lies on."""
    under = {
        item.kind
        for item in rendering.distractors
        if item.track == track
        and item.onset <= slide.release_ticks
        and slide.onset_ticks <= item.release
    }
    if any(
        true.track == track
        and true.onset <= slide.release_ticks
        and slide.onset_ticks <= true.release
        for true in rendering.slides
    ):
        return "beside a slide"
    return next((kind for kind in _DISTRACTORS if kind in under), "nothing")


def _share(part: int, whole: int) -> float:
    return part / whole if whole else float("nan")


def _list(counted: Counter[str]) -> str:
    return ", ".join(f"{name} {count}" for name, count in counted.most_common(4)) or "none"
