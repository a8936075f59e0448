"""The files that are timed, made anew at each run, and the real ones if they are at hand."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.dense_mockup import dense_mockup
from tests.timings.readers import READERS


def dense(*, drawn: bool) -> bytes:
    """Twelve tracks, ten minutes, half a million events; curves drawn or noise."""
    return dense_mockup(
        running=True, parts=12, notes=1200, curve_events=39_265, minutes=10, drawn=drawn
    )


def write_sizes(folder: Path) -> dict[str, Path]:
    """A small, a middle and a dense file, by what they are called in the report."""
    sizes = {
        "small: 2 tracks, 1,000 events": dense_mockup(
            running=True, parts=2, notes=60, curve_events=380, minutes=0.5, drawn=True
        ),
        "middle: 5 tracks, 50,000 events": dense_mockup(
            running=True, parts=5, notes=400, curve_events=9200, minutes=4, drawn=True
        ),
        "dense: 12 tracks, 500,000 events": dense(drawn=True),
    }
    paths = {}
    for number, (name, content) in enumerate(sizes.items()):
        paths[name] = folder / f"size-{number}.mid"
        paths[name].write_bytes(content)
    return paths


@dataclass(frozen=True)
class RealFiles:
    """Some files of other people's, and from how many they were chosen.

    Parameters
    ----------
    chosen
        The smallest, the middle and the largest of those that every reader can read.
    readable, found
        How many those are, and how many files there are.
    """

    chosen: Mapping[str, Path]
    readable: int
    found: int


def real_files() -> RealFiles:
    """The files in the folder that MOCKCHECK_REAL_MIDI names; none without it."""
    folder = os.environ.get("MOCKCHECK_REAL_MIDI")
    found = sorted(Path(folder).glob("*.mid")) if folder else []
    readable = [path for path in found if all(reader.can(path) for reader in READERS.values())]
    readable.sort(key=lambda path: path.stat().st_size)
    few = [readable[0], readable[len(readable) // 2], readable[-1]] if readable else []
    chosen = {f"real: {path.stem}, {path.stat().st_size / 1000:.0f} kB": path for path in few}
    return RealFiles(chosen, len(readable), len(found))
