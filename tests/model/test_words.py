import pytest

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.time import Location
from mockcheck.model.words import (
    bars_words,
    cell,
    count_of,
    counts_words,
    last_bar,
    place_list,
    place_words,
    printable,
    shortened,
)
from tests.report.synthetic import BAR, VIOLIN, finding_of, part_of, timeline_of


def at(bar: int | None, beat: float | None, time_s: float = 0.0) -> Location:
    return Location(bar, beat, 0, time_s)


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        (at(12, 3), at(12, 4), "bar 12, beat 3"),
        (at(12, 2.5), at(12, 4), "bar 12, beat 2.5"),
        (at(12, 7 / 3), at(12, 4), "bar 12, beat 2.33"),
        (at(12, 3), at(14, 2), "bars 12-14, from beat 3"),
        (at(12, 3), at(13, 1.0), "bar 12, beat 3"),
        (at(12, 3), at(14, 1.0), "bars 12-13, from beat 3"),
        (at(12, 1), at(12, 1), "bar 12, beat 1"),
        (at(None, None, 12.44), at(None, None, 12.9), "at 12.4 s"),
        (at(None, None, 12.44), at(None, None, 15.0), "at 12.4 s to 15.0 s"),
        (Location(2, 1, 0, 4.0, "01:00:04:00"), at(2, 2), "bar 2, beat 1 (01:00:04:00)"),
    ],
)
def test_a_place_is_said_as_players_say_it(start: Location, end: Location, words: str) -> None:
    assert place_words(start, end) == words


def test_a_note_that_stops_on_the_bar_line_is_not_in_the_next_bar() -> None:
    timeline = timeline_of()
    assert last_bar(timeline.locate(0), timeline.locate(2 * BAR)) == 2
    assert last_bar(timeline.locate(0), timeline.locate(2 * BAR + 1)) == 3
    assert last_bar(timeline.locate(BAR), timeline.locate(BAR)) == 2


@pytest.mark.parametrize(
    ("bars", "longest", "words"),
    [
        ([20], None, "bar 20"),
        ([31, 20, 24], None, "bars 20, 24, 31"),
        ([20, 24, 24, 31, 32, 33], None, "bars 20, 24, 31-33"),
        ([1, 3, 5, 7, 8], 3, "bars 1, 3, 5 ..."),
        ([1, 3, 5], 3, "bars 1, 3, 5"),
    ],
)
def test_bars_are_listed_once_in_order_with_neighbours_joined(
    bars: list[int], longest: int | None, words: str
) -> None:
    assert place_list([at(bar, 1) for bar in bars], longest) == words


def test_places_without_bars_are_listed_in_seconds() -> None:
    assert place_list([at(None, None, 1.25), at(None, None, 3.0)]) == "at 1.2 s, 3.0 s"


def test_only_printable_characters_of_one_line_remain() -> None:
    # ECMA-48: ESC and the C1 set start control sequences; U+202E turns the direction of text.
    hostile = "a\x1b[31mb\x9b1mc\x00\u202ed\ud800\r\n\te\u2028f\u00a0 g"
    assert printable(hostile) == "a[31mb1mcd e f g"
    assert printable("Скрипка ヴァイオリン É") == "Скрипка ヴァイオリン É"


def test_a_cut_is_shown() -> None:
    assert shortened("Violin 1", 8) == "Violin 1"
    assert shortened("Violin 10", 8) == "Violi..."


def test_counts_have_their_plural() -> None:
    assert [count_of(n, "bar") for n in (0, 1, 1204)] == ["0 bars", "1 bar", "1,204 bars"]


def test_severities_are_counted_worst_first() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, BAR)])

    def some(*severities: Severity) -> list[Finding]:
        return [finding_of(part, severity, 0, 1) for severity in severities]

    assert counts_words([]) == ""
    assert counts_words(some(Severity.REMARK, Severity.IMPOSSIBLE)) == "1 impossible, 1 remark"
    assert counts_words(some(Severity.REMARK, Severity.REMARK)) == "2 remarks"


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "  =1", "\t=1", "\r=1", "\x1b=1", "＝1", "＠1"]
)
def test_text_of_a_file_never_starts_a_formula(text: str) -> None:
    assert cell(text).startswith("'")


@pytest.mark.parametrize("text", ["Violin 1", "a=b", "1-2", ""])
def test_plain_text_stays_as_it_is(text: str) -> None:
    assert cell(text) == text


def test_bars_are_joined_in_order_whatever_order_they_come_in() -> None:
    assert bars_words([7]) == "bar 7"
    assert bars_words([33, 20, 31, 32, 24, 24]) == "bars 20, 24, 31-33"
    assert bars_words([1, 3, 5], longest=2) == "bars 1, 3 ..."
