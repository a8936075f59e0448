from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from mockcheck.infer.headroom import level_factor
from mockcheck.model.session import Level, NamedLevel, Session
from mockcheck.plan.retempo import TempoAnswer, answer_tempo
from mockcheck.plots._ink import SMALL_PT
from mockcheck.plots.headroom import (
    HIGHEST,
    LOWEST,
    bpm_words,
    draw_headroom,
    interval_words,
    layout_headroom,
    save_headroom,
)
from tests.phrases import played
from tests.plots.drawn import sizes_of, texts_of, texts_off_the_page
from tests.report.synthetic import HOSTILE_NAME

SCALE = "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 D5 C#5 B4 A4 G4 F#4 E4".split()
CALM = "viola 4/4 players=6 | C4:2 D4:2 | E4:4 | r:4 | F4:2 E4:2 |"
PLUCKED = "double bass 4/4 program=45 players=3 | G2:4 | " + " ".join(["G2:1/2", "A2:1/2"] * 4)


def answer(bpm: float = 200, *more: str) -> TempoAnswer:
    bar = " ".join(f"{name}:1/4" for name in SCALE)
    return answer_tempo(played(f"violin 4/4 q={bpm} players=8 | D4:4 | {bar} | D4:4 |", *more))


def test_the_curve_is_the_tightest_movement_of_each_bar() -> None:
    result = answer()
    panel = layout_headroom(result).panels[0]
    by_bar = {column.left: column.value for column in panel.columns}
    assert min(by_bar, key=lambda bar: by_bar[bar]) == 2
    assert by_bar[2] == pytest.approx(result.places[0].headroom, rel=1e-3)
    assert by_bar[1] > 1


def test_bars_of_rest_are_left_out() -> None:
    panels = {panel.part: panel for panel in layout_headroom(answer(80, CALM)).panels}
    bars = [column.left for column in panels["Viola"].columns]
    assert 3 not in bars
    assert {1, 2} <= set(bars)


def test_levels_are_drawn_apart_by_what_they_take_longer() -> None:
    layout = layout_headroom(answer())
    assert [level for level, _ in layout.levels] == [Level.SIGHT, Level.REHEARSED, Level.SOLO]
    assert dict(layout.levels)[Level.SOLO] == pytest.approx(level_factor(Level.SIGHT))
    lines = {patch.get_linestyle() for patch in draw_headroom(layout).axes[0].patches}
    assert len(lines) >= 3


def test_each_place_too_fast_as_written_is_marked_and_explained() -> None:
    layout = layout_headroom(answer(200, PLUCKED))
    marks = [mark for panel in layout.panels for mark in panel.marks]
    assert sorted(mark.number for mark in marks) == [1, 2]
    assert all(2 <= mark.left <= mark.right <= 3 for mark in marks)
    assert len(layout.key) == 2
    assert "plucked notes" in " ".join(layout.key)
    assert all("plays up to quarter = " in line for line in layout.key)


def test_only_the_tightest_places_are_numbered() -> None:
    run = " ".join(f"{name}:1/8" for name in SCALE[:8])
    calm = " | ".join(["D4:1 E4:1 F#4:1 E4:1"] * 3)
    bars = " | ".join([f"({run} E5:1) r:2 | {calm}"] * 14)
    layout = layout_headroom(answer_tempo(played(f"violin 4/4 q=110 players=8 | {bars} |")))
    marks = layout.panels[0].marks
    assert len(marks) == 14
    assert sorted(mark.number for mark in marks)[-10:] == list(range(1, 11))
    assert layout.key[-1] == "and 4 more, listed in retempo.csv"
    assert texts_off_the_page(draw_headroom(layout)) == []


def test_a_cue_that_plays_says_so() -> None:
    layout = layout_headroom(answer(60))
    assert layout.key == ("Everything plays as written.",)
    assert not any(panel.marks for panel in layout.panels)
    assert "the whole cue plays up to quarter = " in layout.subtitle


def test_the_page_holds_all_its_letters_and_they_are_large_enough() -> None:
    figure = draw_headroom(layout_headroom(answer(200, PLUCKED, CALM)))
    assert texts_off_the_page(figure) == []
    assert {"Violin", "Viola", "Double Bass", "as written", "level sight", "bar"} <= set(
        texts_of(figure)
    )
    assert min(sizes_of(figure)) >= SMALL_PT


def test_what_lies_beyond_the_ordinate_is_drawn_on_its_edge() -> None:
    figure = draw_headroom(layout_headroom(answer(60, CALM)))
    for axes in figure.axes:
        assert axes.get_ylim() == (LOWEST, HIGHEST)


def test_hostile_names_frames_and_nothing_at_all_can_be_drawn() -> None:
    result = answer()
    parts = tuple(replace(part, name=HOSTILE_NAME) for part in result.played.parts)
    hostile = answer_tempo(replace(result.played, parts=parts))
    still = answer_tempo(played("violin 4/4 q=100 | A4:4 |"))
    for each in (hostile, still):
        figure = draw_headroom(layout_headroom(each))
        figure.canvas.draw()
        assert texts_off_the_page(figure) == []


def test_the_same_answer_gives_the_same_picture(tmp_path: Path) -> None:
    for name in ("first.png", "second.png"):
        save_headroom(answer(), tmp_path / name)
    assert (tmp_path / "first.png").read_bytes() == (tmp_path / "second.png").read_bytes()
    with Image.open(tmp_path / "first.png") as picture:
        assert round(picture.info["dpi"][0]) == 150


def test_an_interval_is_a_tempo_or_a_share() -> None:
    assert interval_words(0.8, 0.9, 100) == "quarter = 80-90"
    assert interval_words(0.8, 0.8, 100) == "quarter = 80"
    assert interval_words(0.8, 0.9, None) == "80%-90% of its speed"
    assert (bpm_words(125.0), bpm_words(132.5)) == ("125", "132.5")


def test_players_whom_the_brief_names_are_drawn_through_beside_the_three_levels() -> None:
    session = Session(named_level=NamedLevel("school", 0.5))
    bar = " ".join(f"{name}:1/4" for name in SCALE)
    text = f"violin 4/4 q=200 players=8 | D4:4 | {bar} | D4:4 |"
    layout = layout_headroom(answer_tempo(played(text, session=session)))
    assert [level for level, _ in layout.levels] == ["school", *Level]
    assert dict(layout.levels)["sight"] == pytest.approx(2)
    assert "at level school the whole cue plays up to" in layout.subtitle
    draw_headroom(layout)
