"""Files made from a review for the next person, as names and bytes, for commands and pages."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from mockcheck.model.review import Review

if TYPE_CHECKING:
    import mido

Files = Iterator[tuple[str, bytes]]
"""Names to go behind the name of the mock-up, and contents."""


def _markers(review: Review, _: bytes) -> Files:
    from mockcheck.export.markers import marker_file

    yield "markers.mid", _midi(marker_file(review))


def _spotting(review: Review, _: bytes) -> Files:
    from mockcheck.export.spotting import spotting_csv

    yield "spotting.csv", spotting_csv(review).encode()


def _booth(review: Review, _: bytes) -> Files:
    from mockcheck.plan.booth import booth
    from mockcheck.report.booth import to_text

    yield "booth.txt", f"{to_text(booth(review))}\n".encode()


def _players_copy(review: Review, content: bytes) -> Files:
    from mockcheck.export.change_list import changes_csv, changes_text
    from mockcheck.export.players_copy import players_copy

    copy = players_copy(review, content)
    yield "players-copy.mid", _midi(copy.midi)
    yield "changes.txt", f"{changes_text(copy.changes, copy.renamed)}\n".encode()
    yield "changes.csv", changes_csv(copy.changes).encode()


def _page_notes(review: Review, _: bytes) -> Files:
    from mockcheck.export.page_notes import page_notes, to_csv, to_text

    notes = page_notes(review)
    yield "page-notes.txt", f"{to_text(notes)}\n".encode()
    yield "page-notes.csv", to_csv(notes).encode()


def _musicxml(review: Review, _: bytes) -> Files:
    from mockcheck.notation import musicxml

    title = Path(review.played.score.file).stem
    yield "musicxml", musicxml(review.played.parts, title).encode()


def _spots(review: Review, _: bytes) -> Files:
    from mockcheck.export.spots import spots

    for name, document in spots(review):
        yield f"{name}.musicxml", document.encode()


HANDOUTS: Mapping[str, Callable[[Review, bytes], Files]] = MappingProxyType(
    {
        "markers": _markers,
        "spotting": _spotting,
        "booth": _booth,
        "players-copy": _players_copy,
        "page-notes": _page_notes,
        "musicxml": _musicxml,
        "spots": _spots,
    }
)
"""What can be asked for by name; each takes a review and the bytes of the same file."""


def _midi(file: mido.MidiFile) -> bytes:
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()
