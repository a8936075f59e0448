import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.config.chain import BriefFile, merged, merged_chain, origin, own_rows, read_chain
from mockcheck.errors import BadBrief


def written(folder: Path, **briefs: str) -> Path:
    """The briefs as files; the first one's path."""
    for name, text in briefs.items():
        path = folder / f"{name.replace('__', '/')}.toml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder / f"{next(iter(briefs)).replace('__', '/')}.toml"


def test_paths_start_at_the_folder_of_the_brief_that_names_them(tmp_path: Path) -> None:
    first = written(
        tmp_path,
        spring__class__brief='extends = "../house.toml"\nlevel = "solo"',
        spring__house='extends = "shared/school.toml"\nstyle = "comic"',
        spring__shared__school='level = "rehearsed"\nmiddle_c = "C3"',
        house='style = "romantic"',
    )
    files = read_chain(first)
    assert [file.name for file in files] == ["brief.toml", "../house.toml", "shared/school.toml"]
    assert all("extends" not in file.values for file in files)
    assert merged_chain(files) == {"level": "solo", "style": "comic", "middle_c": "C3"}
    assert files[2].path.samefile(tmp_path / "spring" / "shared" / "school.toml")


def test_a_brief_without_a_house_is_a_chain_of_one(tmp_path: Path) -> None:
    (file,) = read_chain(written(tmp_path, brief='level = "solo"'))
    assert (file.name, dict(file.values)) == ("brief.toml", {"level": "solo"})


def told(path: Path) -> str:
    with pytest.raises(BadBrief) as caught:
        read_chain(path)
    return str(caught.value)


@pytest.mark.parametrize("length", [1, 2, 5])
def test_a_chain_that_bites_its_tail_is_told_link_by_link(tmp_path: Path, length: int) -> None:
    names = [f"b{number}" for number in range(length)]
    after = [*names[1:], names[0]]
    path = written(
        tmp_path,
        **{name: f'extends = "{base}.toml"' for name, base in zip(names, after, strict=True)},
    )
    words = told(path)
    links = ", which extends ".join(f"{name}.toml" for name in after)
    assert words.startswith(f"b0.toml: it extends {links}, and that goes round in a circle.")


def test_the_same_file_under_another_name_closes_a_circle_too(tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    assert "circle" in told(written(tmp_path, a='extends = "deep/../a.toml"'))


def test_two_briefs_may_extend_the_same_one(tmp_path: Path) -> None:
    written(tmp_path, a='extends = "c.toml"', b='extends = "c.toml"', c='level = "solo"')
    for name in "ab":
        assert merged_chain(read_chain(tmp_path / f"{name}.toml")) == {"level": "solo"}


@pytest.mark.parametrize("missing", ["none.toml", ".", "x" * 5000, "a\\u0000b.toml", "a\\u001b[2J"])
def test_a_file_that_is_not_there_is_told_with_who_asked_for_it(
    tmp_path: Path, missing: str
) -> None:
    words = told(written(tmp_path, a='extends = "b.toml"', b=f'extends = "{missing}"'))
    assert words.startswith("a.toml: it extends b.toml, which extends ")
    assert "that file is not there. Correct `extends` in b.toml" in words
    assert words.isprintable()


def test_a_house_brief_that_is_not_toml_is_told_with_its_line(tmp_path: Path) -> None:
    words = told(written(tmp_path, a='extends = "b.toml"', b="style = 1\nlevel = \n"))
    assert "a.toml: it extends b.toml; that one cannot be used." in words
    assert "b.toml: this is not TOML" in words
    assert "line 2" in words


def test_a_brief_that_is_missing_itself_is_told_as_ever(tmp_path: Path) -> None:
    assert "there is no such brief" in told(tmp_path / "none.toml")


@pytest.mark.parametrize("value", ["3", '""', '"  "', "[]", '["a.toml"]', "{}", "true"])
def test_an_extends_that_names_no_file_stays_to_be_told_with_other_faults(
    tmp_path: Path, value: str
) -> None:
    (file,) = read_chain(written(tmp_path, a=f"extends = {value}"))
    assert file.values == tomllib.loads(f"extends = {value}")


def test_tables_are_merged_key_by_key_and_plain_values_replaced() -> None:
    school = {
        "level": "sight",
        "players": {"Viola": 6, "Cello": 4},
        "checks": {"run-too-fast": {"a": 1, "b": 2}, "bow-runs-out": {"c": 3}},
        "other": [1, 2],
    }
    own = {
        "level": "solo",
        "players": {"Viola": 5},
        "checks": {"run-too-fast": {"b": 9}},
        "other": [3],
    }
    assert merged(own, school) == {
        "level": "solo",
        "players": {"Viola": 5, "Cello": 4},
        "checks": {"run-too-fast": {"a": 1, "b": 9}, "bow-runs-out": {"c": 3}},
        "other": [3],
    }


def test_rows_are_joined_where_the_nearer_brief_wins() -> None:
    # A later row of tracks overrules an earlier one; the first reason of accept is given.
    rows = {"tracks": [{"match": "far"}], "accept": [{"reason": "far"}]}
    own = {"tracks": [{"match": "near"}], "accept": [{"reason": "near"}]}
    both = merged(own, rows)
    assert [row["match"] for row in both["tracks"]] == ["far", "near"]
    assert [row["reason"] for row in both["accept"]] == ["near", "far"]


NAMES = st.sampled_from("abc")
NUMBERS = st.dictionaries(NAMES, st.integers(0, 9), max_size=3)
ROWS = st.lists(st.fixed_dictionaries({"match": st.text("xyz", max_size=2)}), max_size=3)
BRIEFS = st.fixed_dictionaries(
    {},
    optional={
        "level": st.sampled_from(["sight", "solo"]),
        "players": NUMBERS,
        "checks": st.dictionaries(NAMES, NUMBERS, max_size=3),
        "tracks": ROWS,
        "accept": ROWS,
    },
)
CHAINS = st.lists(BRIEFS, min_size=1, max_size=4)


def chain_of(briefs: list[dict[str, Any]]) -> tuple[BriefFile, ...]:
    return tuple(
        BriefFile(f"{number}.toml", Path(f"{number}.toml"), values)
        for number, values in enumerate(briefs)
    )


@given(BRIEFS, BRIEFS, BRIEFS)
def test_it_does_not_matter_which_two_of_a_chain_are_merged_first(
    near: dict[str, Any], middle: dict[str, Any], far: dict[str, Any]
) -> None:
    assert merged(merged(near, middle), far) == merged(near, merged(middle, far))


@given(BRIEFS)
def test_a_brief_over_nothing_and_nothing_over_a_brief_are_the_brief(brief: dict[str, Any]) -> None:
    assert merged(brief, {}) == merged({}, brief) == brief


def said(brief: dict[str, Any]) -> dict[tuple[str, ...], Any]:
    """Every plain value of a brief by its key, step by step."""
    found: dict[tuple[str, ...], Any] = {}
    for key, value in brief.items():
        if isinstance(value, dict):
            found |= {(key, *steps): inner for steps, inner in said(value).items()}
        elif not isinstance(value, list):
            found[key,] = value
    return found


@given(CHAINS)
def test_of_what_is_said_twice_the_nearest_brief_counts_and_all_else_stays(
    briefs: list[dict[str, Any]],
) -> None:
    expected: dict[tuple[str, ...], Any] = {}
    for brief in briefs:
        expected = said(brief) | expected
    assert said(merged_chain(chain_of(briefs))) == expected


@given(CHAINS)
def test_every_key_and_row_is_traced_to_the_brief_that_says_it(
    briefs: list[dict[str, Any]],
) -> None:
    files = chain_of(briefs)
    every = merged_chain(files)
    for steps in said(every):
        number, inside = origin(files, steps)
        assert inside == steps
        assert [steps in said(brief) for brief in briefs].index(True) == number
    for key in ("tracks", "accept"):
        rows = every.get(key, [])
        traced = [origin(files, (key, row, "match")) for row in range(len(rows))]
        assert len(set(traced)) == len(rows)
        for row, (number, inside) in zip(rows, traced, strict=True):
            assert briefs[number][key][inside[1]] is row
        own = [row for row, (number, _) in enumerate(traced) if number == 0]
        assert own == list(own_rows(files, key))


def test_what_nobody_says_is_traced_as_far_as_somebody_goes() -> None:
    files = chain_of([{"styles": {}}, {"levels": {"school": {"tempo_share": 1}}}, {"level": "x"}])
    assert origin(files, ("levels", "school", "like")) == (1, ("levels", "school", "like"))
    assert origin(files, ("levels", "other"))[0] == 1
    assert origin(files, ("colour",))[0] == 0
