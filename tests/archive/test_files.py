from pathlib import Path

import pytest

from mockcheck.archive.files import FoundFile, find_files, result_folders
from mockcheck.errors import UnreadableInput


def make(folder: Path, *names: str) -> Path:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")
    return folder


def names_of(given: list[Path], out: Path | None = None) -> list[str]:
    return [file.name for file in find_files(given, out).files]


def test_a_folder_means_all_midi_files_in_it_and_below_capitals_first(tmp_path: Path) -> None:
    make(tmp_path, "b.mid", "B.MID", "a/z.Midi", "a/b/c.smf", "a.rmi", "notes.txt", "mid")
    assert names_of([tmp_path]) == ["B.MID", "a.rmi", "a/b/c.smf", "a/z.Midi", "b.mid"]


def test_hidden_files_and_folders_are_passed_over(tmp_path: Path) -> None:
    make(tmp_path, ".hidden.mid", "._a.mid", ".trash/b.mid", "a.mid")
    assert names_of([tmp_path]) == ["a.mid"]


def test_what_mockcheck_made_is_passed_over_and_told_but_not_when_named(tmp_path: Path) -> None:
    ours = ("a.markers.mid", "a.players-copy.mid", "01-bars-3-4-pass-1-50-percent.mid")
    make(tmp_path, *ours, "a.mid", "markers.mid")
    found = find_files([tmp_path])
    assert [file.name for file in found.files] == ["a.mid", "markers.mid"]
    assert sorted(path.name for path in found.passed_over) == sorted(ours)
    assert names_of([tmp_path / ours[0]]) == [ours[0]]


def test_the_folder_of_results_is_not_looked_into(tmp_path: Path) -> None:
    make(tmp_path, "a.mid", "review/old.mid")
    assert names_of([tmp_path], tmp_path / "review") == ["a.mid"]


def test_a_file_reached_twice_counts_once(tmp_path: Path) -> None:
    make(tmp_path, "a.mid", "b/c.mid")
    (tmp_path / "link.mid").symlink_to(tmp_path / "a.mid")
    given = [tmp_path / "b" / "c.mid", tmp_path / "b" / "c.mid", tmp_path]
    assert names_of(given) == ["c.mid", "a.mid"]


def test_links_in_a_circle_come_to_an_end(tmp_path: Path) -> None:
    make(tmp_path, "a/b.mid")
    (tmp_path / "a" / "up").symlink_to(tmp_path)
    assert names_of([tmp_path]) == ["a/b.mid"]


def test_named_files_keep_their_order_and_need_no_ending(tmp_path: Path) -> None:
    make(tmp_path, "z.mid", "a.dat")
    given = [tmp_path / "z.mid", tmp_path / "a.dat", tmp_path / "missing.mid"]
    assert names_of(given) == ["z.mid", "a.dat", "missing.mid"]


def test_equal_names_below_several_folders_are_told_apart(tmp_path: Path) -> None:
    make(tmp_path, "x/a.mid", "y/a.mid", "y/b.mid")
    assert names_of([tmp_path / "x", tmp_path / "y"]) == ["x/a.mid", "y/a.mid", "y/b.mid"]
    make(tmp_path, "z/x/a.mid")
    given = [tmp_path / "x", tmp_path / "z" / "x"]
    assert len(set(names_of(given))) == 2
    assert len(set(names_of([tmp_path / "x" / "a.mid", tmp_path / "y" / "a.mid"]))) == 2


def test_names_that_differ_only_in_what_cannot_be_printed_stay_two(tmp_path: Path) -> None:
    make(tmp_path, "a\x07.mid", "a.mid")
    assert sorted(names_of([tmp_path])) == ["a.mid", "a.mid (2)"]


def test_the_first_folder_below_the_one_given_is_known(tmp_path: Path) -> None:
    make(tmp_path, "one/two/a.mid", "b.mid")
    folders = {file.name: file.folder for file in find_files([tmp_path]).files}
    assert folders == {"one/two/a.mid": "one", "b.mid": ""}


@pytest.mark.parametrize("names", [(), ("readme.txt",), (".a.mid",)])
def test_a_folder_without_midi_is_refused_in_words(tmp_path: Path, names: tuple[str, ...]) -> None:
    make(tmp_path, *names)
    with pytest.raises(UnreadableInput, match="no MIDI file"):
        find_files([tmp_path])


def test_folders_for_results_are_safe_and_never_the_same() -> None:
    names = ["a/b.mid", "A/B.mid", "../up.mid", "/etc/c.mid", 'q"?.mid', "q__.mid", "dot./e.mid"]
    folders = result_folders([FoundFile(Path(name), name) for name in names])
    assert folders[0] == Path("a/b.mid")
    assert len({str(folder).casefold() for folder in folders}) == len(names)
    for folder in folders:
        assert not folder.is_absolute()
        assert ".." not in folder.parts
        assert not set('<>:"\\|?*') & set(str(folder))
        assert all(part == part.rstrip(". ") for part in folder.parts)
