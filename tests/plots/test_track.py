from dataclasses import replace

import pytest

from mockcheck.model.finding import Severity
from mockcheck.model.session import Level, Session
from mockcheck.plots._ink import SMALL_PT
from mockcheck.plots.track import draw_track, layout_track
from tests.plots.drawn import sizes_of, texts_of, texts_off_the_page
from tests.report.synthetic import (
    BAR,
    ENSEMBLE,
    HOSTILE_NAME,
    TPQ,
    VIOLIN,
    finding_of,
    frames_timeline,
    part_of,
    review_of,
    scale_rows,
    studio_review,
    timeline_of,
)


def test_the_layout_reads_the_review_of_its_own_row_only() -> None:
    review = studio_review()
    layout = layout_track(review, 0)
    assert layout.title == "Violin 1"
    assert "row 0, 'Violin 1'; 16 players; 169 notes; busiest second 8 notes" in layout.subtitle
    assert "up to 82% of the tempo" in layout.subtitle
    drawn = [finding for mark in layout.marks for finding in mark.findings]
    mine = [finding for finding in review.findings if finding.track == 0]
    assert sorted(f.id for f in drawn) == sorted(f.id for f in mine)
    assert sum(column.value for column in layout.slides) == 2
    # 96 per minute: a bar of four quarters lasts 2.5 s; bar 1 has sixteen notes.
    assert layout.density[0].left == 1.0
    assert layout.density[0].value == pytest.approx(6.4)


def test_the_limits_are_the_lowest_open_string_and_the_top_of_the_level() -> None:
    rows = scale_rows(8, 55, 90)
    lines = layout_track(review_of([part_of("Violin 1", VIOLIN, rows)]), 0).pitch_lines
    assert [line.pitch for line in lines if line.is_limit] == [55, VIOLIN.section_top]
    assert [line.label for line in lines] == [
        "open G3",
        "open D4",
        "open A4",
        "open E5",
        "section's top E7",
    ]
    solo = part_of("Solo", VIOLIN, rows, session=Session(level=Level.SOLO))
    top = layout_track(review_of([solo]), 0).pitch_lines[-1]
    assert (top.pitch, top.label) == (VIOLIN.solo_top, "soloist's top A7")


def test_a_patch_for_all_strings_has_no_open_strings() -> None:
    part = part_of("Strings", ENSEMBLE, scale_rows(8, 30, 96))
    layout = layout_track(review_of([part]), 0)
    assert layout.pitch_lines == ()
    assert "MIDI pitch" in texts_of(draw_track(layout))


def test_the_key_explains_the_worst_marks_and_counts_the_rest() -> None:
    part = part_of("Violin 1", VIOLIN, scale_rows(300, 55, 90))
    findings = [
        finding_of(part, Severity.AWKWARD, bar * BAR, bar * BAR + TPQ) for bar in range(0, 300, 20)
    ]
    findings.append(finding_of(part, Severity.IMPOSSIBLE, 250 * BAR, 250 * BAR + TPQ))
    layout = layout_track(review_of([part], findings), 0)
    assert layout.numbered == 8
    assert layout.key[0] == "impossible, bar 251, beat 1: G3 and A3 need the same string."
    assert layout.key[1].startswith("awkward, bar 1, beat 1:")
    assert layout.key[8:] == ("and 8 more findings, listed in findings.csv",)


def test_findings_too_near_to_tell_apart_share_a_mark_that_says_so() -> None:
    part = part_of("Violin 1", VIOLIN, scale_rows(300, 55, 90))
    findings = [
        finding_of(part, Severity.RISKY, bar * BAR, bar * BAR + TPQ) for bar in (50, 51, 52)
    ]
    layout = layout_track(review_of([part], findings), 0)
    assert len(layout.marks) == 1
    assert "bar 51, beat 1 and 2 more near it" in layout.key[0]


def test_accepted_findings_are_drawn_hollow_and_explained() -> None:
    part = part_of("Violin 1", VIOLIN, scale_rows(8, 55, 90))
    finding = replace(finding_of(part, Severity.RISKY, 0, TPQ), accepted="known")
    layout = layout_track(review_of([part], [finding]), 0)
    assert "(accepted)" in layout.key[0]
    assert layout.key[-1] == "hollow: accepted by the brief"
    markers = draw_track(layout).axes[0].lines
    assert any(line.get_markerfacecolor() == "white" for line in markers)


def test_a_clean_track_says_so() -> None:
    part = part_of("Violin 1", VIOLIN, scale_rows(8, 55, 90))
    layout = layout_track(review_of([part]), 0)
    assert layout.key == ("Nothing found in this track.",)
    assert {"Nothing found in this track.", "no slides heard"} <= set(texts_of(draw_track(layout)))


@pytest.mark.parametrize("row", [4, 99])
def test_a_row_that_is_not_reviewed_has_no_plot(row: int) -> None:
    with pytest.raises(ValueError, match=f"row {row} .* not reviewed"):
        layout_track(studio_review(), row)


def test_the_page_names_severities_bars_and_strings_in_letters_large_enough() -> None:
    figure = draw_track(layout_track(studio_review(), 0))
    texts = texts_of(figure)
    assert {"impossible", "risky", "awkward", "remark", "bar", "open G3", "1", "6"} <= set(texts)
    assert min(sizes_of(figure)) >= SMALL_PT >= 8


@pytest.mark.parametrize("row", [0, 1, 2, 3])
def test_every_letter_stays_on_the_page(row: int) -> None:
    assert texts_off_the_page(draw_track(layout_track(studio_review(), row))) == []


def test_hostile_names_and_a_file_without_bars_can_be_drawn() -> None:
    part = part_of(
        HOSTILE_NAME,
        VIOLIN,
        [(30, 0, 900), (120, 61_000, 62_000)],
        timeline=frames_timeline(),
        track_name=HOSTILE_NAME,
    )
    finding = finding_of(part, Severity.RISKY, 0, 900, message=HOSTILE_NAME)
    figure = draw_track(layout_track(review_of([part], [finding]), 0))
    figure.canvas.draw()
    assert "second" in texts_of(figure)


def test_empty_and_endless_parts_can_be_drawn() -> None:
    empty = part_of("Violin 1", VIOLIN, [])
    endless = part_of("Violin 1", VIOLIN, [(60, 0, 480), (60, 10**6 * BAR, 10**6 * BAR + 5)])
    slow = part_of("Violin 1", VIOLIN, scale_rows(4, 55, 90), timeline=timeline_of(((0, 5.0),)))
    for part in (empty, endless, slow):
        draw_track(layout_track(review_of([part]), 0)).canvas.draw()
