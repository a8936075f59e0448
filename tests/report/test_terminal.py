from collections.abc import Callable
from dataclasses import replace

import click
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.review import Review
from mockcheck.model.score import ReadWarning
from mockcheck.report.terminal import columns, render_terminal, wrap
from tests.report.synthetic import (
    BAR,
    CELLO,
    HOSTILE_NAME,
    TPQ,
    VIOLIN,
    finding_of,
    frames_timeline,
    loads_of,
    part_of,
    review_of,
    scale_rows,
    studio_review,
)


def one_violin(*severities: Severity) -> Review:
    part = part_of("Violin 1", VIOLIN, scale_rows(40, 55, 90))
    findings = [
        finding_of(part, severity, bar * BAR, bar * BAR + TPQ, check=f"check-{bar}")
        for bar, severity in enumerate(severities)
    ]
    return review_of([part], findings)


def text_of(review: Review, **options: bool) -> str:
    return render_terminal(review, colour=False, **options)


@pytest.mark.parametrize(
    ("name", "width", "show_all"),
    [("studio.txt", 100, False), ("studio_narrow.txt", 56, False), ("studio_all.txt", 100, True)],
)
def test_the_page_reads_as_agreed(
    golden: Callable[[str, str], None], name: str, width: int, show_all: bool
) -> None:
    golden(name, render_terminal(studio_review(), False, width, show_all=show_all) + "\n")


def test_the_first_line_is_the_verdict() -> None:
    assert text_of(one_violin()).splitlines()[0] == "Ready: nothing stands in the way."


def test_the_three_heaviest_bars_of_all_parts_are_named_with_their_reasons() -> None:
    first = part_of(
        "Violin 1",
        VIOLIN,
        scale_rows(40, 55, 90),
        reading=loads_of([{"notes": 0.2}, {}, {"accidentals": 0.5, "rhythm": 0.4}, {"notes": 0.2}]),
    )
    cello = part_of(
        "Cello", CELLO, scale_rows(40, 36, 70), index=1, reading=loads_of([{"leaps": 0.3}])
    )
    (line,) = [
        line
        for line in render_terminal(review_of([first, cello]), False, 400).splitlines()
        if line.startswith("Heaviest to read")
    ]
    assert line == (
        "Heaviest to read, on an index from 0 to 1 that ranks bars: Violin 1, bar 3 (0.70:"
        " accidentals, rhythm); Cello, bar 1 (0.30: leaps); Violin 1, bar 1 (0.20: many notes)."
    )


def test_without_a_load_nothing_is_said_of_reading() -> None:
    assert "Heaviest" not in text_of(one_violin())
    part = part_of("Violin 1", VIOLIN, scale_rows(40, 55, 90), reading=loads_of([{}, {}]))
    assert "Heaviest" not in text_of(review_of([part]))


def test_colour_adds_nothing_but_colour() -> None:
    review = studio_review()
    coloured = render_terminal(review, colour=True)
    assert coloured != text_of(review)
    assert click.unstyle(coloured) == text_of(review)


def test_no_name_of_a_file_reaches_the_terminal_as_a_command() -> None:
    part = part_of(HOSTILE_NAME, VIOLIN, scale_rows(8, 55, 90), track_name=HOSTILE_NAME)
    finding = finding_of(
        part, Severity.RISKY, 0, TPQ, message=HOSTILE_NAME, suggestion=HOSTILE_NAME
    )
    text = text_of(review_of([part], [finding]), show_all=True)
    assert text.count("HYPERLINK") >= 3
    assert all(character.isprintable() or character == "\n" for character in text)


@pytest.mark.parametrize("width", [40, 72, 100])
@pytest.mark.parametrize("show_all", [True, False])
def test_no_line_is_wider_than_asked(width: int, show_all: bool) -> None:
    lines = render_terminal(studio_review(), False, width, show_all=show_all).splitlines()
    assert max(map(columns, lines)) <= width
    assert max(map(columns, lines)) > width - 12


def test_the_worst_part_comes_first_whatever_its_place_in_the_score() -> None:
    violin = part_of("Violin 1", VIOLIN, scale_rows(8, 55, 90))
    cello = part_of("Cello", CELLO, scale_rows(8, 36, 70), index=1)
    findings = [
        *(finding_of(violin, Severity.AWKWARD, bar * BAR, bar * BAR + 1) for bar in range(6)),
        finding_of(cello, Severity.IMPOSSIBLE, 0, TPQ),
    ]
    text = text_of(review_of([violin, cello], findings))
    assert text.index("Cello (") < text.index("Violin 1 (")


def test_findings_of_one_kind_are_told_once_with_the_bars_of_the_others() -> None:
    part = part_of("Violin 1", VIOLIN, scale_rows(40, 55, 90))
    findings = [
        finding_of(part, Severity.RISKY, bar * BAR, bar * BAR + 1) for bar in (11, 19, 23, 30, 31)
    ]
    text = text_of(review_of([part], findings))
    assert text.count("G3 and A3") == 1
    assert "bar 12, beat 1" in text
    assert "And 4 more: bars 20, 24, 31-32." in text


def test_impossible_places_are_never_held_back() -> None:
    text = text_of(one_violin(*[Severity.IMPOSSIBLE] * 30))
    assert text.count("  impossible  ") == 30
    assert "not shown" not in text


def test_remarks_beyond_the_first_kind_are_counted_and_the_way_to_them_named() -> None:
    review = one_violin(*[Severity.REMARK] * 5)
    assert text_of(review).count("  remark  ") == 1
    assert "4 lesser findings not shown; --all prints every one." in text_of(review)
    assert text_of(review, show_all=True).count("  remark  ") == 5
    assert "not shown" not in text_of(review, show_all=True)


def test_the_tempo_a_tight_passage_allows_is_named_beside_the_written_one() -> None:
    review = one_violin(Severity.RISKY)
    place = review.played.parts[0].locate(4 * BAR)
    # 120 * 0.899 = 107.88; the tempo named must be playable, so it is rounded down.
    row = replace(review.tracks[0], headroom=0.899, headroom_at=place)
    text = text_of(replace(review, tracks=(row,)))
    assert "bar 5, beat 1 plays up to quarter = 107, written 120" in text
    calm = replace(review.tracks[0], headroom=1.0, headroom_at=place)
    assert "plays up to" not in text_of(replace(review, tracks=(calm,)))
    placeless = replace(review.tracks[0], headroom=0.5)
    assert "plays up to" not in text_of(replace(review, tracks=(placeless,)))


def test_a_long_list_of_warnings_is_cut_and_the_rest_counted() -> None:
    review = one_violin()
    warnings = tuple(ReadWarning(f"kind-{n}", f"fault {n} of the file") for n in range(20))
    score = replace(review.played.score, warnings=warnings)
    review = replace(review, played=replace(review.played, score=score))
    assert text_of(review).count(" of the file") == 8
    assert "and 12 more" in text_of(review)
    assert text_of(review, show_all=True).count(" of the file") == 20


def test_a_file_that_counts_frames_is_told_in_seconds() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 900), (62, 2500, 2900)], timeline=frames_timeline())
    finding = finding_of(part, Severity.RISKY, 2500, 2900)
    row = replace(review_of([part]).tracks[0], headroom=0.5, headroom_at=part.locate(2500))
    text = text_of(review_of([part], [finding], summaries=[row]))
    assert "at 2.5 s: G3 and A3" in text
    assert "at 2.5 s plays up to 50% of its speed" in text
    assert "bar " not in text


def test_an_accepted_finding_is_listed_but_does_not_count() -> None:
    review = one_violin(Severity.IMPOSSIBLE)
    accepted = replace(review.findings[0], accepted="the leader wants it")
    text = text_of(replace(review, findings=(accepted,)))
    assert text.startswith("Ready: nothing stands in the way.")
    assert "1 accepted and not counted" in text
    assert "the leader wants it" in text


@given(st.text(), st.integers(20, 60))
def test_wrapping_keeps_every_character_and_the_width(text: str, width: int) -> None:
    lines = wrap(text, width, "  - ", "    ")
    assert all(columns(line) <= width for line in lines)
    kept = lines[0].removeprefix("  - ") + "".join(lines[1:])
    assert "".join(kept.split()).removeprefix("-") == "".join(text.split()).removeprefix("-")


def test_wide_letters_take_two_columns_and_accents_none() -> None:
    # Unicode Standard Annex 11: kana are wide; a combining acute accent has no width of its own.
    assert columns("ヴィオラ") == 8
    assert columns("Viola") == 5
    assert columns("e\u0301") == 1
