import pytest

from mockcheck.infer.headroom import LEVEL_FACTORS
from tests.accuracy.calibration import fit_bow, fit_rehearsed, halves, with_bow
from tests.accuracy.passages import least_ratio, published_passages

FITTED, REPORTED = halves()["even rows"], halves()["odd rows"]


@pytest.mark.slow
def test_bow_times_lie_on_the_frontier_of_the_half_they_were_fitted_on() -> None:
    assert 1 <= fit_bow(FITTED) < 1.02
    assert any(least_ratio(passage, with_bow(1.03)) > 1 for passage in FITTED)


def test_the_rehearsed_factor_lies_on_the_frontier_of_the_same_half() -> None:
    assert 0.99 < fit_rehearsed(FITTED) / LEVEL_FACTORS.rehearsed < 1.01


def test_no_section_of_the_other_half_is_too_slow_for_its_mark_when_rehearsed() -> None:
    sections = [passage for passage in REPORTED if passage.is_section]
    assert len(sections) > 10
    assert all(least_ratio(row) * LEVEL_FACTORS.rehearsed <= 1 for row in sections)


def test_the_halves_share_no_row_and_leave_none_out() -> None:
    assert len(FITTED) + len(REPORTED) == len(published_passages())
    assert not set(FITTED) & set(REPORTED)
