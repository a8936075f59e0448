import json
from dataclasses import replace

import pytest

from mockcheck.model.played import PlayedScore
from mockcheck.model.session import NamedLevel, Session
from mockcheck.plan.retempo import TempoAnswer, answer_tempo
from mockcheck.report.retempo import (
    RETEMPO_COLUMNS,
    SCHEMA,
    render_retempo,
    render_retempo_json,
    retempo_table,
)
from tests.phrases import played
from tests.report.synthetic import HOSTILE_NAME, frames_timeline

SCALE = "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 D5 C#5 B4 A4 G4 F#4 E4".split()
CALM = "viola 4/4 players=6 | C4:2 D4:2 | E4:2 F4:2 | G4:2 F4:2 |"


def semiquavers(bpm: float) -> str:
    bar = " ".join(f"{name}:1/4" for name in SCALE)
    return f"violin 4/4 q={bpm} players=8 | D4:4 | {bar} | D4:4 |"


def answer(bpm: float, *more: str, factors: tuple[float, ...] = (0.8, 1.05, 1.2)) -> TempoAnswer:
    return answer_tempo(played(semiquavers(bpm), *more), factors)


def with_timeline(score: PlayedScore, **changes: object) -> PlayedScore:
    """The same notes under another time line."""
    timeline = replace(score.score.timeline, **changes)  # type: ignore[arg-type]  # fields by name
    return replace(
        score,
        score=replace(score.score, timeline=timeline),
        parts=tuple(replace(part, timeline=timeline) for part in score.parts),
    )


def number_after(text: str, words: str) -> float:
    return float(text.split(words)[1].split()[0].rstrip(".,;"))


def test_the_first_line_says_whether_it_plays_and_where_not() -> None:
    assert "phrase.mid: too fast as written, in 1 place of 1 part." in render_retempo(answer(200))
    assert "phrase.mid: plays as written." in render_retempo(answer(80))
    still = answer_tempo(played("violin 4/4 q=100 | A4:4 |"))
    assert "phrase.mid: nothing here limits the tempo." in render_retempo(still)


def test_each_level_has_its_tempo_as_an_interval() -> None:
    result = answer(200, CALM)
    lines = render_retempo(result).splitlines()
    for tempo in result.fastest:
        line = next(line for line in lines if line.startswith(f"  {tempo.level}"))
        low, high = round(200 * tempo.low), round(200 * tempo.high)
        assert low < high
        assert f"quarter = {low}-{high} ({tempo.factor:.0%})" in line
        assert "Violin, bar 2" in line


def test_a_place_names_bars_tempo_and_what_decides() -> None:
    result = answer(200)
    place = result.places[0]
    text = " ".join(render_retempo(result).split())
    low, high = round(200 * place.headroom_low), round(200 * place.headroom_high)
    assert f"Violin, bar 2, beat 1: plays up to quarter = {low}-{high}" in text
    assert f"({place.headroom:.0%}), written 200; what decides: {place.binding}" in text


def test_steps_say_what_breaks_and_share_a_line_where_nothing_does() -> None:
    bpm = 120 * answer(120).places[0].headroom / 1.1
    text = render_retempo(answer(bpm, factors=(1.02, 1.05, 1.2)))
    # Two steps below the limit, one above it.
    quiet = f"+2% to +5%, quarter = {bpm * 1.02:.1f}-{bpm * 1.05:.1f}: everything plays"
    assert quiet.replace(".0", "") in text.replace(".0", "")
    assert "+20%" in text
    assert "breaks Violin, bar 2, beat 1 (goes up to +" in text


def test_slower_steps_say_what_opens_and_what_is_left() -> None:
    bpm = 120 * answer(120).places[0].headroom / 0.85
    text = render_retempo(answer(bpm, factors=(0.8, 0.95)))
    assert "-5%" in text
    assert "opens nothing; 1 place still too fast" in text
    assert "-20%" in text
    assert "everything plays" in text.split("-20%")[1]


def test_a_part_with_room_to_spare_takes_no_line() -> None:
    text = render_retempo(answer(80, CALM))
    assert "With room to spare:" in text
    assert "Viola, bar" not in text.split("The tightest places")[-1].split("With room")[0]


def fourteen_runs(bpm: float) -> TempoAnswer:
    run = " ".join(f"{name}:1/8" for name in SCALE[:8])
    calm = " | ".join(["D4:1 E4:1 F#4:1 E4:1"] * 3)
    bars = " | ".join([f"({run} E5:1) r:2 | {calm}"] * 14)
    return answer_tempo(played(f"violin 4/4 q={bpm} players=8 | {bars} |"), (1.2,))


def test_many_places_are_counted_and_not_all_named() -> None:
    result = fourteen_runs(110)
    text = render_retempo(result)
    assert "in 14 places of 1 part" in text
    assert text.count("what decides: ") == 12
    assert "and 2 more places; --format csv lists every one" in text
    assert len(retempo_table(result)) == 14


def test_many_places_that_break_are_named_by_their_bars() -> None:
    result = fourteen_runs(90)
    assert len(result.steps[0].breaks) == 14
    said = render_retempo(result).split("+20%")[1]
    assert "breaks Violin, bars 1, 5, 9, 13, 17, 21, 25, 29 ..." in " ".join(said.split())


@pytest.mark.parametrize("width", [60, 80, 100])
def test_no_line_is_wider_than_the_screen(width: int) -> None:
    lines = render_retempo(answer(200, CALM), width).splitlines()
    assert max(map(len, lines)) <= width


def test_a_file_without_a_tempo_says_what_was_assumed() -> None:
    score = played(semiquavers(120))
    tempo = replace(score.score.timeline.tempo, assumed=True)
    assumed = with_timeline(score, tempo=tempo)
    assert "The file names no tempo" in render_retempo(answer_tempo(assumed))
    said = replace(assumed, session=Session(tempo_bpm=120))
    assert "is from the brief" in render_retempo(answer_tempo(said))


def test_several_tempos_scale_alike_and_it_says_so() -> None:
    score = played(semiquavers(100))
    tempo = replace(score.score.timeline.tempo, bpm=(100.0, 125.0))
    text = " ".join(render_retempo(answer_tempo(with_timeline(score, tempo=tempo))).split())
    assert "'quarter =' is the first tempo, written 100; the others scale alike." in text


def test_a_file_that_counts_frames_is_told_in_shares() -> None:
    timeline = frames_timeline()
    score = played(semiquavers(200))
    counted = with_timeline(score, tempo=timeline.tempo, meter=None)
    result = answer_tempo(counted)
    text = render_retempo(result)
    assert "The file counts frames" in text
    assert "of its speed" in text
    assert "quarter" not in text
    record = json.loads(render_retempo_json(result))
    assert record["written"]["first_bpm"] is None
    assert retempo_table(result)["plays_to_bpm"].isna().all()


def test_a_patch_for_all_strings_is_named() -> None:
    text = render_retempo(answer(80, "Strings 4/4 program=48 | A4:2 B4:2 |"))
    assert "Not judged: Strings" in text


def test_the_table_has_a_row_for_each_place_tightest_first() -> None:
    bpm = 120 * answer(120).places[0].headroom / 1.1
    result = answer(bpm, CALM, factors=(0.9, 1.05, 1.2))
    table = retempo_table(result)
    assert list(table.columns) == list(RETEMPO_COLUMNS)
    assert table["part"].tolist() == ["Violin", "Viola"]
    assert table["headroom"].is_monotonic_increasing
    assert table["start_bar"].iloc[0] == 2
    assert table["plays_to_bpm"].iloc[0] == pytest.approx(bpm * 1.1, rel=1e-3)
    assert table["too_fast_from_percent"].iloc[0] == 20
    assert table["too_fast_from_percent"].isna().iloc[1]
    assert retempo_table(answer(240))["too_fast_from_percent"].iloc[0] == 0


def test_json_carries_every_figure_and_refers_to_places_by_row() -> None:
    bpm = 120 * answer(120).places[0].headroom / 1.1
    result = answer(bpm, CALM, factors=(0.9, 1.2))
    record = json.loads(render_retempo_json(result))
    assert record["schema"] == SCHEMA
    assert record["plays_as_written"] is True
    assert [item["level"] for item in record["fastest"]] == ["sight", "rehearsed", "solo"]
    assert record["fastest"][0]["first_bpm"] == pytest.approx(bpm * 1.1, rel=1e-3)
    broken = record["steps"][1]["breaks"]
    assert [record["places"][row]["part"] for row in broken] == ["Violin"]
    assert record["steps"][0] == {
        "factor": 0.9, "first_bpm": pytest.approx(bpm * 0.9, rel=1e-3), "too_fast": 0,
        "breaks": [], "opens": [],
    }  # fmt: skip
    assert record["rest"] is None


def test_the_same_answer_gives_the_same_bytes() -> None:
    assert render_retempo_json(answer(200, CALM)) == render_retempo_json(answer(200, CALM))


def test_names_from_the_file_command_neither_terminal_nor_spreadsheet() -> None:
    score = played(semiquavers(200))
    parts = tuple(replace(part, name=HOSTILE_NAME) for part in score.parts)
    hostile = replace(
        score, parts=parts, score=replace(score.score, file=f"/home/x/{HOSTILE_NAME}")
    )
    result = answer_tempo(hostile)
    text = render_retempo(result)
    assert "\x1b" not in text
    assert "/home" not in text
    assert retempo_table(result)["part"].iloc[0].startswith("'=")
    assert "\\u001b" not in render_retempo_json(result)


def test_players_whom_the_brief_names_have_a_line_and_a_record_of_their_own() -> None:
    session = Session(named_level=NamedLevel("student orchestra", 0.75))
    result = answer_tempo(played(semiquavers(200), CALM, session=session), (0.8,))
    text = render_retempo(result, 200)
    assert (
        "level student orchestra: like a section that reads at sight, at 75% of the tempo" in text
    )
    rows = [line.partition("quarter")[0] for line in text.splitlines() if "what decides is" in line]
    names = ["sight", "rehearsed", "solo", "student orchestra", "the rest"]
    assert [row.strip() for row in rows] == names
    assert len({len(row) for row in rows}) == 1
    document = json.loads(render_retempo_json(result))
    assert document["level"] == document["fastest"][3]["level"] == "student orchestra"
