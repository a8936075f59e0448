"""`python -m tests.accuracy` measures everything and writes reports/accuracy.md."""

from __future__ import annotations

import argparse
import sys
import time

from tests.accuracy import corpus, false_alarms, metamorphic, real_files, recall
from tests.accuracy.figures import Measured
from tests.accuracy.sections import write_report

TARGET = corpus.ROOT / "reports" / "accuracy.md"
PLACES, WHOLE_FILES, PIECES = 200, 16, 16
_STARTED = time.perf_counter()


def _say(text: str) -> None:
    sys.stderr.write(f"{time.perf_counter() - _STARTED:6.1f} s  {text}\n")


def measure() -> Measured:
    """Run every item; progress goes to stderr."""
    fixtures = corpus.fixture_quartets()
    with corpus.cache_folder() as folder:
        _say("converting printed scores")
        scores = corpus.music21_works(folder)
        _say("reviewing published music")
        quartets = false_alarms.measure_alarms(corpus.open_quartets())
        music21 = false_alarms.measure_alarms(scores)
    _say("putting in faults")
    injected = recall.measure_recall(fixtures, PLACES)
    whole = recall.measure_whole_files(fixtures, WHOLE_FILES)
    _say("changes with a known effect")
    trials = metamorphic.measure_relations(fixtures, PIECES)
    _say("files from the wild")
    files = real_files.measure_files([*real_files.quirk_files(), *real_files.real_midi_files()])
    return Measured(quartets, music21, injected, whole, trials, files)


def main() -> None:
    """Measure and write; there is nothing to choose."""
    argparse.ArgumentParser(prog="python -m tests.accuracy", description=__doc__).parse_args()
    text = write_report(measure())
    TARGET.parent.mkdir(exist_ok=True)
    TARGET.write_text(text, encoding="utf-8")
    _say(f"written: {TARGET.relative_to(corpus.ROOT)}")


if __name__ == "__main__":
    main()
