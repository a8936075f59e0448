import pytest

from mockcheck.infer.headroom import level_factor
from mockcheck.model.session import Level
from mockcheck.plan.ladders import COMFORTABLE_HEADROOM
from mockcheck.plan.rehearsal import Exercise, Rehearsal, plan_rehearsal
from mockcheck.plan.spots import changes_first
from tests.plan.cues import bars_of, demo, review_of
from tests.plan.test_spots import REVIEWS, planned

CASES = [name for name in REVIEWS if name != "demo solo"]


def rehearsal(name: str) -> Rehearsal:
    return plan_rehearsal(planned(name)[0])


@pytest.mark.parametrize("name", CASES)
def test_all_seconds_are_those_of_the_passes(name: str) -> None:
    plan = rehearsal(name)
    passes = [rung for exercise in plan.exercises for rung in exercise.ladder.rungs]
    assert passes
    total = sum(rung.count_in_s + rung.passage_s for rung in passes)
    assert plan.seconds == pytest.approx(total, rel=1e-12)


@pytest.mark.parametrize("name", REVIEWS)
def test_every_spot_has_its_place_and_who_does_not_play_waits(name: str) -> None:
    review, spots = planned(name)
    plan = plan_rehearsal(review)
    assert [exercise.number for exercise in plan.exercises] == list(range(1, len(spots) + 1))
    assert sorted(e.spot.start_ticks for e in plan.exercises) == [s.start_ticks for s in spots]
    names = {part.name for part in review.played.parts}
    for exercise in plan.exercises:
        busy = {part.part for part in exercise.spot.parts}
        assert busy.isdisjoint(exercise.waiting)
        assert busy | set(exercise.waiting) == names
    assert plan.to_change == changes_first(review)


def rank(exercise: Exercise) -> int:
    headroom = exercise.spot.headroom
    return 0 if headroom < 1 else 1 if headroom < COMFORTABLE_HEADROOM else 2


@pytest.mark.parametrize("name", CASES)
def test_what_does_not_go_comes_first_and_most_players_before_few(name: str) -> None:
    plan = rehearsal(name)
    keys = [(rank(exercise), -exercise.spot.players) for exercise in plan.exercises]
    assert keys == sorted(keys)


def test_of_equal_sections_the_tighter_spot_comes_first() -> None:
    calm = "calm moving moving moving moving calm"
    review = review_of(
        bars_of(f"rest run calm {calm} calm", name="Violin 1"),
        bars_of(f"rest calm calm {calm} run", name="Violin 2").replace("C#5:1/4", "C#6:1/4"),
    )
    exercises = plan_rehearsal(review).exercises
    assert len(exercises) == 2
    first, second = (exercise.spot for exercise in exercises)
    assert first.headroom < second.headroom
    assert first.parts[0].part == "Violin 2"


def test_the_level_decides_what_counts_as_not_going() -> None:
    for level in ("sight", "rehearsed"):
        review = demo(level)
        share = level_factor(Level.SIGHT) / level_factor(Level(level))
        keys = [e.spot.headroom * share < 1 for e in plan_rehearsal(review).exercises]
        assert keys == sorted(keys, reverse=True)


def test_calm_music_needs_no_rehearsal() -> None:
    plan = plan_rehearsal(review_of(bars_of("calm calm moving calm", q=80)))
    assert plan.exercises == ()
    assert plan.seconds == 0
