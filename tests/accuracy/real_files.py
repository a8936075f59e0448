"""What happens to files from the wild: nothing may crash, and each outcome is a line.

The real files stay outside the project, because their licences differ; the folder is named by the
environment variable MOCKCHECK_REAL_MIDI. The odd files of fixtures/quirks are always there.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import mockcheck
from mockcheck.errors import UserError
from tests.accuracy.corpus import ROOT
from tests.accuracy.reviewing import SEVERITIES
from tests.accuracy.two_processes import spread

QUIRKS = ROOT / "fixtures" / "quirks"
SUFFIXES = {".mid", ".midi", ".rmi", ".smf"}


@dataclass(frozen=True)
class FileOutcome:
    """One file: 'reviewed', 'refused' with the reason in plain words, or 'crashed'."""

    group: str
    name: str
    outcome: str
    reason: str = ""
    reviewed: int = 0
    left_out: int = 0
    warnings: int = 0
    findings: tuple[int, ...] = (0, 0, 0, 0)


def review_outcome(job: tuple[str, Path]) -> FileOutcome:
    """Review one file and put down what became of it; a crash inside a check is a crash."""
    group, path = job
    try:
        review = mockcheck.review(path)
    except UserError as error:
        reason = str(error).replace(str(path), path.name).splitlines()[0]
        return FileOutcome(group, path.name, "refused", reason)
    except Exception as error:  # noqa: BLE001  the point is that none ever comes
        return FileOutcome(group, path.name, "crashed", f"{type(error).__name__}: {error}")
    crashed = {f"{row.check}" for row in review.outcomes if row.outcome == "crashed"}
    severities = [finding.severity.label for finding in review.findings]
    return FileOutcome(
        group,
        path.name,
        "crashed" if crashed else "reviewed",
        ", ".join(sorted(crashed)),
        sum(track.left_out is None for track in review.tracks),
        sum(track.left_out is not None for track in review.tracks),
        len(review.played.score.warnings),
        tuple(severities.count(severity) for severity in SEVERITIES),
    )


def quirk_files() -> list[tuple[str, Path]]:
    """The odd files kept with the tests; none where the folder is missing."""
    return [("quirks", path) for path in sorted(QUIRKS.glob("*")) if path.suffix in SUFFIXES]


def real_midi_files() -> list[tuple[str, Path]]:
    """The folder of MOCKCHECK_REAL_MIDI; none without it."""
    folder = os.environ.get("MOCKCHECK_REAL_MIDI")
    if folder is None:
        return []
    found = sorted(Path(folder).rglob("*"))
    return [("real files", path) for path in found if path.suffix in SUFFIXES]


def measure_files(files: Sequence[tuple[str, Path]]) -> list[FileOutcome]:
    """Review every file."""
    return spread(review_outcome, files, 4)
