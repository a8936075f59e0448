import random
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import partial
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from mockcheck.checks._registry import all_checks
from mockcheck.config import brief as brief_tables
from mockcheck.errors import BadBrief
from mockcheck.grade.conditions import kinds_of_condition
from tests.fuzzing import tally as tally_module
from tests.fuzzing.__main__ import report
from tests.fuzzing.tally import Tally, try_file
from tests.fuzzing.targets import (
    TARGETS,
    Target,
    behaviours_of,
    brief_seeds,
    rubric_seeds,
    words_of,
)
from tests.fuzzing.toml_mutation import ODD, dump, mutate_toml, vocabulary

ROOT = Path(__file__).parents[2]
QUICK = {"roster", "rubric"}
"""Targets whose files are used in no time."""
TEXTS = st.text(st.characters(codec="utf-8"), max_size=12)
VALUES = st.recursive(
    st.one_of(
        st.booleans(), st.integers(-(2**63), 2**63 - 1), st.floats(allow_nan=False), TEXTS,
        st.dates(), st.times(), st.datetimes(),
    ),
    lambda inside: st.one_of(
        st.lists(inside, max_size=3), st.dictionaries(TEXTS, inside, max_size=3)
    ),
    max_leaves=12,
)  # fmt: skip


def target_that(step: Any) -> Target:
    def one_row(path: Path) -> Iterator[str]:
        yield from step(path)

    return Target(".txt", list, one_row, one_row, lambda data, _: data)


@settings(max_examples=100)
@given(st.dictionaries(TEXTS, VALUES, max_size=5))
def test_what_is_written_as_toml_reads_back_the_same(values: dict[str, Any]) -> None:
    assert tomllib.loads(dump(values)) == values


def test_every_odd_value_can_be_written() -> None:
    text = dump({str(number): value for number, value in enumerate(ODD)})
    assert list(map(repr, tomllib.loads(text).values())) == list(map(repr, ODD))


@pytest.mark.parametrize("name", ["brief", "rubric"])
def test_changed_toml_is_still_toml_and_differs(name: str) -> None:
    seeds, rng, changed = TARGETS[name].seeds(), random.Random(4), 0
    for _ in range(100):
        seed = rng.choice(seeds)
        out = mutate_toml(seed, words_of(seeds), rng)
        assert out is not None
        changed += repr(tomllib.loads(out.decode())) != repr(tomllib.loads(seed.decode()))
    assert changed > 80
    assert mutate_toml(b"level = ", [], rng) is None
    assert mutate_toml(b"\xff", [], rng) is None


def test_the_seeds_hold_every_key_of_a_brief_and_every_limit_of_a_check() -> None:
    words = {key for seed in brief_seeds() for key, _ in vocabulary(tomllib.loads(seed.decode()))}
    tables = [
        table for table in vars(brief_tables).values()
        if isinstance(table, type) and issubclass(table, BaseModel)
    ]  # fmt: skip
    assert len(tables) > 5
    wanted = {name for table in tables for name in table.model_fields}
    wanted |= {name for check in all_checks().values() for name in check.params.model_fields}
    assert wanted <= words


@pytest.mark.parametrize("name", sorted(TARGETS))
def test_seeds_are_understood_or_refused_in_words(name: str, tmp_path: Path) -> None:
    target, seen = TARGETS[name], Tally()
    for file, content in target.beside.items():
        (tmp_path / file).write_bytes(content)
    for seed in target.seeds():
        path = tmp_path / f"seed{target.suffix}"
        path.write_bytes(seed)
        assert not try_file(target, path, seen, goes_on=name in QUICK)
    assert seen.read > seen.inputs / 2
    assert seen.used == (seen.read if name in QUICK else 0)
    assert not [row for row in seen.behaviours if str(tmp_path) in row]


def test_the_seeds_of_a_rubric_hold_every_kind_of_condition() -> None:
    rows = [tomllib.loads(seed.decode()).get("requirements", []) for seed in rubric_seeds()]
    assert {row["kind"] for some in rows for row in some} == set(kinds_of_condition())


def test_a_brief_that_is_understood_is_used_on_music_it_fits(tmp_path: Path) -> None:
    target, seen = TARGETS["brief"], Tally()
    for file, content in target.beside.items():
        (tmp_path / file).write_bytes(content)
    path = tmp_path / "brief.toml"
    path.write_bytes((ROOT / "fixtures" / "demo" / "brief.toml").read_bytes())
    try_file(target, path, seen, goes_on=True)
    assert [row for row in seen.behaviours if row.startswith("found: ")]
    assert not [row for row in seen.behaviours if row.startswith("refused: ")]


def test_a_fault_is_told_by_kind_and_place_and_a_refusal_is_none(tmp_path: Path) -> None:
    path = tmp_path / "input.txt"

    def refuses(_: Path) -> Iterator[str]:
        message = f"{path}: line 12: there is no 'x'"
        raise BadBrief(message)

    def breaks(_: Path) -> Iterator[str]:
        yield {"note": "C4"}["pitch"]

    def warns(_: Path) -> Iterator[str]:
        import warnings

        warnings.warn("division", RuntimeWarning, stacklevel=2)
        yield "never"

    seen = Tally()
    assert try_file(target_that(refuses), path, seen, goes_on=True) is None
    assert seen.behaviours == ["refused: FILE: line #: there is no '...'"]
    assert (seen.inputs, seen.read, seen.used) == (1, 0, 0)
    fault = try_file(target_that(breaks), path, seen, goes_on=True)
    assert fault is not None
    assert fault.startswith("KeyError at fuzzing/test_fuzzing.py:")
    assert (try_file(target_that(warns), path, seen, goes_on=True) or "").startswith(
        "RuntimeWarning"
    )


def test_a_slow_and_a_greedy_file_are_faults(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def idles(_: Path) -> Iterator[str]:
        yield str(sum(range(100_000)))

    target = target_that(idles)
    for risen_kb, expected in ((499_999, None), (500_001, "took more than 500 MB")):
        peaks = iter([1000, 1000 + risen_kb])
        monkeypatch.setattr(tally_module, "_peak_kb", partial(next, peaks))
        assert try_file(target, tmp_path, Tally(), goes_on=False) == expected
    monkeypatch.setattr(tally_module, "LONGEST_S", 0.0)
    monkeypatch.setattr(tally_module, "_peak_kb", lambda: 1000)
    assert try_file(target, tmp_path, Tally(), goes_on=False) == "took more than 0 s"


def test_messages_that_differ_in_names_and_numbers_are_one_behaviour() -> None:
    one, other = (
        "x.toml: cannot be used:\n  - tracks.0.key: this must be 1 or more (found -4)",
        "x.toml: cannot be used:\n  - tracks.7.program: this must be 3 or more (found {'a': 1})",
    )
    assert list(behaviours_of(one)) == list(behaviours_of(other))
    assert list(behaviours_of("no 'Viola' here")) == list(behaviours_of("no 'Oboe' here"))
    assert list(behaviours_of("no bar")) != list(behaviours_of("no beat"))


def test_two_runs_are_added_up_and_told(tmp_path: Path) -> None:
    one = Tally(3, 2, 1, 0.5, ["a", "b"], {"fault": "first.mid"})
    one.save(tmp_path / "tally.json")
    both = Tally.load(tmp_path / "tally.json")
    assert both == one
    both.add(Tally(4, 4, 0, 0.1, ["b", "c"], {"fault": "second.mid", "other": "third.mid"}))
    assert (both.inputs, both.read, both.used, both.slowest_s) == (7, 6, 1, 0.5)
    assert both.behaviours == ["a", "b", "c"]
    assert both.crashes == {"fault": "first.mid", "other": "third.mid"}
    text = report("reader", both, 60)
    assert "7 inputs in 60 s" in text
    assert "2 crashes:" in text
    assert "first.mid" in text
    assert Tally.load(tmp_path / "none.json") == Tally()


def test_one_file_can_be_tried_again(tmp_path: Path) -> None:
    path = tmp_path / "again.toml"
    path.write_text("level = 3\n")
    command = [sys.executable, "-m", "tests.fuzzing", "brief", "--again", str(path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "1 inputs" in done.stdout
    assert "0 crashes." in done.stdout


@pytest.mark.slow
@pytest.mark.skipif(
    find_spec("atheris") is None, reason="the engine of the extra 'fuzz' is missing"
)
def test_a_short_run_of_the_engine_tries_inputs_and_ends() -> None:
    command = [sys.executable, "-m", "tests.fuzzing", "roster", "--minutes", "0.1"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    # What it finds is chance; that it says so is not.
    assert done.returncode == int("\n0 crashes." not in done.stdout), done.stderr
    inputs = int(done.stdout.split()[1].replace(",", ""))
    assert inputs > 20
