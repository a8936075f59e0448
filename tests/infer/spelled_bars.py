"""A part made from the names that an edition prints."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import SpellingColumns
from mockcheck.units import pitch_from_name
from tests.reading.printed_spelling import fifths_of
from tests.report.synthetic import BAR, VIOLIN, part_of


def printed(bars: Sequence[Sequence[tuple[str, float]]], key: int = 0) -> PlayedPart:
    """A part as an edition spells it: in each bar names with their places, at most 16."""
    rows = [
        (pitch_from_name(name), round(BAR * (bar + place / 16)), name)
        for bar, notes in enumerate(bars)
        for name, place in notes
    ]
    rows.sort(key=lambda row: (row[1], row[0]))
    part = part_of("Violin 1", VIOLIN, [(note, tick, tick + 10) for note, tick, _ in rows])
    fifths = np.array([fifths_of(name) for _, _, name in rows], np.int8)
    keys = np.full(len(rows), key, np.int8)
    spelling = SpellingColumns(fifths, fifths.copy(), keys, keys.copy(), np.ones(len(rows), bool))
    return replace(part, spelling=spelling)
