"""Notes named as they are spelled, for messages about reading; no measuring."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import spelled_name, spoken_name


def names(part: PlayedPart, rows: NDArray[np.int64], fifths: NDArray[np.integer]) -> str:
    """'C5, D#5 and E5': notes of a part as spelled, each once, in order of time."""
    called = [
        spelled_name(int(part.notes.pitch[row]), int(place), part.session.middle_c_octave)
        for row, place in zip(rows, fifths, strict=True)
    ]
    return joined(list(dict.fromkeys(called)))


def joined(words: list[str]) -> str:
    """'A, B and C'."""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def in_row(part: PlayedPart, pitch: NDArray[np.int64], fifths: NDArray[np.integer]) -> str:
    """'C5 D#5 E5': pitches as spelled, one after the other, as this user names octaves."""
    return " ".join(
        spelled_name(int(one), int(place), part.session.middle_c_octave)
        for one, place in zip(pitch, fifths, strict=True)
    )


def signature_name(fifths: int) -> str:
    """'two sharps', 'one flat', 'no sharps or flats'."""
    if fifths == 0:
        return "no sharps or flats"
    count = ("", "one", "two", "three", "four", "five", "six", "seven")[min(abs(fifths), 7)]
    sign = "sharp" if fifths > 0 else "flat"
    return f"{count} {sign}{'s' if abs(fifths) > 1 else ''}"


def major_and_minor(fifths: int) -> str:
    """'G major or E minor': the two keys of a signature."""
    return f"{spoken_name(fifths)} major or {spoken_name(fifths + 3)} minor"
