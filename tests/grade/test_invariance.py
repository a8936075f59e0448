"""Points hang on the music and on nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from mockcheck.cli._pieces import piece_of
from mockcheck.grade.points import Grade, grade_submission
from mockcheck.grade.rubric import read_rubric
from mockcheck.grade.submission import Submission
from mockcheck.pipeline import session_for
from tests.accuracy.midi_music import Music, write_music
from tests.grade.classroom import Pupil, pupils

BAR = 4 * 480


@cache
def faulty() -> tuple[Pupil, ...]:
    """Students with several mistakes, the same in every run."""
    return tuple(row for row in pupils("invariance", 12) if len(row.faults) > 2)[:2]


def grade(music: Music, folder: Path, name: str = "piece.mid", smf_format: int = 1) -> Grade:
    path = write_music(music, folder / name, smf_format)
    own = piece_of(path, name, session_for(None))
    return grade_submission(Submission("Ada", (own,)), read_rubric(None))


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> list[Grade]:
    """The grades of the music as it was handed in."""
    folder = tmp_path_factory.mktemp("before")
    return [grade(row.music, folder) for row in faulty()]


def losses(graded: Grade) -> list[tuple[str, str, int]]:
    """What was lost, on the page or not, whatever it is called and wherever it stands."""
    rows = [(c.mark.finding.check, c.mark.finding.severity.label, c.lost) for c in graded.charges]
    return sorted(rows)


def later(music: Music, bars: int) -> Music:
    ticks = bars * BAR
    return replace(
        music,
        tempos=tuple((tick + ticks if tick else 0, tempo) for tick, tempo in music.tempos),
        parts=tuple(
            replace(
                part,
                notes=tuple(
                    replace(n, onset=n.onset + ticks, release=n.release + ticks) for n in part.notes
                ),
                events=tuple((tick + ticks if tick else 0, m) for tick, m in part.events),
            )
            for part in music.parts
        ),
    )


def told_again(music: Music) -> Music:
    """The tempo map says in every bar what holds already."""
    tempo = music.tempos[0][1]
    return replace(music, tempos=tuple((bar * BAR, tempo) for bar in range(10)))


def finer(music: Music) -> Music:
    """Twice the ticks in a quarter note."""
    return replace(
        music,
        ticks_per_quarter=960,
        parts=tuple(
            replace(
                part,
                notes=tuple(
                    replace(n, onset=2 * n.onset, release=2 * n.release) for n in part.notes
                ),
                events=tuple((2 * tick, m) for tick, m in part.events),
            )
            for part in music.parts
        ),
    )


CHANGES: dict[str, Callable[[Music], Music]] = {
    "track order": lambda music: replace(music, parts=music.parts[::-1]),
    "two empty bars in front": lambda music: later(music, 2),
    "tempo told again": told_again,
    "finer ticks": finer,
}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("number", range(2))
def test_points_do_not_hang_on(
    change: str, number: int, before: list[Grade], tmp_path: Path
) -> None:
    after = grade(CHANGES[change](faulty()[number].music), tmp_path)
    assert before[number].lost_to_findings > 0
    assert losses(after) == losses(before[number])
    assert after.points == before[number].points


@pytest.mark.parametrize("number", range(2))
def test_points_do_not_hang_on_the_format_or_the_name(
    number: int, before: list[Grade], tmp_path: Path
) -> None:
    after = grade(faulty()[number].music, tmp_path, name="another name.MIDI", smf_format=0)
    assert losses(after) == losses(before[number])
    assert after.points == before[number].points
