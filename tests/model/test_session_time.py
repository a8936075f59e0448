import re
import tomllib

import pytest
from pydantic import ValidationError

from mockcheck.config import session_from_brief
from mockcheck.errors import BadBrief
from mockcheck.model.session import Session
from mockcheck.model.session_time import SessionTime
from mockcheck.report.brief import render_brief
from tests.phrases import played


def test_every_number_has_a_unit_a_range_a_meaning_and_a_source() -> None:
    for name, field in SessionTime.model_fields.items():
        extra = field.json_schema_extra
        assert isinstance(extra, dict)
        assert extra["unit"], name
        assert extra["source"], name
        assert field.description, name
        assert len(field.metadata) >= 2, name


def test_the_brief_changes_single_numbers() -> None:
    session = session_from_brief({"session_time": {"reset_s": 40, "takes_slow": 6}}, "brief")
    assert session.session_time == SessionTime(reset_s=40, takes_slow=6)
    assert session_from_brief({}, "brief").session_time == Session().session_time == SessionTime()


def test_every_fault_is_named_at_once() -> None:
    table = {"reset_s": -1, "takes_usual": "many", "coffee_min": 5, "hour_min": 1000}
    with pytest.raises(BadBrief) as raised:
        session_from_brief({"session_time": table, "level": "bad"}, "brief.toml")
    for key in (*(f"session_time.{name}" for name in table), "level"):
        assert key in str(raised.value)


def test_takes_must_not_fall() -> None:
    with pytest.raises(ValidationError, match="must not fall"):
        SessionTime(takes_quick=4, takes_usual=3)
    with pytest.raises(BadBrief, match=r"session_time: .*must not fall"):
        session_from_brief({"session_time": {"takes_slow": 1}}, "brief.toml")


def test_the_printed_brief_has_every_number_ready_to_be_changed() -> None:
    phrase = "violin 4/4 q=96 | A4:4 |"
    text = render_brief(played(phrase))
    assert "session_time" not in tomllib.loads(text)
    ready = re.sub(r"^# (?=\[session_time\]|\w+ = [\d.]+  # )", "", text, flags=re.MULTILINE)
    values = tomllib.loads(ready)["session_time"]
    assert set(values) == set(SessionTime.model_fields)
    assert SessionTime(**values) == SessionTime()


def test_a_number_that_was_changed_stays_in_force_in_the_printed_brief() -> None:
    own = Session(session_time=SessionTime(reset_s=40, break_min=12.5))
    text = render_brief(played("violin 4/4 q=96 | A4:4 |", session=own))
    assert tomllib.loads(text)["session_time"] == {"reset_s": 40, "break_min": 12.5}
    assert session_from_brief(tomllib.loads(text), "brief").session_time == own.session_time
