from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import mockcheck
from mockcheck.checks._registry import all_checks
from mockcheck.checks._runner import run_checks
from mockcheck.infer.headroom import level_factor
from mockcheck.model.finding import Finding
from mockcheck.model.played import PlayedScore
from mockcheck.model.session import Level, NamedLevel, Session
from mockcheck.plan.retempo import TempoAnswer, answer_tempo
from mockcheck.read.retime import retime
from tests.phrases import played

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
SCALE = "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 D5 C#5 B4 A4 G4 F#4 E4".split()
REACH = "G3 B3 D4 G4 B4 D5 G5 B5 D6 B5 G5 D5 B4 G4 D4 B3".split()


def semiquavers(bpm: float, options: str = "players=8", names: list[str] = SCALE) -> str:
    bar = " ".join(f"{name}:1/4" for name in names)
    return f"violin 4/4 q={bpm} {options} | D4:4 | {bar} | D4:4 |"


def repeated(bpm: float) -> str:
    return f"viola 4/4 q={bpm} players=6 | C4:4 | {' '.join(['E4:1/8'] * 16)} D4:2 |"


def plucked(bpm: float, options: str = "players=8") -> str:
    bar = " ".join(f"{name}:1/2" for name in "G2 A2 B2 C3 D3 C3 B2 A2".split())
    return f"double bass 4/4 q={bpm} program=45 {options} | G2:4 | {bar} | G2:4 |"


def leap(bpm: float) -> str:
    return f"violin 4/4 q={bpm} players=8 | Bb3:1 Bb3:1/2 C4:1/2 Bb3:1/4 C#7:3/4 Bb5:1 | Bb4:4 |"


def answer(
    *texts: str, factors: tuple[float, ...] = (0.8, 0.9, 0.95, 1.05, 1.1, 1.2)
) -> TempoAnswer:
    return answer_tempo(played(*texts), factors)


def tightest(text: str) -> float:
    return answer(text).places[0].headroom


def too_fast(score: PlayedScore) -> list[Finding]:
    """What the review calls too fast, one way or another."""
    speed = {name: item for name, item in all_checks().items() if name.endswith("-too-fast")}
    return list(run_checks(score, speed, raise_crashes=True).findings)


def review_headroom(finding: Finding) -> float:
    first = finding.evidence[0]
    return first.measured if first.quantity == "headroom" else first.limit / first.measured


def demo(level: str) -> PlayedScore:
    return mockcheck.play(mockcheck.load(DEMO / "harbour_at_dawn.mid"), DEMO / "brief.toml", level)


SCORES = {
    "run": lambda: played(semiquavers(200)),
    "arpeggios": lambda: played(semiquavers(180, "players=4 level=rehearsed", REACH)),
    "repeated": lambda: played(repeated(130)),
    "plucked": lambda: played(plucked(180)),
    "leap": lambda: played(leap(170)),
    "several parts": lambda: played(semiquavers(200), repeated(200), plucked(200)),
    "clean": lambda: played(semiquavers(60)),
    "demo at sight": lambda: demo("sight"),
    "demo solo": lambda: demo("solo"),
}


@pytest.mark.parametrize("name", SCORES)
def test_what_is_too_fast_as_written_is_what_the_review_says(name: str) -> None:
    score = SCORES[name]()
    reviewed = {
        (f.check, f.part, f.start.tick, f.pitches, round(review_headroom(f), 3))
        for f in too_fast(score)
    }
    parts = {part.name: part for part in score.parts}
    asked = {
        (
            place.check,
            place.part,
            place.start.tick,
            tuple(parts[place.part].notes.pitch[list(place.note_indices)].tolist()),
            round(place.headroom, 3),
        )
        for place in answer_tempo(score).places
        if not place.plays_at(1.0)
    }
    assert asked == reviewed


@pytest.mark.parametrize("text", [semiquavers, leap, plucked], ids=["run", "leap", "plucked"])
def test_a_place_plays_up_to_the_same_tempo_whatever_tempo_is_written(text) -> None:  # type: ignore[no-untyped-def]  # three builders of one shape
    tempos = {bpm: bpm * tightest(text(bpm)) for bpm in (150, 180, 240)}
    for bpm, limit in tempos.items():
        assert limit == pytest.approx(tempos[180], rel=2e-3), bpm


@pytest.mark.parametrize("level", list(Level))
def test_levels_differ_by_what_they_make_everything_longer(level: Level) -> None:
    fastest = {tempo.level: tempo for tempo in answer(semiquavers(120)).fastest}
    share = fastest[level].factor / fastest[Level.SOLO].factor
    assert share == pytest.approx(1 / level_factor(level))
    own = answer(semiquavers(120, f"players=8 level={level}"))
    tempo = next(tempo for tempo in own.fastest if tempo.level == level)
    assert tempo.factor == pytest.approx(fastest[level].factor)


def test_the_whole_cue_is_as_fast_as_its_slowest_part() -> None:
    texts = semiquavers(120), semiquavers(120, names=REACH), plucked(120)
    whole = answer(*texts)
    alone = [answer(text).fastest[0].factor for text in texts]
    assert whole.fastest[0].factor == pytest.approx(min(alone), rel=1e-6)
    slowest = whole.fastest[0].decided_by
    assert whole.places[0].part == slowest.part == whole.played.parts[alone.index(min(alone))].name


def test_plucking_sets_the_tempo_of_a_plucked_part_at_each_level() -> None:
    # The rates are those the review holds against plucked notes; eight quavers at 120 are 4 a
    # second.
    params = all_checks()["pizzicato-too-fast"].params()
    rate = dict.fromkeys(("sight", "rehearsed"), 1.0) | {"solo": params.solo_factor}
    for tempo in answer(plucked(120)).fastest:
        limit = params.double_bass_notes_per_s * rate[tempo.level]
        assert tempo.factor == pytest.approx(limit / 4, rel=1e-3)
        assert tempo.low == tempo.factor == tempo.high


@pytest.mark.parametrize("text", [semiquavers, repeated, plucked], ids=["run", "same", "plucked"])
def test_at_the_tempo_it_names_nothing_is_too_fast_and_just_above_something_is(text) -> None:  # type: ignore[no-untyped-def]  # three builders of one shape
    fastest = answer(text(150)).fastest[0].factor
    assert too_fast(played(text(150 * fastest * 0.995))) == []
    assert too_fast(played(text(150 * fastest * 1.006))) != []


def test_a_place_breaks_at_the_first_step_above_its_limit_and_only_there() -> None:
    bpm = 120 * tightest(semiquavers(120)) / 1.07
    steps = {step.factor: step for step in answer(semiquavers(bpm)).steps}
    assert steps[1.05].breaks == ()
    assert steps[1.05].too_fast == 0
    broken = steps[1.1].breaks
    assert len(broken) == 1
    assert broken[0].start.bar == 2
    assert broken[0].headroom == pytest.approx(1.07, abs=0.01)
    assert steps[1.2].breaks == ()
    assert steps[1.2].too_fast == 1


def test_a_plucked_place_breaks_too() -> None:
    bpm = 120 * tightest(plucked(120)) / 1.07
    steps = {step.factor: step for step in answer(plucked(bpm)).steps}
    assert [place.check for place in steps[1.1].breaks] == ["pizzicato-too-fast"]
    assert steps[1.05].breaks == ()


def test_a_place_opens_at_the_first_step_below_its_limit() -> None:
    bpm = 120 * tightest(semiquavers(120)) / 0.92
    steps = {step.factor: step for step in answer(semiquavers(bpm)).steps}
    assert steps[0.95].opens == ()
    assert steps[0.95].too_fast == 1
    assert len(steps[0.9].opens) == 1
    assert steps[0.9].too_fast == 0


def test_a_spot_with_two_limits_opens_only_when_both_allow() -> None:
    result = answer(repeated(150), factors=(0.5, 0.8, 0.85, 0.9))
    limits = sorted({place.headroom for place in result.places if not place.plays_at(1.0)})
    assert len(result.too_fast) == 1
    for step in result.steps:
        assert bool(step.opens) == (step.factor <= limits[0])


def test_the_rest_is_what_remains_when_the_worst_is_rewritten() -> None:
    bar = " ".join(f"{name}:1/2" for name in "C4 D4 E4 F4 G4 F4 E4 D4".split())
    run, calm = semiquavers(240), f"viola 4/4 players=6 | {bar} | {bar} | {bar} |"
    result = answer(run, calm)
    assert {place.part for place in result.too_fast} == {"Violin"}
    assert result.rest is not None
    assert result.rest.decided_by.part == "Viola"
    assert result.rest.factor == pytest.approx(answer(calm, factors=()).fastest[0].factor / 2)
    assert answer(semiquavers(60)).rest is None


@pytest.mark.parametrize("name", SCORES)
def test_what_is_left_is_no_slower_than_the_whole(name: str) -> None:
    score = SCORES[name]()
    result = answer_tempo(score)
    whole = {tempo.level: tempo.factor for tempo in result.fastest}[score.session.level]
    assert result.rest is None or result.rest.factor >= whole - 1e-6
    assert result.rest is None or result.too_fast
    # Checks of rates print two decimals.
    assert whole <= result.places[0].headroom * 1.002


def test_chords_after_a_run_stay_whole_when_the_run_is_set_aside() -> None:
    run = " ".join(f"{name}:1/8" for name in SCALE[:8])
    chords = " ".join(["G3+D4+B4+G5:1", "G3+E4+C5+G5:1"] * 6)
    result = answer(f"violin 4/4 q=120 players=8 | {run} A4:3 | {chords} |")
    assert result.rest is not None
    assert result.rest.factor > 1


def test_each_part_has_its_tightest_place_even_where_nothing_breaks() -> None:
    result = answer(semiquavers(60), repeated(40))
    assert {place.part for place in result.places} == {"Violin", "Viola"}
    assert all(place.headroom > 1.2 for place in result.places)


def test_steps_come_in_order_and_the_written_tempo_is_none() -> None:
    result = answer(semiquavers(100), factors=(1.3, 1.0, 0.9, 1.1, 1.1))
    assert [step.factor for step in result.steps] == [0.9, 1.1, 1.3]
    assert [step.bpm for step in result.steps] == pytest.approx([90, 110, 130])


def test_one_long_note_limits_nothing() -> None:
    result = answer("violin 4/4 q=100 | A4:4 |")
    assert result.places == ()
    assert result.fastest == ()
    assert all(step.too_fast == 0 for step in result.steps)


def test_a_patch_for_all_strings_is_named_and_not_judged() -> None:
    bar = " ".join(f"{name}:1/8" for name in SCALE)
    result = answer(f"Strings 4/4 q=200 program=48 | {bar} |", semiquavers(100))
    assert len(result.not_judged) == 1
    assert {place.part for place in result.places} == {"Violin"}


def test_the_curve_is_tight_where_the_place_is() -> None:
    result = answer(semiquavers(200))
    curve = result.curves[0]
    tight = curve.headroom < 1
    bar_ticks = 4 * 480
    assert curve.headroom.min() == pytest.approx(result.places[0].headroom, rel=1e-3)
    assert curve.onset_ticks[tight].min() >= bar_ticks
    assert curve.onset_ticks[tight].max() < 2 * bar_ticks
    assert curve.headroom[0] > 2


@given(st.floats(1.01, 1.6), st.sampled_from([SCALE, REACH]))
@settings(max_examples=15)
def test_what_breaks_at_a_step_is_what_the_review_finds_at_that_tempo(
    factor: float, names: list[str]
) -> None:
    text = semiquavers(110, names=names)
    limit = tightest(text)
    assume(abs(limit / factor - 1) > 0.01)
    (step,) = answer(text, factors=(factor,)).steps
    assert (step.too_fast > 0) == (too_fast(played(semiquavers(110 * factor, names=names))) != [])


@pytest.mark.parametrize("level", ["sight", "solo"])
def test_the_demo_plays_at_the_tempo_named_and_not_above_it(level: str) -> None:
    score = mockcheck.load(DEMO / "harbour_at_dawn.mid")
    tempos = {tempo.level: tempo for tempo in answer_tempo(demo(level)).fastest}
    first = score.tempo_map.bpm[0]
    for share, is_fine in ((0.99, True), (1.02, False)):
        bpm = first * tempos[Level(level)].factor * share
        retimed = mockcheck.play(retime(score, bpm), DEMO / "brief.toml", level)
        assert (too_fast(retimed) == []) == is_fine


@pytest.mark.parametrize("text", [semiquavers, repeated, plucked], ids=["run", "same", "plucked"])
def test_players_of_their_own_get_a_row_of_their_own_at_their_share(text) -> None:  # type: ignore[no-untyped-def]  # three builders of one shape
    session = Session(named_level=NamedLevel("school", 0.75))
    plain, own = (answer_tempo(played(text(150), session=one)) for one in (Session(), session))
    assert [tempo.level for tempo in own.fastest] == [*Level, "school"]
    sight, school = own.fastest[0], own.fastest[-1]
    # Checks round the rates that they print.
    assert school.factor == pytest.approx(0.75 * sight.factor, rel=1e-3)
    assert sight.factor == pytest.approx(plain.fastest[0].factor, rel=1e-3)
    assert min(place.headroom for place in own.places) == pytest.approx(school.factor, rel=1e-3)
