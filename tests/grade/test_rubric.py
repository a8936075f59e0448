import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from mockcheck.errors import BadBrief
from mockcheck.grade.conditions import kinds_of_condition
from mockcheck.grade.rubric import default_rubric_text, read_rubric, rubric_from
from mockcheck.model.finding import FAMILIES, Severity


def test_the_default_weighs_every_family_and_worse_findings_more() -> None:
    rubric = read_rubric(None)
    assert tuple(rubric.families) == FAMILIES
    points = [rubric.findings.points.of(severity) for severity in sorted(Severity)]
    assert points == sorted(points)
    assert 0 < points[0] < points[-1]
    caps = rubric.findings.caps
    assert caps.check < caps.family < caps.all < rubric.total


def test_every_number_of_the_default_has_its_reason() -> None:
    block: list[str] = []
    for line in default_rubric_text().splitlines():
        block = [] if not line.strip() else [*block, line]
        if re.match(r"^\w+ = [\d.]+", line):
            assert any("#" in near for near in block) or "#" in line, line


def test_the_default_names_every_kind_of_condition() -> None:
    assert all(kind in default_rubric_text() for kind in kinds_of_condition())


def test_a_rubric_lies_over_the_default_key_by_key() -> None:
    changed = rubric_from({"findings": {"points": {"risky": 9}}, "families": {"bow": 2}}, "r")
    default = read_rubric(None)
    assert changed.findings.points.risky == 9
    assert changed.findings.points.awkward == default.findings.points.awkward
    assert (changed.families["bow"], changed.families["range"]) == (2, default.families["range"])
    assert changed.requirements == default.requirements
    assert rubric_from({"requirements": []}, "r").requirements == ()


def test_the_printed_default_is_the_default(tmp_path: Path) -> None:
    path = tmp_path / "rubric.toml"
    path.write_text(default_rubric_text(), encoding="utf-8")
    assert read_rubric(path) == read_rubric(None)
    assert tomllib.loads(default_rubric_text())


def test_every_fault_is_told_at_once() -> None:
    values: dict[str, Any] = {
        "total": -1,
        "findings": {"caps": {"chek": 3}, "points": {"risky": "much"}},
        "families": {"harmony": 1},
        "requirements": [{"kind": "bars", "points": 3}, {"kind": "stars", "points": 1}],
    }
    with pytest.raises(BadBrief) as caught:
        rubric_from(values, "r.toml")
    told = str(caught.value)
    for words in (
        "r.toml",
        "total",
        "chek",
        "points.risky",
        "harmony",
        "requirements row 1",
        "within_",
    ):
        assert words in told


@pytest.mark.parametrize("content", [b"total = ", b"\xff\xfe\xfa"])
def test_what_is_no_toml_is_told(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "r.toml"
    path.write_bytes(content)
    with pytest.raises(BadBrief, match=r"r\.toml"):
        read_rubric(path)
    with pytest.raises(BadBrief, match="--show-rubric"):
        read_rubric(tmp_path / "none.toml")


def test_words_are_found_by_points_whatever_their_order() -> None:
    words = [{"word": "pass", "from": 50}, {"word": "good", "from": 75}]
    rubric = rubric_from({"words": words}, "r")
    assert [rubric.word_for(points) for points in (100, 75, 74.99, 50, 49.99)] == [
        "good", "good", "pass", "pass", "",
    ]  # fmt: skip
