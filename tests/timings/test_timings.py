import math
from dataclasses import replace
from pathlib import Path

import pytest

from tests.benchmarks.dense_mockup import dense_mockup
from tests.timings.commands import HELP, WHOLE_DEMO, Timed
from tests.timings.growing import Axis, Grown
from tests.timings.measuring import Growth, Spread, fit_growth, ratios, timed_in_turn
from tests.timings.memory import REVIEW, Peak, measure_peak
from tests.timings.music import RealFiles, real_files
from tests.timings.readers import MIDO, OURS, READERS
from tests.timings.report import NOISE, Limit, Machine, Measured, limits, render

PARTS, NOTES, CURVE_EVENTS = 3, 40, 400


@pytest.fixture
def mockup(tmp_path: Path) -> Path:
    path = tmp_path / "mockup.mid"
    path.write_bytes(
        dense_mockup(
            running=True, parts=PARTS, notes=NOTES, curve_events=CURVE_EVENTS, minutes=1, drawn=True
        )
    )
    return path


@pytest.mark.parametrize("power", [0.0, 0.5, 1.0, 2.0])
def test_the_power_of_a_growth_is_found_again(power: float) -> None:
    sizes = [10, 20, 40, 80]
    growth = fit_growth(sizes, [0.3 * size**power for size in sizes])
    assert growth.exponent == pytest.approx(power, abs=1e-9)
    assert growth.off_by == pytest.approx(0, abs=1e-9)


def test_how_far_a_size_lies_off_the_line_is_told() -> None:
    # Logarithms 0, 2, 0, 2 over 0, 1, 2, 3: the line is 0.4 + 0.4 x, and the second lies 1.2 off.
    growth = fit_growth([1, math.e, math.e**2, math.e**3], [1, math.e**2, 1, math.e**2])
    assert growth.exponent == pytest.approx(0.4)
    assert growth.off_by == pytest.approx(math.expm1(1.2))


@pytest.mark.parametrize(
    ("sizes", "seconds"), [([1, 2], [1.0, 2.0]), ([0, 1, 2], [1.0] * 3), ([1, 2, 3], [0.0, 1, 2])]
)
def test_no_growth_is_made_up(sizes: list[int], seconds: list[float]) -> None:
    with pytest.raises(ValueError, match="no growth"):
        fit_growth(sizes, seconds)


def test_sides_take_turns() -> None:
    order: list[str] = []
    runs = {"a": lambda: order.append("a"), "b": lambda: order.append("b")}
    seconds = timed_in_turn(runs, 3)
    assert order == ["a", "b"] * 3
    assert {len(values) for values in seconds.values()} == {3}


def test_ratios_are_taken_round_by_round() -> None:
    # The medians alone, 4 and 2, would say 2.
    assert ratios([4.0, 1.0, 90.0], [2.0, 1.0, 30.0]) == Spread(2.0, 1.0, 3.0)
    with pytest.raises(ValueError, match="nothing"):
        Spread.of([])


def test_every_reader_gives_back_all_that_the_file_holds(mockup: Path) -> None:
    bends = PARTS * sum(row // 40 % 4 == 2 for row in range(CURVE_EVENTS))
    expected = PARTS * NOTES, PARTS * CURVE_EVENTS - bends, bends
    for name, reader in READERS.items():
        assert reader.content(reader.load(mockup)) == expected, name


def test_of_real_files_those_are_taken_that_all_can_read(
    mockup: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MOCKCHECK_REAL_MIDI", str(mockup.parent))
    (mockup.parent / "no_music.mid").write_bytes(b"MThd, but nothing else")
    real = real_files()
    assert (real.readable, real.found) == (1, 2)
    assert list(real.chosen.values()) == [mockup]
    monkeypatch.delenv("MOCKCHECK_REAL_MIDI")
    assert real_files().chosen == {}


def test_memory_is_that_of_a_process_of_its_own(mockup: Path) -> None:
    kept = bytearray(b"x" * 300_000_000)
    peak = measure_peak(OURS, mockup)
    assert 0 <= peak.added_mb < 100
    assert peak.most_mb < len(kept) / 1e6


def measured(exponent: float = 1.0, help_s: float = 0.2, ours_s: float = 1.0) -> Measured:
    times, once = Spread(help_s, help_s, help_s), Spread(0.1, 0.1, 0.1)
    axis = Axis("notes", "more and more", (), has_plain=False, size=hash, run=lambda _: list)
    sides = {MIDO: [8.0, 6.0], OURS: [1.0, 1.0]}
    return Measured(
        Machine(2, "3.11", 0.4, 1.1),
        {HELP: Timed(times, once), WHOLE_DEMO: Timed(times, once)},
        {"dense: many": sides},
        {"dense: many": dict.fromkeys(sides, (1, 2, 3000))},
        RealFiles({}, 31, 35),
        {"dense": ([1.0, 1.0], [ours_s, ours_s])},
        {REVIEW: Peak(100, 250)},
        [Grown(axis, (10, 1000), (times, times), Growth(exponent, 0.07))],
    )  # fmt: skip


def failed(rows: list[Limit]) -> list[str]:
    return [row.name for row in rows if not row.holds]


def test_each_limit_fails_on_its_own_figure() -> None:
    assert failed(list(limits(measured()))) == []
    assert failed(list(limits(measured(exponent=1.3)))) == ["time of a review grows with notes"]
    assert failed(list(limits(measured(help_s=0.31)))) == [HELP]
    assert failed(list(limits(measured(ours_s=1.1)))) == [
        "whole review against mido's loading, dense"
    ]


def test_noise_is_shown_and_has_no_limit() -> None:
    slow = replace(measured(), review={"dense": ([1.0], [1.0]), NOISE: ([1.0], [9.0])})
    assert failed(list(limits(slow))) == []
    assert f"| {NOISE} | 1.00 (1.00-1.00) | 9.00 (9.00-9.00) | 9.00 (9.00-9.00) |" in render(slow)


def test_growth_within_chance_is_no_growth() -> None:
    plain = measured()
    flat = replace(plain, growth=[replace(plain.growth[0], growth=None)])
    assert failed(list(limits(flat))) == []
    assert "no growth that can be told from chance." in render(flat)


def test_the_report_says_figures_limits_and_how_busy_the_machine_was() -> None:
    lines = render(measured(exponent=1.3)).splitlines()
    assert any("Of 35 real files all four read 31." in line for line in lines)
    assert any("0.4 before the run, 1.1 after" in line for line in lines)
    assert (
        "| time of a review grows with notes | as its power 1.2 at most | power 1.30 | **no** |"
        in lines
    )
    assert "| dense: many, mido | 7.00 (6.00-8.00) | 7.00 (6.00-8.00) | 1 | 2 | 3,000 |" in lines
    assert "| `mockcheck --help` | 0.2000 (0.2000-0.2000) | 0.1000 (0.1000-0.1000) |" in lines
    assert "| whole review | 100 | 250 | 150 |" in lines
    tables = [line for line in lines if line.startswith("|")]
    assert all(line.endswith("|") for line in tables)
