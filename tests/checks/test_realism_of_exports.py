"""What the checks of machine-likeness say of published music: as exported, and as played by hand.

Four quartets are kept with the tests; MOCKCHECK_QUARTETS names the folder of all 26.
"""

from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

import mockcheck
from mockcheck.checks._registry import all_checks
from mockcheck.checks._runner import run_checks
from tests.accuracy.corpus import Work, fixture_quartets, open_quartets
from tests.listening.printed import read_sheet
from tests.listening.rendering import render

ONCE = {"timing-exactly-on-the-grid", "dynamics-never-change"}
"""What a plain export deserves to be told, once for the file."""
MACHINE_LIKE = ONCE | {
    "held-notes-stay-level",
    "swell-on-every-note",
    "identical-repeated-notes",
}
BEYOND = {"louder-than-the-colour-gives", "softest-tone-alone-at-the-top"}


def counted(path: Path, ids: set[str], brief: Mapping[str, Any] | None = None) -> Counter[str]:
    """How often each check speaks of a file; a crash inside one is raised."""
    played = mockcheck.play(mockcheck.load(path), brief)
    chosen = {name: all_checks()[name] for name in sorted(ids)}
    found = run_checks(played, chosen, raise_crashes=True).findings
    return Counter(finding.check for finding in found)


@pytest.mark.parametrize("work", open_quartets(), ids=lambda work: work.path.stem)
def test_a_plain_export_is_told_two_things_once_and_nothing_else(work: Work) -> None:
    counts = counted(work.path, MACHINE_LIKE | BEYOND)
    assert counts["dynamics-never-change"] == 1
    assert counts["timing-exactly-on-the-grid"] <= 1
    assert set(counts) <= ONCE


@pytest.mark.parametrize("habit", ["timing only", "tracks", "latching keys"])
@pytest.mark.parametrize("work", fixture_quartets(), ids=lambda work: work.path.stem)
def test_the_same_music_played_by_hand_with_dynamics_is_told_nothing(
    work: Work, habit: str, tmp_path: Path
) -> None:
    played = render(read_sheet(work), habit, is_human=True, folder=tmp_path)
    assert counted(played.path, MACHINE_LIKE, played.brief) == {}


def test_the_same_keys_pressed_exactly_on_the_grid_are_told_so(tmp_path: Path) -> None:
    sheet = read_sheet(fixture_quartets()[1])
    exact = render(sheet, "timing only", is_human=False, folder=tmp_path)
    assert counted(exact.path, MACHINE_LIKE) == {"timing-exactly-on-the-grid": 1}
