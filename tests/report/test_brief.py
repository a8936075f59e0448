import tomllib

from mockcheck.model.session import Session, Switch, TrackChoice
from mockcheck.report.brief import render_brief
from tests.phrases import played


def test_every_row_and_guess_is_written_down() -> None:
    score = played("Vln 1 spicc 4/4 q=100 | A4:4 |", "flute 4/4 | A5:4 |", "cello 4/4 | C3:4 |")
    values = tomllib.loads(render_brief(score))
    assert values["players"] == {part.name: part.players for part in score.parts}
    assert [row["match"] for row in values["tracks"]] == [0, 1, 2, 3]
    assert values["tracks"][1]["articulation"] == "spiccato"
    assert values["tracks"][2]["leave_out"] is True
    assert values["tracks"][3]["instrument"] == "cello"


def test_switches_that_are_named_stay_named_and_found_ones_are_ready_to_be() -> None:
    music = "violin 4/4 q=100 | 24:1/8 A4:7/8 24:1/8 B4:7/8 26:1/8 C5:7/8 26:1/8 D5:7/8 |"
    choice = TrackChoice(match="violin", switches=(Switch("legato", key=24),))
    text = render_brief(played(music, session=Session(tracks=(choice,))))
    values = tomllib.loads(text)
    assert values["tracks"][1]["switches"] == [{"key": 24, "articulation": "legato"}]
    assert "# key = 26" in text


def test_an_assumed_bend_range_is_written_down_to_be_corrected() -> None:
    text = render_brief(played("violin 4/4 q=100 | A4:4 |"))
    assert "bend_range_semitones" not in text
