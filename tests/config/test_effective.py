import json

from mockcheck.config import effective_values, session_from_brief
from mockcheck.model.session import Session


def test_without_names_of_its_own_a_brief_shows_what_it_always_showed() -> None:
    shown = effective_values(Session(), {"Viola": 6})
    assert shown == {
        "level": "sight",
        "style": "modern",
        "middle_c": "C4",
        "tempo_bpm": None,
        "frame_rate": None,
        "start_timecode": None,
        "players": {"Viola": 6},
        "tracks": [],
        "checks": {},
        "accept": [],
    }


def test_names_stand_beside_the_level_and_style_that_they_are_like() -> None:
    brief = {
        "level": "school",
        "style": "noir",
        "levels": {"school": {"like": "rehearsed", "tempo_share": 0.8}},
        "styles": {"noir": {"like": "comic", "slide_ms": 900}},
    }
    shown = effective_values(session_from_brief(brief, "brief"), {})
    assert (shown["level"], shown["level_name"], shown["tempo_share"]) == (
        "rehearsed",
        "school",
        0.8,
    )
    assert (shown["style"], shown["style_name"], shown["slide_ms"]) == ("comic", "noir", 900)
    assert "slides_per_minute" not in shown
    assert json.loads(json.dumps(shown)) == shown


def test_whether_a_row_is_shared_is_nobody_elses_business() -> None:
    session = session_from_brief({"tracks": [{"match": "x"}]}, "brief")
    assert effective_values(session, {})["tracks"] == [{"match": "x", "switches": []}]
