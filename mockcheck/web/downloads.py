"""Everything a person takes away from a review, as named bytes."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from mockcheck.model.review import Review
from mockcheck.report.handouts import HANDOUTS, Files


@dataclass(frozen=True)
class Download:
    """One file to take away: its name, what it is for, and its content."""

    name: str
    purpose: str
    content: bytes


def make_downloads(
    review: Review, content: bytes, stem: str
) -> tuple[tuple[Download, ...], tuple[str, ...]]:
    """Every export of a review; one that fails does not take the others with it.

    Parameters
    ----------
    review
        The review of the file.
    content
        The bytes of the same file.
    stem
        What the names begin with.

    Returns
    -------
    The files, and what each export that could not be made would have been.
    """
    made: list[Download] = []
    failed: list[str] = []
    writers = {purpose: partial(write, review) for purpose, write in _WRITERS.items()}
    for name, purpose in _EXPORTS.items():
        writers[purpose] = partial(_handed_out, name, review, content)
    for purpose, write in writers.items():
        try:
            files = [Download(f"{stem}.{name}", purpose, data) for name, data in write()]
        except Exception:  # noqa: BLE001  # whatever one export trips over, the others are wanted
            failed.append(purpose)
            continue
        made += files
    return tuple(made), tuple(failed)


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Files as one archive; the same files give the same bytes."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            # ZipInfo without a date has the first one a ZIP file knows.
            archive.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
    return buffer.getvalue()


def _page(review: Review) -> Files:
    from mockcheck.report.page import render_page

    yield "review.html", render_page(review).encode()


def _json(review: Review) -> Files:
    from mockcheck.report.review_json import render_json

    yield "review.json", render_json(review).encode()


def _tables(review: Review) -> Files:
    from mockcheck.report.tables import write_tables

    with tempfile.TemporaryDirectory() as folder:
        write_tables(review, Path(folder))
        tables = {path.name: path.read_bytes() for path in sorted(Path(folder).iterdir())}
    yield "tables.zip", zipped(tables)


def _brief(review: Review) -> Files:
    from mockcheck.report.brief import render_brief

    yield "guesses.toml", render_brief(review.played).encode()


_EXPORTS = {
    "markers": "Markers for the sequencer, to import on top of the project",
    "spotting": "Spotting sheet: the findings by bar, beat and timecode",
    "booth": "For the booth: pre-records, headphones, players and desks",
    "players-copy": (
        "Players' copy: the music with what cannot be played thinned or divided, and each change"
    ),
    "page-notes": "Page notes: what to mark in each part, and what to ask",
    "musicxml": "The score as MusicXML, spelled to be read",
    "spots": "The bars of each finding as MusicXML",
}
_WRITERS: dict[str, Callable[[Review], Files]] = {
    "The review as one page, to keep or to send": _page,
    "The review for scripts": _json,
    "Five tables for a spreadsheet: findings, tracks, strokes, slides, reading": _tables,
    "A brief with every guess written down, to correct in a text editor": _brief,
}


def _handed_out(name: str, review: Review, content: bytes) -> Files:
    files = HANDOUTS[name](review, content)
    if name != "spots":
        yield from files
    elif bars := dict(files):
        yield "spots.zip", zipped(bars)
