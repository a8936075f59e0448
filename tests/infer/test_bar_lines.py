import numpy as np
import pytest

from mockcheck.infer.bar_lines import bar_line_agreement, follows_bar_lines, limit_of
from tests.checks.hands import by_hand
from tests.phrases import phrase

BARS = "C5:1 D5:1/2 E5:1/2 F5:1 G5:1 | " * 40


def off_the_click(seed: int) -> str:
    """The same music, each note a little slower or faster than the click, and drifting."""
    rng = np.random.default_rng(seed)
    pace = 1.07 + 0.04 * np.sin(np.arange(200) / 15) + rng.normal(0, 0.02, 200)
    lengths = np.tile([1, 0.5, 0.5, 1, 1], 40) * pace
    return " ".join(f"C5:{length:.4f}" for length in lengths)


def test_notes_on_the_bar_lines_agree() -> None:
    agreement, onsets = bar_line_agreement([phrase(f"violin 4/4 q=100 | {BARS}")])
    assert agreement == pytest.approx(1)
    assert onsets == 200


@pytest.mark.parametrize("seed", range(5))
def test_notes_played_unevenly_still_follow(seed: int) -> None:
    (part,) = by_hand(f"violin 4/4 q=100 | {BARS}", late_ms=30, seed=seed).parts
    assert follows_bar_lines(part)
    assert part.written is not None


@pytest.mark.parametrize("seed", range(5))
def test_notes_played_without_the_click_follow_nothing(seed: int) -> None:
    part = phrase(f"violin 4/4 q=100 | {off_the_click(seed)} |")
    assert not follows_bar_lines(part)
    assert part.written is None


def test_few_notes_are_believed() -> None:
    part = phrase(f"violin 4/4 q=100 | {' '.join(off_the_click(1).split()[:40])} |")
    assert follows_bar_lines(part)


def test_chance_makes_few_onsets_agree() -> None:
    assert limit_of(100, 0.15) > limit_of(10_000, 0.15) == 0.15
