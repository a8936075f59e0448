from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from tests.listening.dividing import (
    DIVISI,
    divisi_renderings,
    render_divisi,
    render_double_stops,
    top_line,
)
from tests.listening.printed import Sheet
from tests.listening.read_back import read_chunks


@pytest.mark.parametrize("count", [2, 3, 4])
def test_the_track_holds_the_true_notes_of_so_many_lines(
    sheet: Sheet, tmp_path: Path, count: int
) -> None:
    rendering = render_divisi(sheet, count, tmp_path)
    _, chunk = read_chunks(rendering.path)
    wanted = sorted((r.onset, r.release, r.pitch, r.velocity) for r in rendering.rows)
    assert sorted(chunk.presses) == wanted
    lines = [line for row in rendering.rows for line in row.lines]
    assert set(lines) == set(range(count))
    for line, part in enumerate(sheet.parts[:count]):
        own = len(top_line(part).notes)
        assert 0.95 * own <= lines.count(line) <= own


def test_notes_of_one_line_follow_each_other(sheet: Sheet, tmp_path: Path) -> None:
    rendering = render_divisi(sheet, 2, tmp_path)
    for line in range(2):
        own = sorted((r for r in rendering.rows if r.lines == (line,)), key=lambda r: r.onset)
        for one, two in pairwise(own):
            late = rendering_overlap_s(sheet, one.release, two.onset)
            assert late <= 0.08 + 1e-6


def rendering_overlap_s(sheet: Sheet, release: int, onset: int) -> float:
    return sheet.clock.second_at(release) - sheet.clock.second_at(onset)


def test_lines_that_meet_share_the_key(sheet: Sheet, tmp_path: Path) -> None:
    shared = [
        row
        for rendering in divisi_renderings(sheet, tmp_path)
        for row in rendering.rows
        if len(row.lines) > 1
    ]
    assert shared
    assert len(list(divisi_renderings(sheet, tmp_path))) == len(DIVISI)


def test_double_stops_are_those_of_the_print(sheet: Sheet, tmp_path: Path) -> None:
    rendering = render_double_stops(sheet, tmp_path, is_human=False)
    assert rendering is not None
    assert list(rendering.players.values()) == [1]
    onsets = [row.onset for row in rendering.rows]
    doubled = {onset for onset in onsets if onsets.count(onset) > 1}
    printed = {
        note.onset
        for part in sheet.parts
        for note in part.notes
        if sum(other.onset == note.onset for other in part.notes) > 1
    }
    assert len(doubled) >= 10
    assert doubled <= printed
