from pathlib import Path

import pytest

from mockcheck.config import BriefTable, SwitchTable, TrackTable, session_from_brief
from mockcheck.errors import BadBrief
from mockcheck.instruments import instrument_ids
from mockcheck.model.session import Session
from mockcheck.model.session_time import SessionTime
from mockcheck.pipeline import play
from mockcheck.read import load, read_bytes
from mockcheck.read.roles import assign_roles
from mockcheck.web.brief_form import (
    KEPT,
    Field,
    in_form_words,
    session_fields,
    session_time_fields,
    track_fields,
    values_from,
)
from mockcheck.web.track_rows import track_rows
from tests.phrases import midi_bytes

DEMO = Path(__file__).parent.parent.parent / "fixtures" / "demo"
SCORE = read_bytes(midi_bytes("Violin 1 4/4 q=100 | A4:4 |", "Cello 4/4 | C3:4 |"), "cue.mid")
FULL: dict[str, object] = {
    "level": "solo",
    "style": "romantic",
    "middle_c": "C3",
    "frame_rate": "25",
    "start_timecode": "01:00:00:00",
    "sections": "8.8.5.4.3",
    "players": {"Cello": 6},
    "tracks": [
        {"match": "Vio*", "instrument": "viola", "part": "Viola", "articulation": "spiccato"},
        {"match": "Violin 1", "bend_range_semitones": 2.5, "stays": True, "leave_out": False},
        {"match": 1, "switches": [{"controller": 32, "values": [0, 9], "articulation": "legato"}]},
    ],
    "checks": {"slides-overused": {"modern_per_100_joins": 5}},
    "session_time": {"reset_s": 30, "read_through": 1.5},
    "accept": [{"check": "run-too-fast", "part": "Cello", "bars": "all", "reason": "meant"}],
}


def rows_of(session: Session) -> list[dict[str, object]]:
    return track_rows(SCORE, session, play(SCORE, session))


def unchanged(values: dict[str, object], rows: list[dict[str, object]]) -> dict[str, str]:
    """What the form sends when nobody touches it."""
    fields = [*session_fields(values), *session_time_fields(values)]
    for row in rows:
        track = track_fields(row, ())
        fields += [*track.chief, *track.further, *track.switches]
    return {field.name: field.value for field in fields}


def test_the_form_asks_for_all_that_a_brief_can_say() -> None:
    asked = {field.name for field in session_fields({})}
    assert asked | {"tracks", "players", "session_time", *KEPT} == set(BriefTable.model_fields)
    track = track_fields(rows_of(Session())[1], ())
    names = {field.name.rpartition(".")[2] for field in (*track.chief, *track.further)}
    assert names | {"match", "switches"} == set(TrackTable.model_fields)
    times = {field.name.rpartition(".")[2] for field in session_time_fields({})}
    assert times == set(SessionTime.model_fields)


def test_a_level_and_a_style_that_the_brief_names_can_be_chosen() -> None:
    named = {"levels": {"school": {"like": "sight"}}, "styles": {"noir": {"like": "comic"}}}
    fields = {field.name: field for field in session_fields(named)}
    assert choices_of(fields["level"])[-1] == "school"
    assert choices_of(fields["style"])[-1] == "noir"
    assert values_from({"level": "school"}, (), named) == {"level": "school", **named}


def choices_of(field: Field) -> list[str]:
    return [value for value, _ in field.choices]


def test_choices_and_ranges_are_those_of_the_model() -> None:
    fields = {field.name: field for field in session_fields({})}
    assert choices_of(fields["level"]) == ["sight", "rehearsed", "solo"]
    assert (fields["tempo_bpm"].low, fields["tempo_bpm"].high) == (5, 600)
    track = track_fields(rows_of(Session())[1], ("Violin 1",))
    instrument, part, players, left_out = track.chief
    assert choices_of(instrument) == list(instrument_ids())
    assert instrument.empty == "as guessed: violin"
    assert choices_of(part) == ["Violin 1"]
    assert (players.kind, players.low, players.high) == ("number", 1, 200)
    assert choices_of(left_out) == ["yes", "no"]


def test_an_untouched_form_of_guesses_says_nothing() -> None:
    rows = rows_of(Session())
    assert values_from(unchanged({}, rows), rows, {}) == {}


def test_an_untouched_form_of_a_brief_says_the_same_as_the_brief() -> None:
    before = session_from_brief(FULL, "brief")
    rows = rows_of(before)
    values = values_from(unchanged(FULL, rows), rows, FULL)
    after = session_from_brief(values, "brief")
    for name in ("level", "style", "middle_c_octave", "frame_rate", "start_timecode", "sections"):
        assert getattr(after, name) == getattr(before, name)
    for name in ("check_params", "session_time", "accepted"):
        assert getattr(after, name) == getattr(before, name)
    assert assign_roles(SCORE, after.tracks) == assign_roles(SCORE, before.tracks)
    played = {part.name: part.players for part in play(SCORE, after).parts}
    assert played == {part.name: part.players for part in play(SCORE, before).parts}
    assert played["Cello"] == 6
    said = [row["said"] for row in track_rows(SCORE, after, play(SCORE, after))]
    assert said == [row["said"] for row in rows]
    assert [row["switches"] for row in rows_of(after)] == [row["switches"] for row in rows]


@pytest.mark.parametrize(
    ("answers", "table"),
    [
        ({"instrument": "viola"}, {"instrument": "viola"}),
        ({"players": "12"}, {"players": 12}),
        ({"bend_range_semitones": "2.5"}, {"bend_range_semitones": 2.5}),
        ({"leave_out": "yes", "stays": "no"}, {"leave_out": True, "stays": False}),
        ({"part": "  Violin 2 "}, {"part": "Violin 2"}),
        ({"part": "   "}, None),
        ({"colour": "blue"}, None),
    ],
)
def test_answers_become_what_a_brief_says(
    answers: dict[str, str], table: dict[str, object] | None
) -> None:
    rows = rows_of(Session())
    sent = {f"tracks.1.{name}": answer for name, answer in answers.items()}
    values = values_from(sent, rows, {})
    assert values.get("tracks") == (None if table is None else [{"match": "Violin 1"} | table])


def test_switches_that_were_found_can_be_named() -> None:
    score = load(DEMO / "harbour_at_dawn.mid")
    played = play(score)
    rows = track_rows(score, Session(), played)
    row = next(row for row in rows if row["switches"])
    fields = track_fields(row, ()).switches
    keys = [switch["trigger"]["key"] for switch in row["switches"]]
    choices = SwitchTable.model_json_schema()["properties"]["articulation"]["enum"]
    assert [choices_of(field) for field in fields] == [choices] * len(fields)
    values = values_from({fields[0].name: "spiccato"}, rows, {})
    (table,) = values["tracks"]
    assert table["switches"] == [{"key": keys[0], "articulation": "spiccato"}]
    session = session_from_brief(values, "brief")
    again = track_rows(score, session, play(score, session))[row["index"]]
    assert track_fields(again, ()).switches[0].value == "spiccato"


def test_a_switch_of_two_meanings_stays_as_it_is() -> None:
    meanings = [{"key": 24, "articulation": a} for a in ("spiccato", "con sordino")]
    brief = {"tracks": [{"match": "Violin 1", "switches": meanings}]}
    score = load(DEMO / "harbour_at_dawn.mid")
    session = session_from_brief(brief, "brief")
    rows = track_rows(score, session, play(score, session))
    row = next(row for row in rows if row["name"] == "Violin 1")
    (field,) = [f for f in track_fields(row, ()).switches if f.label.startswith("Switch 24")]
    assert dict(field.choices)[field.value] == "spiccato and con sordino"
    values = values_from(unchanged({}, rows), rows, {})
    assert values["tracks"][0]["switches"] == meanings


def test_a_fault_is_told_by_the_question_it_is_about() -> None:
    values = {"tempo_bpm": "quick", "tracks": [{"match": "Cello", "players": 0}]}
    with pytest.raises(BadBrief) as refused:
        session_from_brief(values, "brief")
    words = in_form_words(str(refused.value), values)
    assert "  - Tempo, quarters a minute: " in words
    assert "  - Track 'Cello', Players: " in words
    assert "row 1" not in words
