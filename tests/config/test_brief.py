from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.config import effective_values, read_brief, session_from_brief
from mockcheck.errors import BadBrief
from mockcheck.model.sections import SectionSizes
from mockcheck.model.session import Level, Session, Style


def test_an_empty_brief_is_the_default_session() -> None:
    assert session_from_brief({}, "brief") == Session()


def test_a_whole_brief_is_understood(tmp_path: Path) -> None:
    path = tmp_path / "brief.toml"
    path.write_text(
        """
        level = "rehearsed"
        style = "romantic"
        middle_c = "C3"
        [players]
        "Violin 1" = 12
        [[tracks]]
        match = "Vln 1*"
        part = "Violin 1"
        instrument = "violin"
        [[tracks.switches]]
        key = 24
        articulation = "spiccato"
        [[tracks.switches]]
        controller = 32
        values = [0, 20]
        articulation = "legato"
        [[tracks.switches]]
        program = 46
        articulation = "pizzicato"
        [[tracks]]
        match = 4
        leave_out = true
        [checks.slides-overused]
        modern_per_100_joins = 5
        """
    )
    session = session_from_brief(read_brief(path), "brief.toml")
    assert (session.level, session.style, session.middle_c_octave) == (
        Level.REHEARSED,
        Style.ROMANTIC,
        3,
    )
    first, second = session.tracks
    assert [switch.articulation for switch in first.switches] == ["spiccato", "legato", "pizzicato"]
    assert (first.switches[1].low, first.switches[1].high) == (0, 20)
    assert first.switches[2].program == 45  # 1-based in the brief, as General MIDI prints them
    assert (second.match, second.leave_out) == ("4", True)
    assert session.check_params == {"slides-overused": {"modern_per_100_joins": 5}}
    assert effective_values(session, {"Violin 1": 12})["players"] == {"Violin 1": 12}


def test_sections_are_read_as_a_booking_or_by_name() -> None:
    assert session_from_brief({"sections": "8-8-5-4-3"}, "brief").sections == SectionSizes(
        8, 8, 5, 4, 3
    )
    by_name = session_from_brief({"sections": "string quartet"}, "brief").sections
    assert by_name == SectionSizes(1, 1, 1, 1, 0)


@pytest.mark.parametrize("wrong", ["8.8.5.4", "sextet", 28, [8, 8, 5, 4, 3]])
def test_sections_that_are_no_booking_are_named_with_other_faults(wrong: object) -> None:
    with pytest.raises(BadBrief) as caught:
        session_from_brief({"sections": wrong, "style": "baroque"}, "brief")
    assert "sections" in str(caught.value)
    assert "8.8.5.4.3" in str(caught.value)
    assert "style" in str(caught.value)


def test_a_track_may_stay_or_not() -> None:
    brief = {
        "tracks": [
            {"match": "Harp", "stays": True},
            {"match": "Choir", "stays": False},
            {"match": "Viola"},
        ]
    }
    session = session_from_brief(brief, "brief")
    assert [choice.stays for choice in session.tracks] == [True, False, None]
    assert effective_values(session, {})["tracks"][0]["stays"] is True
    assert "stays" not in effective_values(session, {})["tracks"][2]


def test_every_fault_is_named_at_once() -> None:
    brief = {
        "levle": "sight",
        "style": "baroque",
        "players": {"Viola": 0},
        "tracks": [{"match": "x", "switches": [{"articulation": "spicc", "key": 300}]}],
    }
    with pytest.raises(BadBrief) as caught:
        session_from_brief(brief, "my.toml")
    text = str(caught.value)
    assert text.startswith("my.toml")
    for key in ("levle", "style", "tracks.0.switches.0.articulation", "tracks.0.switches.0.key"):
        assert key in text


@pytest.mark.parametrize(
    ("brief", "words"),
    [
        ({"players": {"Viola": 0}}, "Viola"),
        ({"tracks": [{"match": "x", "instrument": "violone"}]}, "violin"),
        ({"tracks": [{"match": "x", "switches": [{"articulation": "legato"}]}]}, "exactly one"),
        ({"tracks": [{}]}, "required"),
        ({"checks": {"no-such-check": {}}}, "no-such-check"),
        ({"checks": {"slides-overused": {"modern_per_100_joins": -1}}}, "modern_per_100_joins"),
        ({"checks": {"slides-overused": {"modern": 1}}}, "no such key"),
        ({"frame_rate": "26"}, "frame_rate"),
        ({"start_timecode": "01:00:00:00"}, "needs a frame_rate"),
        ({"frame_rate": "25", "start_timecode": "01:00:00:25"}, "frames at 24"),
        ({"level": "perfect"}, "sight"),
    ],
)
def test_a_fault_says_what_is_allowed(brief: dict[str, object], words: str) -> None:
    with pytest.raises(BadBrief, match=words):
        session_from_brief(brief, "brief.toml")


def test_a_missing_or_broken_brief_is_named(tmp_path: Path) -> None:
    with pytest.raises(BadBrief, match="no such brief"):
        read_brief(tmp_path / "none.toml")
    broken = tmp_path / "broken.toml"
    broken.write_text("level = ")
    with pytest.raises(BadBrief, match=r"broken\.toml: this is not TOML"):
        read_brief(broken)
    broken.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadBrief, match="UTF-8"):
        read_brief(broken)


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=8,
)


@given(st.dictionaries(st.sampled_from([*Session.__dataclass_fields__, "checks", "x"]), PLAIN))
def test_any_values_make_a_session_or_a_clear_error(brief: dict[str, object]) -> None:
    complaint = "brief.toml"
    try:
        session_from_brief(brief, "brief.toml")
    except BadBrief as error:
        complaint = str(error)
    assert complaint.startswith("brief.toml")


def test_what_is_accepted_is_read_by_id_or_by_place_and_shown_in_force() -> None:
    rows: list[dict[str, Any]] = [
        {"id": "run-too-fast-3fdc0e16d05901f8ab", "reason": "the solo"},
        {"check": "slides-overused", "part": "Viola", "bars": "12-14, 20", "reason": "comic"},
        {"check": "slides-overused", "part": "*", "bars": 7, "reason": "comic"},
        {"check": "stroke-unclear", "part": "Cello", "bars": "all", "reason": "known"},
    ]
    session = session_from_brief({"accept": rows}, "brief")
    by_id, some, one, every = session.accepted
    assert (by_id.id, by_id.reason, by_id.bars) == (rows[0]["id"], "the solo", None)
    assert (some.bars, one.bars) == (frozenset({12, 13, 14, 20}), frozenset({7}))
    assert every.bars is None
    shown = effective_values(session, {})["accept"]
    assert shown == [rows[0], rows[1], {**rows[2], "bars": "7"}, rows[3]]


def test_every_fault_of_what_is_accepted_is_told_at_once() -> None:
    place = {"check": "slides-overused", "part": "Viola", "bars": 12}
    rows: list[dict[str, object]] = [
        place,
        {**place, "reason": "  "},
        {**place, "reason": "x", "bars": "12 to 14"},
        {**place, "reason": "x", "bars": True},
        {**place, "reason": "x", "check": "slides-over-used"},
        {"reason": "x", "check": "slides-overused", "part": "Viola"},
        {"reason": "x", "id": "run-too-fast-3fdc0e16d05901f8ab", "part": "Viola"},
        {"reason": "x", "id": "run-too-fast"},
        {"reason": "x", "id": "ran-too-fast-3fdc0e16d05901f8ab"},
        {"reason": "x", "bar": 3},
    ]
    with pytest.raises(BadBrief) as caught:
        session_from_brief({"accept": rows}, "session.toml")
    lines = str(caught.value).splitlines()[1:]
    told = {
        row: " ".join(line for line in lines if f"accept.{row}" in line) for row in range(len(rows))
    }
    assert "reason: this key is required" in told[0]
    assert "accept.1.reason" in told[1]
    assert "counted from 1" in told[2]
    assert "counted from 1" in told[3]
    assert "there is no such check" in told[4]
    assert "all three" in told[5]
    assert "all three" in told[6]
    assert "is not the id" in told[7]
    assert "there is no check 'ran-too-fast'" in told[8]
    assert "there is no such key" in told[9]
