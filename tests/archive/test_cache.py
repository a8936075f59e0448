import os
from dataclasses import replace
from pathlib import Path

import pytest

import mockcheck
from mockcheck.archive import cache as cache_module
from mockcheck.archive.cache import Cache, Kept, default_folder, entry_key, session_key
from mockcheck.archive.pool import Kind, run_each
from mockcheck.model.record import ReviewRecord
from mockcheck.model.session import Level, Session
from tests.archive.corpus import phrase_file
from tests.archive.works import put_again_and_again

KEY = entry_key("0" * 64, "session")


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Kept:
    path = tmp_path_factory.mktemp("music") / "a.mid"
    path.write_bytes(phrase_file(15))
    record = ReviewRecord.of(mockcheck.review(path))
    assert record.findings
    return Kept(record, "Not ready.")


def test_what_was_kept_comes_back_under_the_name_asked_for(tmp_path: Path, kept: Kept) -> None:
    cache = Cache(tmp_path)
    assert cache.get(KEY, "a.mid") is None
    cache.put(KEY, kept)
    assert cache.get(KEY, "a.mid") == kept
    other = cache.get(KEY, "b.mid")
    assert other is not None
    assert kept.record is not None
    assert other.record == replace(kept.record, file="b.mid")
    assert cache.trouble is None


def test_a_refusal_is_only_for_the_file_it_names(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put(KEY, Kept(None, refusal="a.mid: empty", name="a.mid", is_unreadable=True))
    found = cache.get(KEY, "a.mid")
    assert found is not None
    assert (found.refusal, found.is_unreadable) == ("a.mid: empty", True)
    assert cache.get(KEY, "b.mid") is None


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.99])
def test_a_damaged_entry_is_nothing_and_is_written_anew(
    tmp_path: Path, kept: Kept, share: float
) -> None:
    cache = Cache(tmp_path)
    cache.put(KEY, kept)
    (entry,) = tmp_path.glob("??/*")
    whole = entry.read_bytes()
    place = int(share * len(whole))
    for damaged in (whole[:place], whole[:place] + b"8" + whole[place + 1 :], b"\xff" * 40, b"{}"):
        if damaged == whole:
            continue
        entry.write_bytes(damaged)
        assert cache.get(KEY, "a.mid") is None
    cache.put(KEY, kept)
    assert entry.read_bytes() == whole


def test_two_processes_that_write_the_same_at_once_do_no_harm(tmp_path: Path) -> None:
    results = run_each([tmp_path, tmp_path], put_again_and_again, processes=2)
    assert [done.kind for done in results] == [Kind.DONE, Kind.DONE]
    assert [done.value for done in results] == [0, 0], "entries found damaged or missing"
    assert not list(tmp_path.rglob("*.part"))


def test_the_oldest_go_when_there_is_too_much(tmp_path: Path, kept: Kept) -> None:
    size = len(kept.to_json())
    cache = Cache(tmp_path, most_bytes=int(3.5 * size))
    keys = [entry_key(str(number), "s") for number in range(5)]
    for number, key in enumerate(keys):
        cache.put(key, kept)
        os.utime(tmp_path / key[:2] / f"{key}.json", (number, number))
    assert cache.get(keys[0], "a.mid") is not None, "asking for it makes it young again"
    cache.prune()
    assert [cache.get(key, "a.mid") is not None for key in keys] == [True, False, False, True, True]


def test_a_cache_that_cannot_be_written_says_so_and_does_no_harm(
    tmp_path: Path, kept: Kept
) -> None:
    (tmp_path / "taken").write_text("a file")
    cache = Cache(tmp_path / "taken")
    cache.put(KEY, kept)
    cache.prune()
    assert cache.get(KEY, "a.mid") is None
    assert cache.trouble is not None
    assert "taken" in cache.trouble


def test_a_name_that_is_no_text_is_not_kept_and_does_no_harm(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put(KEY, Kept(None, refusal="\udcff.mid: empty", name="\udcff.mid"))
    assert cache.get(KEY, "\udcff.mid") is None
    assert cache.trouble is None
    assert not list(tmp_path.iterdir())


def test_the_key_stands_for_all_of_the_brief_and_not_for_the_order_of_its_names() -> None:
    plain = session_key(Session())
    assert session_key(Session()) == plain
    assert session_key(Session(level=Level.SOLO)) != plain
    assert session_key(Session(check_params={"run-too-fast": {"a": 1.0}})) != plain
    one = Session(players={"Violin 1": 8, "Viola": 5}, shared_players=frozenset("ab"))
    two = Session(players={"Viola": 5, "Violin 1": 8}, shared_players=frozenset("ba"))
    assert session_key(one) == session_key(two) != plain
    assert session_key(replace(one, players={"Violin 1": 8, "Viola": 6})) != session_key(one)


def test_changed_code_or_data_makes_other_keys(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "mockcheck"
    (package / "checks").mkdir(parents=True)
    monkeypatch.setattr(mockcheck, "__file__", str(package / "__init__.py"))
    identity = cache_module.tool_identity.__wrapped__
    seen = set()
    for name, text in (
        ("__init__.py", ""),
        ("checks/run.py", "LIMIT = 1"),
        ("checks/run.py", "LIMIT = 2"),
        ("checks/violin.toml", "LIMIT = 2"),
    ):
        (package / name).write_text(text)
        seen.add(identity())
    assert len(seen) == 4
    (package / "page.html").write_text("no part of any finding")
    assert identity() in seen
    monkeypatch.setattr(mockcheck, "__version__", "99")
    assert identity() not in seen


def test_the_folder_can_be_chosen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("MOCKCHECK_CACHE", str(tmp_path))
    assert default_folder() == tmp_path
    monkeypatch.delenv("MOCKCHECK_CACHE")
    assert default_folder().is_absolute()
    assert "mockcheck" in default_folder().parts


def test_an_answer_written_and_read_is_the_same(kept: Kept) -> None:
    assert Kept.from_json(kept.to_json()) == kept
    with pytest.raises(ValueError, match="record"):
        Kept.from_json(b"{}")
