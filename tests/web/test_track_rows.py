import pytest

from mockcheck.config import session_from_brief
from mockcheck.errors import BadBrief
from mockcheck.model.session import Session, TrackChoice
from mockcheck.pipeline import play
from mockcheck.read import read_bytes
from mockcheck.read.roles import assign_roles
from mockcheck.web.track_rows import track_rows
from tests.web.asking import named_tracks


@pytest.mark.parametrize(
    "names",
    [
        ["Violin 1", "Violin 2", "Viola"],
        ["Violin", "violin", "VIOLIN"],
        ["Vln [legato]", "Vln l", "Vln*", "Vln 1"],
        ["1", "0", "Cello", "2"],
        ["Violin\x07", "Violin?", "Violin\u202e"],
        ["*", "?", "Viola *"],
    ],
)
def test_a_row_is_called_what_brings_it_back_alone(names: list[str]) -> None:
    score = read_bytes(named_tracks(names), "cue.mid")
    rows = track_rows(score, Session(), None)
    for row in rows:
        choice = TrackChoice(str(row["match"]), leave_out=True)
        roles = assign_roles(score, (choice,))
        assert roles[row["index"]].left_out is not None
        hit = [role.index for role in roles if role.evidence == "named in the brief"]
        # A number is also the name of another row in one of these files; then both are meant.
        allowed = {row["index"]} | {i for i, name in enumerate(names) if name == str(row["match"])}
        assert row["index"] in hit
        assert set(hit) <= allowed


def test_a_name_is_kept_for_the_next_version_of_the_file() -> None:
    score = read_bytes(named_tracks(["Violin 1", "Violin 1", "Cello"]), "cue.mid")
    assert [row["match"] for row in track_rows(score, Session(), None)] == [0, 1, "Cello"]


def test_the_guess_is_shown_beside_what_the_brief_says() -> None:
    score = read_bytes(named_tracks(["Violin 1", "Harp"]), "cue.mid")
    brief = {"tracks": [{"match": "Violin 1", "instrument": "viola", "players": 4}]}
    session = session_from_brief(brief, "brief")
    first, second = track_rows(score, session, play(score, session))
    assert first["guess"]["instrument"] == "violin"
    assert first["said"] == {"instrument": "viola", "players": 4}
    assert first["now"]["words"].endswith("(viola), 4 players")
    assert first["now"]["sure"].startswith("100 %")
    assert second["now"]["words"] == "left out: the name says harp"


def test_a_brief_about_a_track_that_is_not_there_is_refused() -> None:
    score = read_bytes(named_tracks(["Violin 1"]), "cue.mid")
    session = session_from_brief({"tracks": [{"match": "Oboe"}]}, "brief")
    with pytest.raises(BadBrief, match="no track matches 'Oboe'"):
        track_rows(score, session, None)
