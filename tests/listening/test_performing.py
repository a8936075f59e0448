from __future__ import annotations

from itertools import pairwise
from random import Random
from statistics import mean, stdev

import pytest

from tests.listening.clock import Clock
from tests.listening.dynamics import Levels
from tests.listening.performing import SHARES, Player, Pressed, perform
from tests.listening.truth import TrueNote

CLOCK = Clock(480, ((0, 500_000),), ((0, 4, 4),))
FLAT = Levels((0.0, 1000.0), (80.0, 80.0))


def line(
    manner: str, count: int = 60, slur: int = -1, strokes_per_s: float = 0.0
) -> list[TrueNote]:
    return [
        TrueNote(n * 240, 240, 60 + n % 3, manner, manner, slur=slur, strokes_per_s=strokes_per_s)
        for n in range(count)
    ]


def pressed(
    notes: list[TrueNote], seed: int = 0, is_human: bool = False, by_velocity: bool = True
) -> list[Pressed]:
    return perform(notes, CLOCK, Player(Random(seed), is_human, FLAT, by_velocity))


def shares(manner: str) -> list[float]:
    return [
        (press.release_s - press.onset_s) / 0.25
        for seed in range(40)
        for press in pressed(line(manner), seed)
    ]


@pytest.mark.parametrize("manner", sorted(set(SHARES) - {"tremolo", "trill"}))
def test_notes_sound_for_the_published_share_of_their_time(manner: str) -> None:
    wanted, spread = SHARES[manner]
    found = shares(manner)
    # Cut at a share that still leaves the notes apart, so a little lower and narrower.
    assert mean(found) == pytest.approx(wanted, abs=0.03)
    assert 0.6 * spread < stdev(found) < 1.15 * spread


def test_slurred_notes_overlap_by_what_was_measured_and_the_last_does_not() -> None:
    played = pressed(line("legato", slur=1))
    overlaps_s = [a.release_s - b.onset_s for a, b in pairwise(played)]
    assert all(0.005 <= overlap_s <= 0.08 for overlap_s in overlaps_s)
    assert played[-1].release_s - played[-1].onset_s < 0.25


def test_a_slur_over_one_pitch_lifts_the_key_in_between() -> None:
    notes = [TrueNote(n * 240, 240, 60, "legato", "legato", slur=1) for n in range(8)]
    played = pressed(notes)
    assert all(a.release_s < b.onset_s for a, b in pairwise(played))


def test_exact_players_are_on_the_grid_and_human_ones_ten_to_thirty_ms_off() -> None:
    grid = [n * 0.25 for n in range(400)]
    exact = pressed(line("detache", 400))
    assert [press.onset_s for press in exact] == pytest.approx(grid)
    for seed in range(12):
        human = pressed(line("detache", 400), seed, is_human=True)
        off_s = [press.onset_s - on for press, on in zip(human, grid, strict=True)]
        assert 0.008 < stdev(off_s) < 0.035


def test_two_human_players_are_apart_as_good_ensembles_are() -> None:
    apart_ms = []
    for seed in range(12):
        one, two = (pressed(line("detache", 400), 2 * seed + n, is_human=True) for n in range(2))
        off = [1000 * (a.onset_s - b.onset_s) for a, b in zip(one, two, strict=True)]
        apart_ms.append(stdev(off))
    assert 20 <= mean(apart_ms) <= 50


def test_players_never_change_the_order_of_notes() -> None:
    quick = [TrueNote(n * 40, 40, 60 + n % 5, "detache", "detache") for n in range(200)]
    played = pressed(quick, is_human=True)
    assert [press.note for press in played] == quick


def test_a_drawn_out_trill_takes_turns_at_its_rate_until_the_written_end() -> None:
    note = TrueNote(0, 960, 70, "trill", "trill", strokes_per_s=10.0)
    played = pressed([note], is_human=True)
    pitches = [press.pitch for press in played]
    assert pitches[::2] == [70] * len(pitches[::2])
    assert set(pitches[1::2]) in ({71}, {72})
    assert len(played) == 10
    assert played[-1].onset_s < 1.0


def test_velocity_is_loudness_for_short_notes_and_where_nothing_else_carries_it() -> None:
    loud = Levels((0.0, 1000.0), (110.0, 110.0))
    quiet = Levels((0.0, 1000.0), (30.0, 30.0))

    def level(manner: str, levels: Levels, by_velocity: bool) -> float:
        player = Player(Random(3), False, levels, by_velocity)
        return mean(press.velocity for press in perform(line(manner), CLOCK, player))

    assert level("detache", loud, True) - level("detache", quiet, True) == pytest.approx(80, abs=2)
    assert level("staccato", loud, False) - level("staccato", quiet, False) > 70
    assert level("detache", loud, False) == level("detache", quiet, False)
    assert level("marcato", quiet, True) > level("staccato", quiet, True) + 12
