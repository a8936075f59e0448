from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from mockcheck.model.finding import Severity
from mockcheck.model.review import Review
from mockcheck.model.score import Text
from mockcheck.plots._ink import SMALL_PT
from mockcheck.plots.overview import draw_overview, layout_overview
from tests.plots.drawn import sizes_of, texts_of, texts_off_the_page
from tests.report.synthetic import (
    BAR,
    VIOLIN,
    finding_of,
    frames_timeline,
    part_of,
    review_of,
    role_of,
    scale_rows,
    studio_review,
    summary_of,
    timeline_of,
)


def with_markers(bars: int, *rows: tuple[int, str], **changes: Any) -> Review:
    part = part_of("Violin 1", VIOLIN, scale_rows(bars, 55, 90), **changes)
    markers = tuple(Text("marker", (bar - 1) * BAR, 0.0, text, 0) for bar, text in rows)
    return review_of([part], score_changes={"markers": markers})


def test_every_reviewed_track_has_a_row_and_left_out_ones_are_named() -> None:
    layout = layout_overview(studio_review())
    assert [row.label for row in layout.rows] == ["Violin 1", "Violin 2", "Viola", "Cello"]
    assert any("not reviewed (3): Piano, Harp" in remark for remark in layout.remarks)
    assert layout.subtitle.endswith("7 impossible, 1 risky, 2 awkward, 2 remarks")


def test_every_finding_is_in_a_mark_of_its_row() -> None:
    review = studio_review()
    for row in layout_overview(review).rows:
        marked = sorted(f.id for mark in row.marks for f in mark.findings)
        assert marked == sorted(f.id for f in review.findings if f.track == row.row)


def test_tempo_steps_stand_at_their_bars() -> None:
    layout = layout_overview(studio_review())
    assert [(step.left, step.value) for step in layout.tempo] == [(1.0, 96.0), (21.0, 144.0)]
    assert layout.tempo[-1].right == layout.axis.after
    assert [(label.left, label.text) for label in layout.tempo_labels] == [(1, "96"), (21, "144")]


def test_a_tempo_that_drifts_by_less_than_a_hundredth_is_one_step() -> None:
    bars = np.arange(40)
    steady = timeline_of([(int(bar) * BAR, 120 + 0.5 * (-1) ** bar) for bar in bars])
    assert len(layout_overview(with_markers(40, timeline=steady)).tempo) == 1
    rising = timeline_of([(int(bar) * BAR, 100.0 + bar) for bar in bars])
    assert len(layout_overview(with_markers(40, timeline=rising)).tempo) > 15


def test_rehearsal_marks_stand_at_their_bars_and_those_without_room_are_counted() -> None:
    review = with_markers(300, (24, "A"), (25, "B"), (200, "a very long name for a mark"))
    layout = layout_overview(review)
    assert [(sign.left, sign.text) for sign in layout.signs] == [
        (24.0, "A"),
        (200.0, "a very long n..."),
    ]
    assert "1 rehearsal mark left out for want of room" in layout.remarks


def test_an_assumed_tempo_is_said_on_the_page() -> None:
    review = with_markers(8, timeline=timeline_of(assumed=True))
    assert "the tempo is assumed: the file names none" in layout_overview(review).remarks


def test_rows_of_one_part_are_told_apart_by_number_and_name() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, BAR), (62, BAR, 2 * BAR)])
    roles = tuple(role_of(n, f"Vln {n}", "Violin 1", "violin") for n in (0, 1))
    part = replace(part, roles=roles, track=np.array([0, 1]))
    rows = [summary_of(part), replace(summary_of(part), index=1, name="Vln 1")]
    layout = layout_overview(review_of([part], summaries=rows))
    assert [row.label for row in layout.rows] == ["0 Vln 0", "1 Vln 1"]
    assert [row.density[0].left for row in layout.rows] == [1.0, 2.0]


def test_a_file_that_counts_frames_has_seconds_and_no_tempo() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 900)], timeline=frames_timeline())
    layout = layout_overview(review_of([part], [finding_of(part, Severity.RISKY, 0, 900)]))
    assert layout.tempo == ()
    assert "second" in texts_of(draw_overview(layout))


def test_the_page_names_parts_severities_and_what_the_shade_means() -> None:
    figure = draw_overview(layout_overview(studio_review()))
    texts = texts_of(figure)
    words = {"Violin 1", "impossible", "remark", "slide", "notes per second", "bar", "A", "Chase"}
    assert words <= set(texts)
    assert min(sizes_of(figure)) >= SMALL_PT
    assert texts_off_the_page(figure) == []


@pytest.mark.parametrize("name", ["$x^{", "ヴァイオリン" * 20, "\x1b]0;t\x07", "W" * 400])
def test_names_of_any_kind_stay_on_the_page(name: str) -> None:
    part = part_of(name, VIOLIN, scale_rows(8, 55, 90), track_name=name)
    review = review_of(
        [part],
        score_changes={
            "file": f"{name[:60]}.mid",
            "markers": tuple(Text("marker", b * BAR, 0, name, 0) for b in (0, 7)),
        },
    )
    assert texts_off_the_page(draw_overview(layout_overview(review))) == []


def test_a_hundred_and_fifty_tracks_give_a_page_of_bounded_size() -> None:
    parts = [part_of(f"Violin {n}", VIOLIN, [(60, 0, BAR)], index=n) for n in range(150)]
    layout = layout_overview(review_of(parts))
    assert len(layout.rows) == 120
    assert "30 more tracks have no row here" in layout.remarks


def test_a_million_bars_and_an_empty_part_can_be_drawn() -> None:
    endless = part_of("Violin 1", VIOLIN, [(60, 0, 480), (60, 10**6 * BAR, 10**6 * BAR + 5)])
    for part in (endless, part_of("Violin 1", VIOLIN, [])):
        layout = layout_overview(review_of([part]))
        assert len(layout.tempo) == 1
        draw_overview(layout).canvas.draw()
