"""What is fuzzed: files that come from outside, and what the product does with each."""

from __future__ import annotations

import random
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path, PurePosixPath
from typing import Any

from mockcheck.checks._registry import all_checks
from mockcheck.config import session_from_file
from mockcheck.grade.music import music_of
from mockcheck.grade.points import grade_submission
from mockcheck.grade.roster import read_roster, students_of
from mockcheck.grade.rubric import default_rubric_text, read_rubric
from mockcheck.grade.submission import Piece, Submission
from mockcheck.model.finding import Outcome
from mockcheck.model.record import ReviewRecord
from mockcheck.model.session_time import SessionTime
from mockcheck.pipeline import Brief, review
from mockcheck.read import load
from mockcheck.report.brief import render_brief
from mockcheck.report.review_json import render_json
from mockcheck.report.terminal import render_terminal
from tests.fuzzing.toml_mutation import dump, mutate_toml, vocabulary
from tests.phrases import midi_bytes
from tests.read.mutating import QUIRKS, assert_sound, mutate, sources

DEMO = QUIRKS.parent / "demo"
PLAYED = DEMO / "harbour_at_dawn.mid"
_SMALL = "small.mid"
_PHRASES = (
    "Violin 1 4/4 q=100 | C1:1/8 E5:7/8> G5:1 (A5:1/4 B5:1/4 C6:1/4 D6:1/4) E1:1/8 C6:7/8 | F3:4 |",
    "Violin 2 4/4 | G3+D4+B4:2 A4:1/8 A4:1/8 A4:1/8 A4:1/8 A4:1/2 r:1 | C5:1> E5:3 |",
    "Viola 4/4 | C4:4 | cc1@1=20 cc1@3=90 E4:4 |",
    "Cello 4/4 program=45 | C2:1 G2:1 C3:1 E3:1 | C3+E3:4 |",
    "Double Bass 4/4 | E1:4 | A1:2 C1:2 |",
)
"""What damaged briefs are tried on: the parts of the demo in two bars, with switches."""
_CONDITIONS: Mapping[str, Mapping[str, Any]] = {
    "bars": {"at_least": 8, "at_most": 64},
    "played_bars": {"at_least": 32},
    "length_s": {"at_least": 10, "at_most": 600},
    "parts": {"at_least": 4},
    "articulations": {"at_least": 2, "each_s": 1.5},
    "instruments": {"names": ["violin", "viola", "cello"]},
    "within_range": {"severity": "risky", "at_most": 1},
    "dynamics": {"at_most": 0},
    "no_findings": {"family": "bow", "severity": "awkward", "at_most": 2},
    "headroom": {"at_least": 1.1},
}
"""Each kind of condition that a rubric may ask, with its numbers."""

_HOUSES: Mapping[str, str] = {
    "house.toml": 'extends = "school.toml"\nlevel = "rehearsed"\n[[tracks]]\nmatch = "V*"\n',
    "school.toml": 'style = "romantic"\n[players]\n"Viola" = 4\n',
    "circle.toml": 'extends = "circle.toml"\n',
    "broken.toml": "level =\n",
}
"""Briefs that the one tried may extend."""
_ROSTERS = (
    "student,file,id\nAda,Ada/quartet.mid,1\nBen,ben.mid,2\nCleo,,3\n",
    "\ufeffName;Filename\nÉva;Eva - trio.mid\n\nDov\tOr;dov.mid\n",
    '"name"|"number"\n"Ada ""A."" B"|7\n',
)
_HANDED_IN = ("Ada/quartet.mid", "ben.mid", "Cleo - duo.mid", "Eva - trio.mid", "nobody.mid")
_QUOTED = re.compile(r"'[^']*'|\"[^\"]*\"")
_LIST_LINE = re.compile(r"^  - .*?: ")
_FOUND = re.compile(r" \(found .*")
_ASIDE = re.compile(r"\(.*\)")
_DIGITS = re.compile(r"\d[\d,]*")


@dataclass(frozen=True)
class Target:
    """One kind of file.

    `read` and `use` try one file and tell what was seen, in words that name the behaviour and
    not the file; what they raise, a UserError apart, is a crash. `use` is what follows on a file
    that could be read, and takes much longer. `beside` are files that lie in the same folder, by
    their names; `tokens` are bytes that the engine is told of.
    """

    suffix: str
    seeds: Callable[[], list[bytes]]
    read: Callable[[Path], Iterator[str]]
    use: Callable[[Path], Iterator[str]]
    mutate: Callable[[bytes, random.Random], bytes | None]
    tokens: tuple[bytes, ...] = ()
    beside: Mapping[str, bytes] = field(default_factory=dict)


def behaviours_of(message: str) -> Iterator[str]:
    """A message line by line without what it quotes: names, values, places and numbers."""
    for line in message.splitlines():
        plain = _ASIDE.sub("", _FOUND.sub("", _LIST_LINE.sub("  - ", line)))
        yield "refused: " + _DIGITS.sub("#", _QUOTED.sub("'...'", plain)).strip()


def _read_music(path: Path) -> Iterator[str]:
    score = load(path)
    assert_sound(score, path.stat().st_size)
    yield from (f"warning: {warning.code}" for warning in score.warnings)


def _review_music(path: Path, brief: Brief = None) -> Iterator[str]:
    result = review(path, brief)
    render_json(result)
    render_terminal(result, colour=False, width=100)
    crashed = [row for row in result.outcomes if row.outcome is Outcome.CRASHED]
    assert not crashed, crashed[0].reason
    yield from (f"found: {finding.check}" for finding in result.findings)


def _read_brief(path: Path) -> Iterator[str]:
    session_from_file(path)
    yield "brief understood"


def _review_with_brief(path: Path) -> Iterator[str]:
    yield from _review_music(path.with_name(_SMALL), path)


def _read_rubric(path: Path) -> Iterator[str]:
    rubric = read_rubric(path)
    yield from (f"asks: {row.kind}" for row in (*rubric.requirements, *rubric.bonuses))


def _grade_with_rubric(path: Path) -> Iterator[str]:
    rubric = read_rubric(path)
    grade = grade_submission(_submission(), rubric)
    assert 0 <= grade.points <= rubric.total
    rubric.word_for(grade.points)
    yield f"cap reached: {any(charge.lost == 0 for charge in grade.charges)}"


@cache
def _submission() -> Submission:
    result = review(PLAYED, DEMO / "brief.toml")
    piece = Piece(PLAYED.name, ReviewRecord.of(result), music_of(result.played))
    return Submission("Ada", (piece,))


def _read_roster(path: Path) -> Iterator[str]:
    read_roster(path)
    yield "roster understood"


def _share_out(path: Path) -> Iterator[str]:
    students = students_of(_HANDED_IN, read_roster(path))
    # Whatever the roster says, no file may get lost or be counted twice.
    assert sorted(file for row in students for file in row.files) == sorted(_HANDED_IN)
    assert all(PurePosixPath(file).name for row in students for file in row.files)
    yield f"unlisted: {sum(not row.is_listed for row in students)}"


def _music_seeds() -> list[bytes]:
    return [*sources(), PLAYED.read_bytes()]


def brief_seeds() -> list[bytes]:
    """Briefs that hold every key, every check's parameters, and what a starter brief holds."""
    params = {name: check.params().model_dump() for name, check in all_checks().items()}
    every = {"checks": params, "session_time": SessionTime().model_dump()}
    starter = render_brief(review(PLAYED).played)
    whole = Path(__file__).with_name("whole_brief.toml")
    demo = (DEMO / "brief.toml").read_bytes()
    ends = [dump({"extends": name}).encode() for name in _HOUSES]
    few = [dump({"checks": {name: numbers}}).encode() for name, numbers in params.items()]
    return [whole.read_bytes(), demo, starter.encode(), dump(every).encode(), *few, *ends]


def _beside_a_brief() -> dict[str, bytes]:
    houses = {name: text.encode() for name, text in _HOUSES.items()}
    return {**houses, _SMALL: midi_bytes(*_PHRASES)}


def rubric_seeds() -> list[bytes]:
    rows = [{"kind": kind, "points": 3, **numbers} for kind, numbers in _CONDITIONS.items()]
    words = [{"word": "good", "from": 50}, {"word": "weak", "from": 0}]
    lists = {"requirements": rows, "bonuses": rows[::-1], "words": words}
    one_each = [dump({"requirements": [row]}).encode() for row in rows]
    return [default_rubric_text().encode(), dump(lists).encode(), *one_each]


def _roster_seeds() -> list[bytes]:
    encodings = ("utf-8", "cp1252", "utf-16")
    return [text.encode(code, "replace") for text in _ROSTERS for code in encodings]


def words_of(seeds: Sequence[bytes]) -> list[tuple[str, Any]]:
    """All keys of all seeds, with the values that stand there."""
    return [row for seed in seeds for row in vocabulary(tomllib.loads(seed.decode("utf-8")))]


def _mutate_brief(data: bytes, rng: random.Random) -> bytes | None:
    return mutate_toml(data, _words("brief"), rng)


def _mutate_rubric(data: bytes, rng: random.Random) -> bytes | None:
    return mutate_toml(data, _words("rubric"), rng)


@cache
def _words(target: str) -> list[tuple[str, Any]]:
    return words_of(TARGETS[target].seeds())


def _leave_to_engine(_data: bytes, _rng: random.Random) -> bytes | None:
    return None


TARGETS = {
    "reader": Target(
        ".mid",
        _music_seeds,
        _read_music,
        _review_music,
        mutate,
        (b"MTrk", b"MThd", b"\xff\x2f\x00"),
    ),
    "brief": Target(
        ".toml",
        brief_seeds,
        _read_brief,
        _review_with_brief,
        _mutate_brief,
        beside=_beside_a_brief(),
    ),
    "rubric": Target(".toml", rubric_seeds, _read_rubric, _grade_with_rubric, _mutate_rubric),
    "roster": Target(
        ".csv", _roster_seeds, _read_roster, _share_out, _leave_to_engine, (b"student", b"file")
    ),
}
