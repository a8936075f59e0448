import subprocess
import sys
from pathlib import Path

import pytest

from mockcheck.instruments import instrument, instrument_ids, vocabulary
from mockcheck.instruments._load import FOLDER, load_instruments, load_vocabulary
from mockcheck.model.played import ARTICULATIONS

VIOLIN = (FOLDER / "violin.toml").read_text(encoding="utf-8")


def test_instruments_come_in_score_order() -> None:
    assert instrument_ids() == (
        "violin",
        "viola",
        "cello",
        "double bass",
        "double bass 5-string",
        "double bass C extension",
        "strings",
    )


def test_every_number_says_where_it_comes_from() -> None:
    for name in instrument_ids():
        sources = instrument(name).sources
        assert sources.keys() == {
            "open_strings",
            "string_length_mm",
            "comfortable_top",
            "section_top",
            "solo_top",
        }
        assert all(len(source) > 10 for source in sources.values())


def test_an_unknown_instrument_is_told_what_there_is() -> None:
    with pytest.raises(KeyError, match="viola, cello"):
        instrument("kazoo")


def test_strokes_and_colours_are_the_trades_names() -> None:
    known = vocabulary()
    assert sorted((*known.strokes, *known.colours)) == sorted(ARTICULATIONS)


def test_every_rival_and_soft_word_is_an_instrument_that_exists() -> None:
    known = vocabulary()
    labels = known.other_instruments.keys()
    assert labels >= known.gives_way_to_strings
    assert labels >= known.gives_way_to_program
    for naming in known.namings.values():
        for rivals in naming.doubtful.values():
            assert labels >= rivals


def test_everything_wrong_with_a_file_is_told_at_once(tmp_path: Path) -> None:
    text = VIOLIN.replace("value = 328", "value = -1").replace("[76, 69", '["E5", 69')
    (tmp_path / "violin.toml").write_text(f"colour = 1\n{text}", encoding="utf-8")
    with pytest.raises(ValueError, match=r"violin\.toml") as raised:
        load_instruments(tmp_path)
    for key in ("colour", "string_length_mm.value", "open_strings.value.0"):
        assert key in str(raised.value)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[76, 69, 62, 55]", "[55, 62, 69, 76]", "from the highest"),
        ("value = 100 # E7", "value = 120", "tops must rise"),
        ("value = 93 # A6", "value = 70", "above the open strings"),
        ("value = 328", "value = 0", "string_length_mm must be above 0"),
        ('source = "common practice', 'sources = "common practice', "string_length_mm.source"),
    ],
)
def test_a_file_that_contradicts_itself_is_refused(
    tmp_path: Path, old: str, new: str, words: str
) -> None:
    assert old in VIOLIN
    (tmp_path / "violin.toml").write_text(VIOLIN.replace(old, new), encoding="utf-8")
    with pytest.raises(ValueError, match=words):
        load_instruments(tmp_path)


def test_two_files_of_one_instrument_are_refused(tmp_path: Path) -> None:
    for name in ("violin.toml", "geige.toml"):
        (tmp_path / name).write_text(VIOLIN, encoding="utf-8")
    with pytest.raises(ValueError, match="a second file with the id 'violin'"):
        load_instruments(tmp_path)


def test_unknown_words_in_the_word_lists_are_refused(tmp_path: Path) -> None:
    for path in FOLDER.glob("*.toml"):
        (tmp_path / path.name).write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
    words = tmp_path / "_track_words.toml"
    words.write_text("tutti = []\n" + words.read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(ValueError, match="tutti"):
        load_vocabulary(tmp_path)


def test_nothing_heavy_is_imported_before_it_is_needed() -> None:
    code = (
        "import sys, mockcheck.instruments, mockcheck.read.roles;"
        "print([name for name in ('pydantic', 'pandas', 'matplotlib') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=FOLDER.parents[1],
    )
    assert done.stdout.strip() == "[]"
