"""How well points rank a class: the rank correlation with the mistakes that were put in.

`python -m tests.grade.figures` prints it for five classes of forty, none of which any number of
the rubric was chosen on.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

import click
import numpy as np
import pandas as pd

from mockcheck.archive.files import find_files
from mockcheck.cli._pieces import pieces_of
from mockcheck.grade.points import grade_submission
from mockcheck.grade.rubric import read_rubric
from mockcheck.grade.submission import Submission
from mockcheck.pipeline import session_for
from tests.grade.classroom import pupils, write_class

SEEDS = ("graded class", "f1", "f2", "f3", "f4")
STUDENTS = 40


def rank_correlation(one: Sequence[float], other: Sequence[float]) -> float:
    """Spearman's, ties in the middle of their ranks."""
    ranks = [pd.Series(values).rank().to_numpy() for values in (one, other)]
    return float(np.corrcoef(ranks[0], ranks[1])[0, 1])


def correlation_of(seed: str, students: int = STUDENTS) -> float:
    """Points lost against the severity of what was put in, over one class."""
    rows = pupils(seed, students)
    with tempfile.TemporaryDirectory() as folder:
        write_class(Path(folder), rows)
        files = find_files([Path(folder)]).files
        pieces, _ = pieces_of(files, session_for(None), 2, None)
    rubric = read_rubric(None)
    lost = [
        rubric.total
        - grade_submission(
            Submission(row.name, (pieces[f"{row.name} - quartet.mid"],)), rubric
        ).points
        for row in rows
    ]
    return rank_correlation([row.severity for row in rows], lost)


if __name__ == "__main__":
    for seed in SEEDS:
        click.echo(f"{seed}: {correlation_of(seed):.3f}")
