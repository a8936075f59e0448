import tomllib

from hypothesis import given
from hypothesis import strategies as st

from mockcheck.web.brief_file import to_toml

TEXTS = st.text(st.characters(exclude_categories=["Cs"]))
PLAIN = TEXTS | st.integers(-(2**62), 2**62) | st.booleans() | st.floats(allow_nan=False)
LISTS = st.lists(PLAIN, max_size=3)
TABLES = st.recursive(
    st.dictionaries(TEXTS, PLAIN | LISTS, max_size=4),
    lambda tables: st.dictionaries(
        TEXTS, PLAIN | LISTS | tables | st.lists(tables, max_size=3), max_size=4
    ),
    max_leaves=8,
)


@given(TABLES)
def test_what_is_read_back_is_what_was_written(values: dict[str, object]) -> None:
    assert tomllib.loads(to_toml(values, "Brief for a file")) == values


def test_a_brief_looks_as_a_person_would_write_it() -> None:
    values = {
        "tracks": [{"match": "Vln 1", "switches": [{"key": 24, "articulation": "spiccato"}]}],
        "level": "solo",
        "checks": {"slides-overused": {"modern_per_100_joins": 5}},
    }
    assert to_toml(values, "Brief for cue.mid").splitlines() == [
        "# Brief for cue.mid",
        'level = "solo"',
        "",
        "[[tracks]]",
        'match = "Vln 1"',
        "",
        "[[tracks.switches]]",
        "key = 24",
        'articulation = "spiccato"',
        "",
        "[checks]",
        "",
        "[checks.slides-overused]",
        "modern_per_100_joins = 5",
    ]


def test_half_a_character_does_not_spoil_the_file() -> None:
    text = to_toml({"part": "Vln \ud83c"}, "Brief")
    assert tomllib.loads(text.encode("utf-8").decode("utf-8")) == {"part": "Vln ?"}
