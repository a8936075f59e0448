from pathlib import Path

import pytest
from pydantic import BaseModel, ConfigDict, ValidationError

from mockcheck.config.toml_file import fault_list, fault_words, read_toml
from mockcheck.errors import BadBrief


class _Desk(BaseModel):
    model_config = ConfigDict(extra="forbid")
    players: int
    lamp: bool = True


def test_a_file_is_read_as_plain_values(tmp_path: Path) -> None:
    path = tmp_path / "rubric.toml"
    path.write_text('title = "Étude"\n[weights]\nrange = 2\n', encoding="utf-8")
    assert read_toml(path, "rubric", "") == {"title": "Étude", "weights": {"range": 2}}


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (None, "there is no such rubric. Ask for one."),
        (b"title = ", "this is not TOML"),
        (b"\xff\xfe", "the rubric cannot be read"),
    ],
)
def test_what_cannot_be_read_is_named_with_a_remedy(
    tmp_path: Path, content: bytes | None, words: str
) -> None:
    path = tmp_path / "rubric.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(BadBrief, match=r"rubric\.toml") as caught:
        read_toml(path, "rubric", "Ask for one.")
    assert words in str(caught.value)


def test_every_fault_has_its_key_and_what_was_found() -> None:
    with pytest.raises(ValidationError) as caught:
        _Desk.model_validate({"lamp": "dim", "chair": 1})
    lines = [fault_words(detail, "desk") for detail in caught.value.errors()]
    assert any(line == "desk.players: this key is required" for line in lines)
    assert any(line.startswith("desk.lamp: ") and "(found 'dim')" in line for line in lines)
    assert any("desk.chair: there is no such key here" in line for line in lines)
    text = fault_list("house.toml", "brief", lines)
    assert text.splitlines()[0] == "house.toml: the brief cannot be used:"
    assert all(f"  - {line}" in text for line in lines)
