"""All parts of a score spelled together: keys first, then each line, then its fast figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.easy_spelling import easiest_spelling
from mockcheck.infer.keys import KeyAreas, SignatureInForce, find_keys, judge_signatures
from mockcheck.infer.quick_lines import bars_of, quick_lines
from mockcheck.infer.spelling import LineToSpell, spell
from mockcheck.model.played import PlayedPart
from mockcheck.model.score import Score
from mockcheck.model.spelled import SpellingColumns

QUICK_NOTES_PER_S = 5.0
"""From here on a player reads shapes, not notes; semiquavers at quarter = 75. From memory."""
_LEAST_QUICK_NOTES = 4
_FLATTEST_IMPORTED = -3
"""What knows only the signature prints E flat, B flat, F sharp, C sharp and G sharp in C major."""
_QUARTERS_PER_S = 2.0
"""Where a file counts frames, half a second stands for a quarter."""


def spell_parts(score: Score, parts: Sequence[PlayedPart]) -> tuple[PlayedPart, ...]:
    """The parts of a score with their spelling filled in; they share keys and tonal centre."""
    signatures = signatures_in_force(score, parts)
    areas = key_areas(parts, signatures)
    # Keys heard from the notes add nothing to the tonal centre, which comes from them as well.
    is_believed = bool(signatures) and all(signature.is_believed for signature in signatures)
    rows = [(number, own) for number, part in enumerate(parts) for own in _lines(part)]
    lines = []
    for number, own in rows:
        notes = parts[number].notes
        onset = _quarters(parts[number], notes.onset_ticks[own])
        key = areas.at(onset) if is_believed else None
        lines.append(LineToSpell(notes.pitch[own].astype(np.int64), onset, key))
    fifths = [np.zeros(len(part.notes), np.int64) for part in parts]
    for (number, own), places in zip(rows, spell(lines), strict=True):
        fifths[number][own] = places
    return tuple(
        replace(part, spelling=_columns(part, places, areas, signatures))
        for part, places in zip(parts, fifths, strict=True)
    )


def _lines(part: PlayedPart) -> list[NDArray[np.int64]]:
    """Notes of each line of a part, in order of time: divided players read only their own."""
    if part.lines is None:
        return [np.arange(len(part.notes))]
    line = part.lines.read_line
    return [np.flatnonzero(line == own) for own in np.unique(line).tolist()]


def signatures_in_force(score: Score, parts: Sequence[PlayedPart]) -> list[SignatureInForce]:
    """The file's key signatures and what the notes say about them; none where no part plays."""
    if not parts or not score.key_signatures:
        return []
    keys = sorted(score.key_signatures, key=lambda key: key.tick)
    begins = _quarters(parts[0], np.array([key.tick for key in keys], np.int64))
    quarters, pitch = _together(parts)
    return judge_signatures(
        quarters, pitch, [(float(at), key.sharps) for at, key in zip(begins, keys, strict=True)]
    )


def key_areas(parts: Sequence[PlayedPart], signatures: Sequence[SignatureInForce]) -> KeyAreas:
    """The signature that suits each stretch of the music of all parts."""
    return find_keys(*_together(parts), signatures)


def as_imported(pitch: NDArray[np.int64], signature: NDArray[np.int64]) -> NDArray[np.int64]:
    """Places on the line of fifths as an import prints them that knows only the signature."""
    flattest = signature + _FLATTEST_IMPORTED
    return flattest + (7 * pitch - flattest) % 12


def _columns(
    part: PlayedPart,
    fifths: NDArray[np.int64],
    areas: KeyAreas,
    signatures: Sequence[SignatureInForce],
) -> SpellingColumns:
    quarters = _quarters(part, part.notes.onset_ticks)
    pitch = part.notes.pitch.astype(np.int64)
    keys = areas.at(quarters)
    begins = np.array([signature.from_quarters for signature in signatures])
    written = np.array([0, *(signature.fifths for signature in signatures)])
    row = np.searchsorted(begins, quarters + 1e-9, side="right")
    signature = written[row]
    easy = fifths.copy()
    for quick in quick_lines(part, QUICK_NOTES_PER_S, _LEAST_QUICK_NOTES):
        for rows in bars_of(part, quick):
            easy[rows] = easiest_spelling(pitch[rows], easy[rows], int(keys[rows[0]]))
    return SpellingColumns(
        fifths=easy.astype(np.int8),
        as_imported=as_imported(pitch, signature).astype(np.int8),
        key_fifths=keys.astype(np.int8),
        signature_fifths=signature.astype(np.int8),
        has_signature=row > 0,
    )


def _together(parts: Sequence[PlayedPart]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Onsets in quarters and pitches of all parts, in order of time."""
    if not parts:
        return np.empty(0), np.empty(0, np.int64)
    quarters = np.concatenate([_quarters(part, part.notes.onset_ticks) for part in parts])
    pitch = np.concatenate([part.notes.pitch.astype(np.int64) for part in parts])
    order = np.argsort(quarters, kind="stable")
    return quarters[order], pitch[order]


def _quarters(part: PlayedPart, ticks: NDArray[np.int64]) -> NDArray[np.float64]:
    meter = part.timeline.meter
    if meter is None:
        return part.timeline.tempo.seconds_at(ticks) * _QUARTERS_PER_S
    return ticks / meter.ticks_per_quarter
