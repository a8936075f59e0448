from typing import Any

import pytest

from mockcheck.checks.slide_too_long import SlideTooLong
from mockcheck.checks.slides_overused import SlidesOverused
from mockcheck.config import session_from_brief
from mockcheck.config.naming import LONGEST_NAME, LevelTable, StyleTable, known_names
from mockcheck.errors import BadBrief
from mockcheck.model.session import Level, NamedLevel, NamedStyle, Session, Style

SCHOOL: dict[str, Any] = {
    "levels": {
        "student orchestra": {"like": "sight", "tempo_share": 0.75},
        "festival": {"like": "rehearsed"},
    },
    "styles": {"noir": {"like": "romantic", "slide_ms": 450, "slides_per_minute": 20}},
}


def test_a_named_level_is_the_level_it_is_like_with_its_own_name_and_pace() -> None:
    session = session_from_brief(SCHOOL | {"level": "student orchestra"}, "brief")
    assert session.level is Level.SIGHT
    assert session.named_level == NamedLevel("student orchestra", 0.75)
    assert (session.level_name, session.tempo_share) == ("student orchestra", 0.75)


def test_a_named_level_without_a_share_goes_as_fast_as_those_it_is_like() -> None:
    session = session_from_brief(SCHOOL, "brief", level="festival")
    assert (session.level, session.level_name, session.tempo_share) == (
        Level.REHEARSED,
        "festival",
        1.0,
    )


def test_a_named_style_sets_the_numbers_it_gives_and_no_others() -> None:
    session = session_from_brief(SCHOOL | {"style": "noir"}, "brief")
    assert session.style is Style.ROMANTIC
    assert session.named_style == NamedStyle("noir", slide_ms=450, slides_per_minute=20)
    assert session.style_name == "noir"


def test_names_that_nobody_chooses_change_nothing() -> None:
    assert session_from_brief(SCHOOL, "brief") == Session()


@pytest.mark.parametrize(
    ("brief", "words"),
    [
        (
            {"level": "studnet"},
            "choose one of: sight, rehearsed, solo, student orchestra, festival",
        ),
        ({"style": "noire"}, "choose one of: modern, romantic, comic, noir"),
        ({"levels": {"solo": {"like": "sight"}}}, "'solo' is a name that is taken"),
        ({"levels": {"x": {"like": "festival"}}}, "levels.x.like: this must be 'sight'"),
        ({"levels": {"x": {"tempo_share": 0.5}}}, "levels.x.like: this key is required"),
        ({"levels": {"x": {"like": "solo", "tempo_share": 75}}}, "at most 1.5"),
        ({"levels": {"x": {"like": "solo", "tempo_share": 0.2}}}, "at least 0.3"),
        ({"levels": {"x": {"like": "solo", "tempo_share": float("nan")}}}, "levels.x.tempo_share"),
        ({"levels": {"x": {"like": "solo", "tempo": 1}}}, "no such key"),
        ({"levels": {"": {"like": "solo"}}}, "name of 1 to 40"),
        ({"levels": {" x": {"like": "solo"}}}, "without spaces at its ends"),
        ({"levels": {"x\x1b[2J": {"like": "solo"}}}, "name of 1 to 40"),
        ({"levels": {"x" * (LONGEST_NAME + 1): {"like": "solo"}}}, "name of 1 to 40"),
        ({"styles": {"comic": {"like": "comic"}}}, "'comic' is a name that is taken"),
        ({"styles": {"x": {"like": "modern", "slide_ms": 20}}}, "styles.x.slide_ms"),
        ({"styles": {"x": {"like": "modern", "slides_per_100_joins": 101}}}, "at most 100"),
        ({"styles": {"x": {"like": "modern", "slides_per_minute": -1}}}, "at least 0"),
    ],
)
def test_a_fault_says_where_and_what_is_allowed(brief: dict[str, Any], words: str) -> None:
    with pytest.raises(BadBrief) as caught:
        session_from_brief(SCHOOL | brief, "school.toml")
    assert words in str(caught.value)
    assert str(caught.value).replace("\n", "").isprintable()


def test_a_level_that_is_asked_for_and_not_there_is_told_with_those_that_are() -> None:
    with pytest.raises(BadBrief, match=r"no level 'studnet'.*sight, rehearsed, solo, student orch"):
        session_from_brief(SCHOOL, "brief", level="studnet")


def test_ranges_are_those_of_the_checks_that_a_style_replaces() -> None:
    ours, long, many = (
        table.model_json_schema()["properties"]
        for table in (StyleTable, SlideTooLong, SlidesOverused)
    )
    for name, theirs in (
        ("slide_ms", long["romantic_ms"]),
        ("slides_per_100_joins", many["romantic_per_100_joins"]),
        ("slides_per_minute", many["romantic_per_minute"]),
    ):
        number = next(kind for kind in ours[name]["anyOf"] if kind["type"] == "number")
        assert (number["minimum"], number["maximum"]) == (theirs["minimum"], theirs["maximum"])
        assert ours[name]["unit"] == theirs["unit"]
    assert "tempo_share" in LevelTable.model_fields


def test_every_name_is_known_once_the_usual_ones_first() -> None:
    assert known_names({"b": {}, "solo": {}, "a": {}}, Level) == [*Level, "b", "a"]
    assert known_names(None, Style) == known_names([1], Style) == list(Style)
