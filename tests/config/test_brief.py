import re
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.config import effective_values, read_brief, session_from_brief, session_from_file
from mockcheck.errors import BadBrief
from mockcheck.model.sections import SectionSizes
from mockcheck.model.session import Level, NamedLevel, NamedStyle, Session, Style


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
    for key in (
        "levle",
        "style",
        "tracks row 1.switches row 1.articulation",
        "tracks row 1.switches row 1.key",
    ):
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


KEYS = st.sampled_from(
    [*Session.__dataclass_fields__, "checks", "extends", "levels", "styles", "accept", "x"]
)


@given(st.dictionaries(KEYS, PLAIN))
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
        row: " ".join(line for line in lines if re.search(rf"accept row {row + 1}\b", line))
        for row in range(len(rows))
    }
    assert "reason: this key is required" in told[0]
    assert "accept row 2.reason" in told[1]
    assert "counted from 1" in told[2]
    assert "counted from 1" in told[3]
    assert "there is no such check" in told[4]
    assert "all three" in told[5]
    assert "all three" in told[6]
    assert "is not the id" in told[7]
    assert "there is no check 'ran-too-fast'" in told[8]
    assert "there is no such key" in told[9]


HOUSE = Path(__file__).parent.parent.parent / "fixtures" / "house"


def test_the_brief_of_a_class_holds_what_its_school_says() -> None:
    session = session_from_file(HOUSE / "class_brief.toml")
    assert session.named_level == NamedLevel("student orchestra", 0.75)
    assert session.named_style == NamedStyle("noir", slide_ms=450, slides_per_minute=20)
    assert session.sections == SectionSizes(10, 8, 6, 6, 2)
    assert session.check_params == {
        "slides-overused": {"modern_per_100_joins": 5, "least_slides": 4}
    }
    assert [(choice.match, choice.is_shared) for choice in session.tracks] == [
        ("Vln 1*", True),
        ("Vln 2*", True),
        ("Click*", True),
        ("Fiddles*", False),
    ]
    assert [accepted.is_shared for accepted in session.accepted] == [False]
    later = session_from_file(HOUSE / "class_brief.toml", "concert week")
    assert (later.level, later.tempo_share) == (Level.REHEARSED, 0.85)
    assert session_from_file(HOUSE / "school.toml").style_name == "modern"


def test_read_brief_gives_what_the_whole_chain_says() -> None:
    values = read_brief(HOUSE / "class_brief.toml")
    assert "extends" not in values
    assert session_from_brief(values, "brief").named_style == NamedStyle(
        "noir", slide_ms=450, slides_per_minute=20
    )


def chain_in(folder: Path, *texts: str) -> Path:
    """Briefs of which each extends the next; the first one's path."""
    names = [f"{number}.toml" for number in range(len(texts))]
    for name, after, text in zip(names, [*names[1:], ""], texts, strict=True):
        head = f'extends = "{after}"\n' if after else ""
        (folder / name).write_text(head + text, encoding="utf-8")
    return folder / names[0]


def faults_by_file(path: Path, level: str | None = None) -> dict[str, list[str]]:
    with pytest.raises(BadBrief) as caught:
        session_from_file(path, level)
    told: dict[str, list[str]] = {}
    for line in str(caught.value).splitlines():
        if line.startswith("  - "):
            told[list(told)[-1]].append(line.removeprefix("  - "))
        else:
            told[line] = []
    return told


def test_every_fault_of_every_file_is_told_at_once_with_file_and_key(tmp_path: Path) -> None:
    own = 'level = "schol"\n[[tracks]]\nmatch = "x"\nplayers = 0\n'
    house = '[styles.noir]\nslide_ms = 1\n[[tracks]]\n[[accept]]\nid = "x"\n'
    school = (
        'colour = 1\nstyle = "noir"\n[levels.school]\nlike = "sight"\ntempo_share = 75\n'
        "[players]\nViola = 0\n[checks.slides-overused]\nleast_slides = 0\n[checks.no-such]\n"
        '[[tracks]]\nmatch = 1\ninstrument = "lute"\n'
    )
    told = faults_by_file(chain_in(tmp_path, own, house, school))
    keys = {
        head: sorted(fault.partition(":")[0] for fault in faults) for head, faults in told.items()
    }
    assert keys == {
        "0.toml: the brief cannot be used:": ["level", "tracks row 1.players"],
        "1.toml, which 0.toml extends: the brief cannot be used:": [
            "accept row 1.id",
            "accept row 1.reason",
            "styles.noir.like",
            "styles.noir.slide_ms",
            "tracks row 1.match",
        ],
        "2.toml, which 1.toml extends: the brief cannot be used:": [
            "checks.no-such",
            "checks.slides-overused.least_slides",
            "colour",
            "levels.school.tempo_share",
            "players.Viola",
            "style",
            "tracks row 1",
        ],
    }


def test_a_fault_that_a_nearer_brief_hides_is_told_all_the_same(tmp_path: Path) -> None:
    told = faults_by_file(chain_in(tmp_path, 'level = "solo"', 'level = "asleep"'))
    assert list(told) == ["1.toml, which 0.toml extends: the brief cannot be used:"]


def test_a_fault_of_a_house_is_told_once_however_many_extend_it(tmp_path: Path) -> None:
    own = ['[levels.one]\nlike = "solo"', '[levels.two]\nlike = "solo"', 'level = "asleep"']
    told = faults_by_file(chain_in(tmp_path, *own))
    assert told == {
        "2.toml, which 1.toml extends: the brief cannot be used:": [
            "level: there is no level 'asleep'; choose one of: sight, rehearsed, solo"
        ]
    }


def test_a_fault_that_only_two_briefs_make_together_is_told(tmp_path: Path) -> None:
    house = 'frame_rate = "30"\nstart_timecode = "01:00:00:29"\n'
    told = faults_by_file(chain_in(tmp_path, 'frame_rate = "24"', house))
    assert [fault.partition(":")[0] for faults in told.values() for fault in faults] == [
        "start_timecode"
    ]


def test_a_nearer_brief_may_finish_a_level_that_the_house_names(tmp_path: Path) -> None:
    house = '[levels.school]\nlike = "rehearsed"\ntempo_share = 0.6\n'
    own = 'level = "school"\n[levels.school]\ntempo_share = 0.7\n'
    session = session_from_file(chain_in(tmp_path, own, house))
    assert (session.level, session.tempo_share) == (Level.REHEARSED, 0.7)


def test_values_that_come_without_a_file_read_none(tmp_path: Path) -> None:
    (tmp_path / "house.toml").write_text('level = "solo"', encoding="utf-8")
    with pytest.raises(BadBrief, match="only a brief that is given as a file") as caught:
        session_from_brief({"extends": str(tmp_path / "house.toml"), "colour": 1}, "brief")
    assert "colour" in str(caught.value)


TEXTS = st.lists(
    st.sampled_from(
        [
            'level = "school"',
            'level = "solo"',
            "level = 3",
            'style = "noir"',
            "extends = 3",
            'extends = "2.toml"',
            'extends = "none.toml"',
            "levels = 3",
            "accept = 3",
            "tracks = 3",
            "tracks = {}",
            'tracks = [{match = "x"}, {match = "y", players = 0}]',
            "accept = [{}]",
            "players = {Viola = 3}",
            "players = [3]",
            "frame_rate = 25",
            'start_timecode = "01:00:00:30"',
            "[levels]\nschool = 3",
            '[levels.school]\nlike = "sight"',
            "[levels.school]\ntempo_share = nan",
            '[levels."a.b"]\nlike = 1979-05-27',
            '[levels."\\u001b[2J"]\nlike = "solo"',
            '[styles.noir]\nlike = "comic"\nslide_ms = inf',
            "[[styles]]\nlike = 3",
            "[checks.slides-overused]\nleast_slides = 2",
            "[checks.slides-overused]\nleast_slides = [2]",
            "[checks]\nslides-overused = 3",
            '[[tracks]]\nmatch = "y"\n[[tracks.switches]]\nkey = 999',
            "[[accept]]\nreason = 3\nbars = [1]",
            "colour = {a = [{b = 1}]}",
            "\x00",
            "é = = 1",
        ]
    ),
    max_size=5,
).map("\n".join)


@given(st.lists(TEXTS, min_size=1, max_size=3))
@settings(max_examples=200)
def test_any_chain_of_texts_makes_a_session_or_a_clear_error(texts: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = chain_in(Path(folder), *texts)
        complaint = "0.toml"
        try:
            session_from_file(path)
        except BadBrief as error:
            complaint = str(error)
    assert ".toml" in complaint.splitlines()[0]
    assert complaint.replace("\n", "").isprintable()
