import json
import re

import pytest

from mockcheck.model.session_time import SessionTime
from mockcheck.plan.minutes import SessionPlan, cue_of, plan_session
from mockcheck.plan.rehearsal import plan_rehearsal
from mockcheck.report.rehearsal import SCHEMA, render_rehearsal, render_rehearsal_json
from tests.plan.cues import bars_of, demo, review_of
from tests.report.synthetic import HOSTILE_NAME

USUAL = SessionTime()


def session(*reviews: object, assumed: SessionTime = USUAL) -> SessionPlan:
    return plan_session([cue_of(plan_rehearsal(r), assumed) for r in reviews], assumed)  # type: ignore[arg-type]  # reviews


def flat(text: str) -> str:
    return " ".join(text.split())


def test_each_spot_names_bars_who_trouble_clicks_and_seconds() -> None:
    plan = session(demo())
    text = flat(render_rehearsal(plan))
    for exercise in plan.entries[0].cue.rehearsal.exercises:
        spot = exercise.spot
        bars = f"{spot.first_bar_index + 1}-{spot.last_bar_index + 1}"
        bars = bars if spot.last_bar_index > spot.first_bar_index else bars.split("-")[0]
        names = ", ".join(part.part for part in spot.parts)
        assert re.search(rf"{exercise.number}\. bars? {bars}: {names} \(waiting: ", text)
        for part in spot.parts:
            for finding in part.findings[:3]:
                assert flat(finding.message) in text
        clicks = ", ".join(f"{rung.click_bpm:.0f}" for rung in exercise.ladder.rungs)
        seconds = " + ".join(f"{rung.seconds:.0f}" for rung in exercise.ladder.rungs)
        assert f"quarter = {clicks}; {seconds} s" in text


def test_what_is_to_be_changed_is_said_once_a_trouble_with_all_its_bars() -> None:
    plan = session(review_of("viola 4/4 q=80 players=6 | B2:4 | C4:4 | C4:4 | C4:4 | B2:4 |"))
    text = flat(render_rehearsal(plan))
    assert text.count("the viola ends at C3") == 1
    assert "Viola, bars 1, 5: " in text
    assert "(the first of 2)" in text


def test_a_place_that_even_a_soloist_misses_is_not_promised() -> None:
    text = flat(render_rehearsal(session(review_of(bars_of("rest run calm", q=500)))))
    assert "Too fast even for a soloist; read at sight it goes up to quarter = " in text
    fair = flat(render_rehearsal(session(review_of(bars_of("rest run calm", q=180)))))
    assert "Too fast even for a soloist" not in fair
    limit = float(fair.split("at sight it goes up to quarter = ")[1].split(";")[0])
    assert 90 < limit < 180


def test_calm_music_says_that_there_is_nothing_to_rehearse() -> None:
    text = render_rehearsal(session(review_of(bars_of("calm calm", q=80))))
    assert "cue.mid: 0 spots to rehearse alone." in text
    assert "To be changed" not in text
    assert "in this order" not in text


def test_every_assumption_is_printed() -> None:
    odd = {
        name: round(getattr(USUAL, name) * 1.1 + 0.013, 3)
        for name in SessionTime.model_fields
        if name not in ("slips_quick",)
    }
    assumed = SessionTime(**odd)
    text = render_rehearsal(session(demo(), assumed=assumed))
    for name in SessionTime.model_fields:
        assert f"{getattr(assumed, name):g}" in text, name


def test_several_cues_have_a_timetable_and_a_risk() -> None:
    one = render_rehearsal(session(demo()))
    assert "The session: " not in one
    hour = SessionTime(hour_min=10, break_min=5, set_up_min=2)
    two = flat(render_rehearsal(session(demo(), demo(), assumed=hour)))
    assert "The session: " in two
    assert "after 2 min: harbour_at_dawn.mid" in two
    assert "break" in two
    assert "The risk is harbour_at_dawn.mid" in two


@pytest.mark.parametrize("width", [60, 80, 100])
def test_lines_keep_to_the_width(width: int) -> None:
    lines = render_rehearsal(session(demo()), width).splitlines()
    assert max(map(len, lines)) <= width


def test_hostile_names_command_nothing() -> None:
    brief = {"tracks": [{"match": "*", "part": HOSTILE_NAME, "instrument": "violin"}]}
    plan = session(review_of(bars_of("rest run calm"), brief=brief))
    for text in (render_rehearsal(plan), render_rehearsal_json(plan)):
        assert all(c.isprintable() or c == "\n" for c in text)


def test_json_refers_to_findings_and_adds_up() -> None:
    review = demo()
    document = json.loads(render_rehearsal_json(session(review)))
    assert document["schema"] == SCHEMA
    (cue,) = document["cues"]
    ids = {finding.id for finding in review.findings}
    named = [f["id"] for spot in cue["spots"] for part in spot["parts"] for f in part["findings"]]
    named += [f["id"] for f in cue["to_change"]]
    assert named
    assert set(named) <= ids
    order = document["session"]["order"]
    assert len(order) == 1
    assert document["session"]["risk"] == 0
    for spot in cue["spots"]:
        for one in spot["passes"]:
            assert one["seconds"] > one["count_in_s"] > 0
