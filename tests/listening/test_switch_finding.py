"""Switches of one rendered quartet are found without being told, and none where there are none."""

from pathlib import Path

import pytest

import mockcheck
from tests.listening.figures import Found
from tests.listening.hearing import listen
from tests.listening.printed import Sheet
from tests.listening.rendering import render
from tests.listening.switch_finding import switches_found

LEAST_PRECISION, LEAST_RECALL = 0.98, 0.95
"""What the project asks for over all held-out works; here over one quartet, four parts."""


def found_in(sheet: Sheet, habit: str, folder: Path) -> Found:
    both = Found()
    for is_human in (True, False):
        rendering = render(sheet, habit, is_human, folder)
        both.add(switches_found(listen(rendering, mockcheck.load(rendering.path))))
    return both


@pytest.mark.parametrize(
    "habit", ["latching keys", "held keys", "controller", "programs", "channels"]
)
def test_switches_are_found_however_they_are_thrown(
    habit: str, sheet: Sheet, tmp_path: Path
) -> None:
    found = found_in(sheet, habit, tmp_path)
    assert found.true > 20
    assert found.precision >= LEAST_PRECISION
    assert found.recall >= LEAST_RECALL


@pytest.mark.parametrize("habit", ["tracks", "timing only"])
def test_nothing_is_found_where_there_is_none(habit: str, sheet: Sheet, tmp_path: Path) -> None:
    assert found_in(sheet, habit, tmp_path).claimed == 0
