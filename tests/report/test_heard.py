from dataclasses import replace

import numpy as np

from mockcheck.model.dynamics import DynamicsCurve
from mockcheck.model.played import ARTICULATIONS, ArticulationColumns
from mockcheck.report._heard import heard_lines
from tests.report.synthetic import VIOLIN, part_of, review_of, studio_review

ROWS = [(60 + step, 480 * step, 480 * step + 400) for step in range(10)]


def test_strokes_are_told_by_their_share_and_how_sure_they_are() -> None:
    codes = [ARTICULATIONS.index("pizzicato")] * 3 + [ARTICULATIONS.index("legato")] * 7
    columns = ArticulationColumns(np.array(codes, np.int8), np.array([0.95] * 3 + [0.5] * 7))
    part = replace(part_of("Violin 1", VIOLIN, ROWS), articulation=columns)
    (line,) = heard_lines(review_of([part]))
    assert line == "Violin 1: legato 70% (50% sure), pizzicato 30% (95% sure); no slides."


def test_dynamics_say_how_far_they_go_and_what_carries_them() -> None:
    curve = DynamicsCurve(
        0, "controller 11", np.array([0, 960]), np.array([0.0, 1.0]), np.array([34.0, 108.0]), 0.9
    )
    part = replace(part_of("Violin 1", VIOLIN, ROWS), dynamics=(curve,))
    (line,) = heard_lines(review_of([part]))
    assert line.endswith("; no slides; pp to ff by controller 11.")


def test_slides_of_one_kind_are_counted_and_of_several_named() -> None:
    part = part_of("Violin 1", VIOLIN, ROWS, slides=[(0, 480), (480, 960)])
    assert "; 2 slides" in next(heard_lines(review_of([part])))
    mixed = replace(part, slides=(part.slides[0], replace(part.slides[1], kind="scoop")))
    assert "; 2 slides (1 portamento, 1 scoop)" in next(heard_lines(review_of([mixed])))


def test_a_large_score_tells_a_dozen_parts_unless_all_are_asked_for() -> None:
    parts = [part_of(f"Violin {n}", VIOLIN, ROWS, index=n) for n in range(15)]
    lines = list(heard_lines(review_of(parts)))
    assert len(lines) == 13
    assert lines[-1] == "And 3 more parts."
    assert len(list(heard_lines(review_of(parts), every=True))) == 15


def test_every_part_that_plays_has_a_line() -> None:
    review = studio_review()
    playing = [part for part in review.played.parts if len(part.notes)]
    assert len(list(heard_lines(review))) == len(playing)
