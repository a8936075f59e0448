import functools
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import mockcheck
from mockcheck.errors import UnreadableInput
from mockcheck.model.finding import Severity
from mockcheck.model.review import Review
from mockcheck.plan._sight import sight_headroom
from mockcheck.plan.heavy_bars import HEAVY
from mockcheck.plan.spots import (
    SPOTS,
    Spot,
    SpotParams,
    changes_first,
    choose_spots,
    is_practised,
)
from tests.accuracy.corpus import fixture_quartets, open_quartets
from tests.accuracy.faults.kinds import make_fault
from tests.accuracy.midi_music import Note, excerpt, read_music
from tests.accuracy.recall import with_programs
from tests.plan.cues import bars_of, demo, music_with, review_music, review_of

SPEED_FAULTS = ("run at 25 a second", "repeated at 20 a second", "pizzicato at 12 a second")
OTHER_FAULTS = ("above solo top", "four notes out of reach", "below open string")


@functools.cache
def faulty_movement(number: int) -> Review:
    """A published movement, or forty bars of it, with faults of every kind put in."""
    works = open_quartets() if os.environ.get("MOCKCHECK_QUARTETS") else fixture_quartets()
    work = works[number % len(works)]
    music = with_programs(read_music(work.path))
    first = 1 + 40 * (number // len(works))
    music = with_programs(excerpt(music, first, first + 39))
    chance = Random(f"rehearsal {number}")
    brief: list[dict[str, object]] = []
    for place, kind in enumerate((*SPEED_FAULTS, *OTHER_FAULTS)):
        fault = make_fault(kind, music, (3 + 6 * place, 6 + 6 * place), chance)
        if fault is not None:
            music = fault.music
            brief += [dict(row) for row in fault.brief]
    return review_music(music, {"tracks": brief})


REVIEWS: dict[str, Callable[[], Review]] = {
    "demo": demo,
    "demo solo": lambda: demo("solo"),
    **{f"movement {k}": functools.partial(faulty_movement, k) for k in range(5)},
}


@functools.cache
def planned(name: str) -> tuple[Review, tuple[Spot, ...]]:
    review = REVIEWS[name]()
    return review, choose_spots(review)


@pytest.mark.parametrize("name", REVIEWS)
def test_every_place_that_is_too_fast_is_covered(name: str) -> None:
    review, spots = planned(name)
    wanted = [
        f
        for f in review.findings
        if f.family == "speed" and f.severity >= Severity.RISKY and f.check != "trill-too-wide"
    ]
    assert wanted or name == "demo solo"
    meter = review.played.score.meter_map
    assert meter is not None
    for finding in wanted:
        own = [spot for spot in spots if finding.part in {part.part for part in spot.parts}]
        covered = {
            bar for spot in own for bar in range(spot.first_bar_index, spot.last_bar_index + 1)
        }
        assert finding.start.bar is not None
        assert finding.end.bar is not None
        last_tick = max(finding.end.tick - 1, finding.start.tick)
        last = int(meter.bar_index(np.array([last_tick]))[0])
        assert set(range(finding.start.bar - 1, last + 1)) <= covered, finding.message
        assert any(finding in part.findings for spot in own for part in spot.parts)


@pytest.mark.parametrize("name", REVIEWS)
def test_no_spot_and_no_section_in_it_without_a_finding(name: str) -> None:
    review, spots = planned(name)
    loads = {part.name: part.reading for part in review.played.parts}
    for spot in spots:
        for part in spot.parts:
            assert part.findings
            for finding in part.findings:
                assert finding.part == part.part
                assert finding.severity >= Severity.RISKY
                assert finding.start.tick < spot.end_ticks
                assert finding.end.tick >= spot.start_ticks
            for bar in part.heavy:
                assert spot.first_bar_index <= bar.bar_index <= spot.last_bar_index
                reading = loads[part.part]
                assert reading is not None
                row = reading.bar_index.tolist().index(bar.bar_index)
                assert reading.load[row] == bar.load >= HEAVY.load


@pytest.mark.parametrize("name", REVIEWS)
def test_what_no_tempo_cures_is_no_spot_and_named(name: str) -> None:
    review, spots = planned(name)
    practised = {id(f) for spot in spots for part in spot.parts for f in part.findings}
    changes = {id(f) for f in changes_first(review)}
    assert not practised & changes
    bad = {id(f) for f in review.findings if f.severity >= Severity.RISKY}
    assert bad == practised | changes


@pytest.mark.parametrize("name", REVIEWS)
def test_spots_begin_and_end_on_bar_lines_and_keep_to_a_size(name: str) -> None:
    review, spots = planned(name)
    meter = review.played.score.meter_map
    assert meter is not None
    for spot in spots:
        edges = meter.bar_start(np.array([spot.first_bar_index, spot.last_bar_index + 1]))
        assert [spot.start_ticks, spot.end_ticks] == edges.tolist()
        bars = spot.last_bar_index - spot.first_bar_index + 1
        assert bars <= SPOTS.most_bars + 2 * SPOTS.phrase_bars


def bars(spots: tuple[Spot, ...]) -> list[tuple[int, int]]:
    return [(spot.first_bar_index + 1, spot.last_bar_index + 1) for spot in spots]


def test_a_spot_reaches_back_to_the_rest_before_and_on_to_the_long_note_behind() -> None:
    review = review_of(bars_of("rest moving run moving calm calm moving moving moving moving"))
    assert bars(choose_spots(review)) == [(2, 5)]


def test_a_rest_too_far_away_is_not_looked_for() -> None:
    # The run lands on the first note of bar 6.
    words = "rest moving moving moving run moving moving moving moving rest calm"
    review = review_of(bars_of(words))
    assert bars(choose_spots(review)) == [(5, 6)]
    far = SpotParams(phrase_bars=3)
    assert bars(choose_spots(review, far)) == [(2, 9)]


def test_neighbours_are_one_spot_and_others_are_not() -> None:
    near = review_of(bars_of("rest run calm run rest calm calm calm"))
    far = review_of(bars_of("rest run calm moving moving moving moving calm run rest"))
    assert len(choose_spots(near)) == 1
    assert len(choose_spots(far)) == 2


def test_sections_with_the_same_bars_share_a_spot() -> None:
    both = review_of(
        bars_of("rest run calm rest calm calm"),
        bars_of("rest run calm rest calm calm", name="Violin 2"),
    )
    (spot,) = choose_spots(both)
    assert {part.part for part in spot.parts} == {"Violin 1", "Violin 2"}
    assert spot.players == 16
    apart = review_of(
        bars_of("rest run calm rest calm calm rest"),
        bars_of("rest calm calm rest calm run rest", name="Violin 2"),
    )
    assert [[part.part for part in spot.parts] for spot in choose_spots(apart)] == [
        ["Violin 1"],
        ["Violin 2"],
    ]


def test_fast_bars_with_few_free_bars_between_are_taken_together() -> None:
    review = review_of(bars_of("rest run calm calm same rest calm"))
    found = {(f.check, f.start.bar, f.end.bar) for f in review.findings if is_practised(f)}
    assert {("run-too-fast", 2, 3), ("repeated-notes-too-fast", 5, 5)} <= found
    together = SpotParams(phrase_bars=0, joined_bars=1)
    apart = SpotParams(phrase_bars=0, joined_bars=0)
    assert bars(choose_spots(review, together)) == [(2, 5)]
    assert bars(choose_spots(review, apart)) == [(2, 3), (5, 5)]


def test_sections_that_share_less_than_half_practise_by_themselves() -> None:
    def found(second: str) -> list[tuple[int, int]]:
        first = bars_of("rest run run run run rest rest rest rest")
        review = review_of(first, bars_of(second, name="Violin 2"))
        return bars(choose_spots(review, SpotParams(phrase_bars=0)))

    assert found("rest rest rest rest run run run run rest") == [(2, 5), (5, 8)]
    assert found("rest rest rest run run run run rest rest") == [(2, 7)]


def test_what_is_long_is_practised_in_pieces_that_leave_nothing_out() -> None:
    review = review_of(bars_of("rest " + "run " * 20 + "calm rest"))
    spots = choose_spots(review)
    assert len(spots) > 2
    covered = [b for first, last in bars(spots) for b in range(first, last + 1)]
    assert covered == sorted(set(covered))
    assert set(range(2, 22)) <= set(covered)


def test_a_heavy_bar_is_no_spot_where_nothing_is_too_fast() -> None:
    assert choose_spots(review_of(bars_of("rest run calm", q=60))) == ()


def test_accepted_findings_count_for_nothing() -> None:
    review = review_of(bars_of("rest run calm"))
    accepted = replace(
        review, findings=tuple(replace(f, accepted="the soloist knows it") for f in review.findings)
    )
    assert choose_spots(review)
    assert choose_spots(accepted) == ()
    assert changes_first(accepted) == ()


def test_the_same_music_twice_is_two_findings() -> None:
    review = review_of(bars_of("rest run calm calm rest calm calm run calm rest"))
    found = [f for f in review.findings if is_practised(f)]
    spots = choose_spots(review)
    assert len(found) == sum(len(part.findings) for spot in spots for part in spot.parts)


def test_a_spot_that_even_a_soloist_cannot_play_says_so() -> None:
    slow, fast = (choose_spots(review_of(bars_of("rest run calm", q=q))) for q in (180, 500))
    assert not slow[0].is_hopeless
    assert fast[0].is_hopeless


def test_headroom_in_a_spot_is_that_of_level_sight_at_any_level() -> None:
    phrase = bars_of("rest run calm", q=240)
    limits = [
        choose_spots(review_of(phrase, brief={"level": level}))[0].headroom
        for level in ("sight", "rehearsed", "solo")
    ]
    assert limits == pytest.approx([limits[0]] * 3, rel=1e-3)
    review = review_of(phrase)
    finding = next(f for f in review.findings if f.check == "run-too-fast")
    assert limits[0] == pytest.approx(finding.evidence[0].measured, rel=2e-3)


@settings(max_examples=10)
@given(st.floats(1.05, 2.5))
def test_headroom_scales_with_the_tempo(factor: float) -> None:
    def least(q: float) -> float:
        part = review_of(bars_of("rest run calm", q=round(q))).played.parts[0]
        return sight_headroom(part).between(0, 10**6)

    slow, fast = 120, round(120 * factor)
    assert least(slow) / least(fast) == pytest.approx(fast / slow, rel=5e-3)


def test_a_note_played_early_belongs_to_the_bar_it_is_meant_for() -> None:
    music = music_with([(1, 4, 4)], [3], 6)
    part = music.parts[0]
    early = replace(part.notes[2], onset=part.notes[2].onset - 8)
    moved = music.with_part(replace(part, notes=(*part.notes[:2], early, *part.notes[3:])))
    assert bars(choose_spots(review_music(moved))) == bars(choose_spots(review_music(music)))


def test_a_passage_that_stops_on_a_bar_line_is_not_in_the_next_bar() -> None:
    music = music_with([(1, 4, 4)], [3], 6)
    part = music.parts[0]
    bar = range(3840, 5760)
    same = [replace(note, pitch=69, release=note.onset + 60) for note in part.notes]
    run = [note for note in same if note.onset in bar]
    others = [replace(note, pitch=71) for note in part.notes if note.onset not in bar]
    stops = [note for note in others if note.onset != 5760]

    def found(notes: list[Note]) -> list[tuple[int, int]]:
        in_order = tuple(sorted(notes, key=lambda note: note.onset))
        review = review_music(music.with_part(replace(part, notes=in_order)))
        (finding,) = [f for f in review.findings if f.check == "repeated-notes-too-fast"]
        assert finding.end.tick == 5760
        return bars(choose_spots(review, SpotParams(phrase_bars=0)))

    assert found([*run, *stops]) == [(3, 3)]
    # A note that begins on the bar line is where the passage lands.
    assert found([*run, *others]) == [(3, 4)]


@pytest.mark.parametrize("kind", ["frames", "patterns"])
def test_a_file_without_common_bars_is_refused(kind: str, tmp_path: Path) -> None:
    from tests.phrases import midi_bytes

    data = bytearray(midi_bytes(bars_of("rest run calm")))
    if kind == "frames":
        data[12:14] = bytes((256 - 25, 40))
    else:
        data[8:10] = (2).to_bytes(2, "big")
    path = tmp_path / "odd.mid"
    path.write_bytes(bytes(data))
    with pytest.raises(UnreadableInput, match="no bars that all parts share"):
        choose_spots(mockcheck.review(path))
