"""The drawings of a finding's evidence, measured on the page."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from lxml import etree  # type: ignore[import-untyped]  # ships no types

from mockcheck.model.curves import Curve
from mockcheck.model.finding import Severity
from mockcheck.model.played import FingeringColumns, PlayedPart
from mockcheck.model.review import Review
from mockcheck.model.score import ChannelCurves
from mockcheck.plots.overview import layout_overview
from mockcheck.report._page_board import draw_board
from mockcheck.report._page_roll import MOST_BARS, concerned, draw_roll
from mockcheck.report._page_svg import px, tag, words
from mockcheck.report._page_timeline import draw_timeline
from mockcheck.report._page_tracks import track_pages
from tests.report.synthetic import (
    BAR,
    TPQ,
    VIOLIN,
    finding_of,
    part_of,
    review_of,
    studio_review,
)

SCALE = [(60 + step, step * TPQ, step * TPQ + TPQ - 20) for step in range(16)]


def svg_of(text: str) -> etree._Element:
    return etree.fromstring(text)


def path_of(svg: etree._Element, name: str) -> str:
    return "".join(svg.xpath(f"//path[contains(concat(' ', @class, ' '), ' {name} ')]/@d"))


def bent(review: Review, curves: ChannelCurves) -> Review:
    score = review.played.score
    tracks = (replace(score.tracks[0], channels={1: curves}), *score.tracks[1:])
    return replace(review, played=replace(review.played, score=replace(score, tracks=tracks)))


def curve_of(points: list[tuple[int, float]]) -> Curve:
    ticks = np.array([tick for tick, _ in points], np.int64)
    return Curve(ticks, ticks / (2 * TPQ), np.array([value for _, value in points]))


def test_the_notes_a_finding_is_about_are_marked_and_the_others_are_not() -> None:
    part = part_of("Violin 1", VIOLIN, SCALE)
    finding = finding_of(part, Severity.RISKY, 2 * TPQ, 4 * TPQ - 20, pitches=(62, 63))
    assert concerned(part, finding).tolist() == [2, 3]
    drawn = draw_roll(review_of([part]).played.score, part, finding)
    assert drawn is not None
    svg = svg_of(drawn[0])
    marked = path_of(svg, "found").count("z")
    assert marked == 2
    assert path_of(svg, "note").count("z") == 4, "bar 1 has four notes in all"
    assert drawn[1] is True


def test_a_run_named_up_to_the_onset_of_its_last_note_has_that_note() -> None:
    part = part_of("Violin 1", VIOLIN, SCALE)
    finding = finding_of(part, Severity.RISKY, 0, 3 * TPQ, pitches=(60, 61, 62, 63))
    assert concerned(part, finding).tolist() == [0, 1, 2, 3]


def test_a_long_place_shows_its_first_bars_and_says_so() -> None:
    rows = [(60, bar * BAR, bar * BAR + BAR) for bar in range(MOST_BARS + 3)]
    part = part_of("Violin 1", VIOLIN, rows)
    finding = finding_of(part, Severity.RISKY, 0, (MOST_BARS + 3) * BAR, pitches=(60,))
    drawn = draw_roll(review_of([part]).played.score, part, finding)
    assert drawn is not None
    assert drawn[1] is False
    assert path_of(svg_of(drawn[0]), "found").count("z") == MOST_BARS


def test_a_bar_of_rest_has_no_drawing() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, TPQ)])
    finding = finding_of(part, Severity.REMARK, 4 * BAR, 5 * BAR, pitches=())
    assert draw_roll(review_of([part]).played.score, part, finding) is None


def test_the_pitch_curve_is_drawn_where_the_pitch_is_bent_and_as_far_as_it_is() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 2 * TPQ), (64, 2 * TPQ, BAR)])
    finding = finding_of(part, Severity.RISKY, 0, BAR, pitches=(60, 64))
    plain = review_of([part])
    drawn = draw_roll(plain.played.score, part, finding)
    assert drawn is not None
    assert not path_of(svg_of(drawn[0]), "pitch")
    curves = ChannelCurves(bend_cents=curve_of([(TPQ, 200.0), (2 * TPQ, 0.0)]))
    drawn = draw_roll(bent(plain, curves).played.score, part, finding)
    assert drawn is not None
    svg = svg_of(drawn[0])
    curve = path_of(svg, "pitch")
    assert curve.count("M") == 1, "only the first note is bent"
    heights = [float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", curve)]
    tops = [float(y) for y in re.findall(r"M[\d.]+ ([\d.]+)h", path_of(svg, "found"))]
    semitone = (tops[0] - tops[1]) / 4
    assert heights[0] - min(heights) == pytest.approx(2 * semitone, abs=0.3)


def test_controllers_have_a_lane_each_in_the_usual_order() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, BAR)])
    finding = finding_of(part, Severity.RISKY, 0, BAR, pitches=(60,))
    moves = curve_of([(0, 0.0), (TPQ, 127.0)])
    review = bent(review_of([part]), ChannelCurves(controllers={1: moves, 11: moves, 99: moves}))
    drawn = draw_roll(review.played.score, part, finding)
    assert drawn is not None
    svg = svg_of(drawn[0])
    names = [t.text for t in svg.iter("text") if t.text and "(" in t.text]
    assert names == ["expression (11)", "modulation (1)"]


def fingered(rows: list[tuple[int, int, int]], places: list[tuple[int, int, int]]) -> PlayedPart:
    part = part_of("Violin 1", VIOLIN, rows)
    strings, fingers, stops = zip(*places, strict=True)
    columns = FingeringColumns(
        np.array(strings, np.int8), np.array(fingers, np.int8), np.array(stops, np.int16)
    )
    return replace(part, fingering=columns)


def test_fingers_lie_on_their_strings_at_true_distances() -> None:
    rows = [(69, 0, TPQ), (74, TPQ, 2 * TPQ), (81, 2 * TPQ, 3 * TPQ)]
    part = fingered(rows, [(1, 0, 0), (1, 3, 5), (1, -1, 12)])
    finding = finding_of(part, Severity.RISKY, 0, 3 * TPQ, family="speed", pitches=(69, 74, 81))
    board = draw_board(part, finding)
    assert board is not None
    svg = svg_of(board.svg)
    stops = [(float(c.get("cx")), float(c.get("cy"))) for c in svg.iter("circle")]
    assert len({y for _, y in stops}) == 1, "all on the A string"
    nut, fourth, octave = sorted(x for x, _ in stops)
    # An octave halves the string, a fourth leaves three quarters of it (equal temperament: 0.749).
    assert (fourth - nut) / (octave - nut) == pytest.approx(2 * (1 - 2 ** (-5 / 12)), abs=0.002)
    fingers = [t.text for t in svg.iter("text") if t.get("class") == "finger"]
    assert fingers == ["0", "3", "T"]
    label = svg.get("aria-label")
    assert "A4 on the open A string" in label
    assert "D5 with the third finger on the A string" in label
    assert "with the thumb" in label


def test_a_chord_that_no_hand_holds_is_shown_hollow_on_every_string_that_has_it() -> None:
    part = fingered([(57, 0, TPQ), (60, 0, TPQ)], [(-1, 0, -1), (3, 3, 5)])
    finding = finding_of(part, Severity.IMPOSSIBLE, 0, TPQ, pitches=(57, 60))
    board = draw_board(part, finding)
    assert board is not None
    circles = list(svg_of(board.svg).iter("circle"))
    assert [c.get("class") for c in circles] == ["stop hollow"] * 2
    assert len({c.get("cy") for c in circles}) == 1, "both have the G string alone"
    assert "No one hand" in board.caption


def test_a_finding_about_reading_has_no_board() -> None:
    part = fingered([(69, 0, TPQ)], [(1, 0, 0)])
    finding = finding_of(part, Severity.AWKWARD, 0, TPQ, family="reading", pitches=(69,))
    assert draw_board(part, finding) is None


def test_severity_is_told_by_shape_colour_and_word() -> None:
    review = studio_review()
    layout = layout_overview(review)
    numbers = {finding.id: place for place, finding in enumerate(review.findings)}
    svg = svg_of(draw_timeline(layout, numbers).music)
    marks = svg.xpath("//a")
    assert len(marks) == sum(len(row.marks) for row in layout.rows)
    for mark in marks:
        level = int(mark.get("class").split()[1].removeprefix("s"))
        assert mark.xpath("./use/@href") == [f"#s{level}"]
        assert Severity(level).label in mark.xpath("./title/text()")[0]
    hollow = [mark for mark in marks if "accepted" in mark.get("class")]
    assert len(hollow) == 1
    assert "accepted" in hollow[0].xpath("./title/text()")[0]


def test_marks_stand_at_their_bars_and_darker_is_busier() -> None:
    rows = [(60, tick, tick + 50) for tick in range(0, BAR, TPQ // 4)]
    rows += [(62, BAR + n * TPQ, BAR + n * TPQ + 50) for n in range(2)]
    rows += [(62, 3 * BAR, 4 * BAR)]
    part = part_of("Violin 1", VIOLIN, rows)
    finding = finding_of(part, Severity.RISKY, 2 * BAR, 3 * BAR)
    review = review_of([part], [finding])
    svg = svg_of(draw_timeline(layout_overview(review), {finding.id: 0}).music)
    bars = {t.text: float(t.get("x")) for t in svg.iter("text") if t.get("class") == "tick"}
    assert float(svg.xpath("//a/use/@x")[0]) == pytest.approx(bars["3"], abs=0.2)
    darkest = path_of(svg, "d6")
    assert float(re.findall(r"M([\d.]+)", darkest)[0]) == pytest.approx(bars["1"], abs=0.2)
    assert path_of(svg, "d1")


def test_each_reviewed_track_has_its_plot_and_its_numbers() -> None:
    review = studio_review()
    pages = list(track_pages(review))
    assert [page.row for page in pages] == [0, 1, 2, 3]
    for page, track in zip(pages, review.tracks, strict=False):
        facts = dict(page.facts)
        assert facts["notes"] == f"{track.notes:,}"
        assert facts["slides"].startswith(f"{track.slides:,};")
        assert "detache" in page.drawing
        assert "tempo as written" in page.drawing
    assert "slides in a bar" in pages[0].drawing
    assert "slides in a" not in pages[1].drawing
    assert "plays up to 82% of the tempo, bar 25, beat 2" in dict(pages[0].facts)["tightest place"]


def test_what_is_written_into_a_drawing_is_escaped() -> None:
    assert words("<b> & 'c'", 1, 2) == '<text x="1" y="2">&lt;b&gt; &amp; &#x27;c&#x27;</text>'
    assert tag("g", aria_label='"><x') == '<g aria-label="&quot;&gt;&lt;x"/>'
    assert [px(value) for value in (12.0, 12.04, -0.25, 7.5)] == ["12", "12", "-0.2", "7.5"]
