from dataclasses import replace

import numpy as np
import pytest

from mockcheck.model.dynamics import DynamicsCurve
from mockcheck.model.played import ArticulationZone, PlayedPart
from mockcheck.plots._columns import axis_for
from mockcheck.plots._heard import dynamics_steps, stroke_spans
from mockcheck.plots.track import draw_track, layout_track
from tests.plots.drawn import texts_of, texts_off_the_page
from tests.report.synthetic import BAR, TPQ, VIOLIN, part_of, review_of, scale_rows


def zone(first: int, last: int, stroke: str, confidence: float) -> ArticulationZone:
    return ArticulationZone(0, first, last, stroke, confidence, "heard")


def part_with(*zones: ArticulationZone) -> PlayedPart:
    return replace(part_of("Violin 1", VIOLIN, scale_rows(8, 55, 90)), zones=zones)


def test_neighbouring_zones_of_one_stroke_are_one_span_as_sure_as_their_mean() -> None:
    part = part_with(
        zone(0, BAR, "legato", 0.9),
        zone(BAR, 2 * BAR, "legato", 0.5),
        zone(2 * BAR, 3 * BAR, "pizzicato", 1),
    )
    spans = stroke_spans(axis_for([part]), part, 0)
    assert [(s.left, s.right, s.stroke) for s in spans] == [(1, 3, "legato"), (3, 4, "pizzicato")]
    assert spans[0].confidence == pytest.approx(0.7)


def test_a_span_ends_where_the_next_one_begins() -> None:
    part = part_with(zone(0, 3 * BAR, "legato", 1), zone(BAR, 2 * BAR, "staccato", 1))
    spans = stroke_spans(axis_for([part]), part, 0)
    assert (spans[0].right, spans[1].left) == (2, 2)


def test_strokes_of_other_rows_stay_out() -> None:
    part = part_with(replace(zone(0, BAR, "legato", 1), track=3))
    assert stroke_spans(axis_for([part]), part, 0) == ()


def test_a_dense_curve_keeps_the_loudest_and_softest_of_each_bar() -> None:
    ticks = np.arange(0, 2 * BAR, 2, dtype=np.int64)
    loudness = 60 + 20 * np.sin(ticks / 100)
    curve = DynamicsCurve(0, "controller 1", ticks, ticks / (2.0 * TPQ), loudness, 0.9)
    part = replace(part_with(), dynamics=(curve,))
    axis = axis_for([part])
    steps = dynamics_steps(axis, part, 0)
    last = float(axis.positions(part.timeline, part.notes.release_ticks.max()[None])[0])
    # Two in a bar, and the end of the last note, where the curve ends too.
    assert [step.left for step in steps][-1] == last
    assert len(steps) == 5
    assert max(step.loudness for step in steps) == loudness.max()
    assert min(step.loudness for step in steps) == loudness.min()


def test_the_plot_names_strokes_and_dynamics_and_stays_on_the_page() -> None:
    curve = DynamicsCurve(
        0, "velocity", np.array([0, BAR]), np.array([0.0, 2.0]), np.array([40.0, 100.0]), 0.9
    )
    part = replace(part_with(zone(0, 7 * BAR, "sul ponticello", 0.6)), dynamics=(curve,))
    figure = draw_track(layout_track(review_of([part]), 0))
    assert {"sul ponticello", "stroke", "dynamics", "ff", "pp"} <= set(texts_of(figure))
    assert texts_off_the_page(figure) == []


def test_a_part_whose_loudness_nobody_heard_says_so() -> None:
    figure = draw_track(layout_track(review_of([part_with()]), 0))
    assert "not heard" in texts_of(figure)
