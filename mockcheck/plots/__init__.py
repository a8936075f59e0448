"""Pictures: a pure layout, then one way to draw it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from mockcheck.model.review import Review

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_DOTS_PER_INCH = 150
_LONGEST_NAME = 40


def save_plots(review: Review, folder: Path, formats: Sequence[str] = ("png",)) -> list[Path]:
    """Draw the overview and every reviewed track, and say which files were written.

    Parameters
    ----------
    folder
        Made when it is missing.
    formats
        Any of 'png' (150 dots per inch) and 'svg'.

    Raises OSError when the folder cannot be written.
    """
    from mockcheck.plots._ink import our_style

    folder.mkdir(parents=True, exist_ok=True)
    written = []
    with our_style():
        for name, figure in _pages(review):
            for kind in formats:
                path = folder / f"{name}.{kind}"
                # A date inside the file would make equal reviews differ.
                metadata = {"Date": None} if kind == "svg" else {"Software": None}
                figure.savefig(path, dpi=_DOTS_PER_INCH, metadata=metadata)
                written.append(path)
    return written


def _pages(review: Review) -> Iterator[tuple[str, Figure]]:
    from mockcheck.plots.overview import draw_overview, layout_overview
    from mockcheck.plots.track import draw_track, layout_track

    yield "overview", draw_overview(layout_overview(review))
    part_of = review.played.part_of_role()
    for track in review.tracks:
        if track.index in part_of:
            name = page_name(track.index, track.part)
            yield name, draw_track(layout_track(review, track.index))


def page_name(row: int, part: str) -> str:
    """'03-violin-1': unique by its row, and a legal file name on every system whatever the part."""
    plain = unicodedata.normalize("NFKD", part).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9]+", "-", plain)[:_LONGEST_NAME].strip("-")
    return f"{row:02}-{words}" if words else f"{row:02}"
