import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.acceptance import Acceptance, UnusedAcceptance, read_bars
from mockcheck.model.finding import Severity
from mockcheck.model.words import bars_words
from tests.report.synthetic import BAR, VIOLIN, finding_of, part_of

PART = part_of("Violin 1", VIOLIN, [(60, 0, 900), (62, 3 * BAR, 3 * BAR + 400)])


@pytest.mark.parametrize(
    ("text", "bars"),
    [
        ("12", {12}),
        (" 12 - 14 ", {12, 13, 14}),
        ("3, 20-22", {3, 20, 21, 22}),
    ],
)
def test_bars_are_read_as_a_report_names_them(text: str, bars: set[int]) -> None:
    assert read_bars(text) == frozenset(bars)


def test_all_bars_are_no_list_of_bars() -> None:
    assert read_bars("All") is None


@given(st.frozensets(st.integers(1, 400), min_size=1, max_size=40))
def test_what_a_report_prints_reads_back(bars: frozenset[int]) -> None:
    assert read_bars(bars_words(bars).split(" ", 1)[1]) == bars


@pytest.mark.parametrize("text", ["", "0", "14-12", "one", "3;4", "-2", "1-", "1-9999999", "True"])
def test_what_names_no_bars_is_refused_with_the_forms_it_takes(text: str) -> None:
    with pytest.raises(ValueError, match="counted from 1"):
        read_bars(text)


def test_an_acceptance_by_place_holds_where_a_finding_begins() -> None:
    finding = finding_of(PART, Severity.RISKY, 3 * BAR, 3 * BAR + 400)
    meant = Acceptance("meant", check=finding.check, part="violin 1", bars=frozenset({4}))
    assert meant.is_at(finding)
    assert Acceptance("meant", check=finding.check, part="V*", bars=None).is_at(finding)
    elsewhere = Acceptance("meant", check=finding.check, part="violin 1", bars=frozenset({3}))
    assert not elsewhere.is_at(finding)
    assert not Acceptance("meant", check=finding.check, part="Viola", bars=None).is_at(finding)


def test_brackets_in_a_name_are_no_pattern() -> None:
    assert Acceptance("meant", check="x", part="Vln [a]", bars=None).is_for_part("Vln [A]")


def test_what_is_accepted_in_vain_names_the_nearest() -> None:
    finding = finding_of(PART, Severity.RISKY, 3 * BAR, 3 * BAR + 400)
    meant = Acceptance("comic slide", check="run-too-fast", part="Viola", bars=frozenset({2, 3}))
    words = UnusedAcceptance(meant, (finding,)).words
    for told in ("run-too-fast", "'Viola', bars 2-3", "comic slide", "Violin 1, bar 4", finding.id):
        assert told in words
    assert "remove it from the brief" in UnusedAcceptance(meant, ()).words
