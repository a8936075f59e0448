"""Published music that players do play, as MIDI files, and where each file comes from.

Three sources: four quartets kept with the tests (CC0); all 26 when the environment variable
MOCKCHECK_QUARTETS names their folder; the string works of the corpus that the music21 package
installs, read where they lie and never copied. Converted scores go to the folder that
MOCKCHECK_SCORES names, or to a temporary one.
"""

from __future__ import annotations

import csv
import importlib.metadata
import importlib.util
import os
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.accuracy.midi_music import Music, Part, read_music, write_music
from tests.accuracy.printed_scores import read_score
from tests.accuracy.two_processes import spread

ROOT = Path(__file__).parent.parent.parent
FIXTURES = ROOT / "fixtures" / "quartets"

MUSIC21_WORKS = (
    *(f"bach/{name}.mxl" for name in (
        "bwv136.6", "bwv171.6", "bwv172.6", "bwv185.6", "bwv190.7-inst", "bwv248.42-4",
        "bwv248.64-6", "bwv31.9", "bwv41.6", "bwv59.3", "bwv70.11", "bwv95.7", "bwv97.9",
    )),
    *(f"beethoven/opus{number}.mxl" for number in ("132", "133", "18no3", "18no4", "18no5", "74")),
    *(
        f"beethoven/opus{number}/movement{movement}.mxl"
        for number in ("18no1", "59no1", "59no2", "59no3")
        for movement in (1, 2, 3, 4)
    ),
    "corelli/opus3no1/1grave.xml",
    *(f"haydn/opus1no1/movement{movement}.mxl" for movement in (1, 2, 3, 4, 5)),
    *(f"haydn/opus74no1/movement{movement}.mxl" for movement in (1, 2, 3, 4)),
    *(f"mozart/k155/movement{movement}.mxl" for movement in (1, 2, 3)),
    *(
        f"mozart/{number}/movement{movement}.mxl"
        for number in ("k156", "k458", "k80")
        for movement in (1, 2, 3, 4)
    ),
    "schumann_clara/opus17/movement3.xml",
    *(f"schumann_robert/opus41no1/movement{movement}.mxl" for movement in (1, 2, 3, 4, 5)),
)  # fmt: skip
"""Every score of the corpus with parts for bowed strings, twins in another format left out."""


@dataclass(frozen=True)
class Work:
    """One piece as a MIDI file; `tempo_from` says whose tempo it has."""

    name: str
    source: str
    path: Path
    tempo_from: str
    notes: int
    parts: tuple[str, ...]


def _work(path: Path, name: str, source: str, tempo_from: str) -> Work:
    music = read_music(path)
    notes = sum(len(part.notes) for part in music.parts)
    return Work(name, source, path, tempo_from, notes, tuple(part.name for part in music.parts))


def fixture_quartets() -> list[Work]:
    """The four quartets that are always there."""
    case = tomllib.loads((FIXTURES / "case.toml").read_text(encoding="utf-8"))
    return [
        _work(FIXTURES / row["music"], row["work"], "open quartets", "score")
        for row in case["quartets"]
    ]


def open_quartets() -> list[Work]:
    """The folder of MOCKCHECK_QUARTETS, or the four of the fixtures without it."""
    folder = os.environ.get("MOCKCHECK_QUARTETS")
    if folder is None:
        return fixture_quartets()
    with (Path(folder) / "INDEX.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    return [
        _work(Path(folder) / row["file"], _readable(row["work"]), "open quartets", "score")
        for row in rows
    ]


def _readable(work: str) -> str:
    composer, _, title = work.partition("/")
    return f"{composer.partition(',')[0]}, {title}".replace("_", " ")


def music21_folder() -> Path | None:
    spec = importlib.util.find_spec("music21")
    if spec is None or not spec.submodule_search_locations:
        return None
    return Path(spec.submodule_search_locations[0]) / "corpus"


def _convert(job: tuple[str, Path, Path]) -> Work:
    name, score, target = job
    music, tempo_from = read_score(score)
    write_music(music, target)
    return _work(target, name.rpartition(".")[0], "music21 corpus", tempo_from)


def music21_works(folder: Path, names: tuple[str, ...] = MUSIC21_WORKS) -> list[Work]:
    """String works of the installed music21 corpus, converted into `folder`; none without it."""
    corpus = music21_folder()
    if corpus is None:
        return []
    jobs = [
        (name, corpus / name, folder / (name.replace("/", "_").rpartition(".")[0] + ".mid"))
        for name in names
    ]
    return spread(_convert, jobs)


def music21_version() -> str:
    """The version whose corpus was read, 'not installed' without one."""
    if music21_folder() is None:
        return "not installed"
    return importlib.metadata.version("music21")


@contextmanager
def cache_folder() -> Iterator[Path]:
    """Where converted scores go: MOCKCHECK_SCORES, or a folder that is removed afterwards."""
    named = os.environ.get("MOCKCHECK_SCORES")
    if named:
        Path(named).mkdir(parents=True, exist_ok=True)
        yield Path(named)
        return
    with tempfile.TemporaryDirectory(prefix="accuracy-") as folder:
        yield Path(folder)


def general_midi_program(part_name: str) -> int:
    """Program of a part by its name, from 0 (General MIDI System Level 1: 41-44 are the bowed)."""
    for word, program in (("Violoncello", 42), ("Cello", 42), ("Viola", 41), ("Violin", 40)):
        if part_name.startswith(word):
            return program
    message = f"no General MIDI program is known for a part named '{part_name}'"
    raise ValueError(message)


def instrument_of(part: Part) -> str:
    """The instrument that plays a part of this corpus."""
    return {40: "violin", 41: "viola", 42: "cello"}[general_midi_program(part.name)]


def load_music(work: Work) -> Music:
    """A work as plain lists."""
    return read_music(work.path)
