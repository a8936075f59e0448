from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.identity import FindingId, name_finding, part_digits, read_finding_id


@given(
    st.from_regex(r"[a-z0-9]{1,8}(-[a-z0-9]{1,8}){0,4}", fullmatch=True),
    st.text(),
    st.text(),
    st.integers(1, 30),
)
def test_an_id_reads_back_as_what_it_was(check: str, part: str, music: str, turn: int) -> None:
    named = replace(name_finding(check, part, music, "before", "after"), turn=turn)
    assert read_finding_id(f"  {named} ") == named
    assert named.part == part_digits(part)


@pytest.mark.parametrize("text", ["", "run-too-fast", "run-too-fast-12", "X-" + "a" * 18, "a" * 18])
def test_what_is_no_id_is_refused_with_where_to_find_one(text: str) -> None:
    with pytest.raises(ValueError, match=r"findings\.csv"):
        read_finding_id(text)


def named(
    music: str = "F3", before: str = "A4", after: str = "B4", part: str = "Viola"
) -> FindingId:
    return name_finding("note-below-open-string", part, music, before, after)


def test_the_same_notes_with_one_neighbour_kept_are_the_same_music() -> None:
    assert named().is_same_music(named(before="C5"))
    assert named().is_same_music(named(after="C5"))
    assert named().is_same_music(named(part="Bratsche"))


def test_other_notes_or_none_of_the_neighbours_are_other_music() -> None:
    assert not named().is_same_music(named(music="E3"))
    assert not named().is_same_music(named(before="C5", after="C5"))
    assert not named().is_same_music(replace(named(), check="note-above-range"))
