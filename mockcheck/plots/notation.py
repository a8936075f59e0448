"""The bars of a finding engraved: as an import would print them, and as they read well.

Engraving is an optional extra (`pip install mockcheck[notation]`); without it there are no
pictures, and whoever asks for them is told so.
"""

from __future__ import annotations

import importlib.util
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from html import escape
from pathlib import Path
from typing import Literal

from mockcheck.errors import UnreadableInput
from mockcheck.model.finding import Finding
from mockcheck.model.notated import NotatedPart
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review
from mockcheck.model.words import last_bar, place_words, printable
from mockcheck.notation import musicxml, notate

MOST_BARS = 4
"""Longer places show their first bars."""
MOST_PICTURES = 120
"""About two seconds of engraving; what is left out is said."""
IMPORTED, READS_WELL = "As an import prints it", "As it reads well"
WRITTEN, FINGERED = "As it would be written", "One way to finger it, at a tempo that allows it"
_CAPTION_PX, _MARGIN_PX = 22, 12
_OPTIONS = {
    "adjustPageHeight": True,
    "adjustPageWidth": True,
    "breaks": "none",
    "footer": "none",
    "header": "none",
    "pageMarginBottom": 20,
    "pageMarginLeft": 20,
    "pageMarginRight": 20,
    "pageMarginTop": 20,
    "scale": 40,
    "smuflTextFont": "none",
    "svgFormatRaw": True,
    "svgViewBox": True,
    "xmlIdChecksum": True,
}

_OUR_NAME = re.compile(r"bar-\d{3,}_[a-z0-9-]+-[0-9a-f]+\.svg")

Which = Literal["reading", "all"]


@dataclass(frozen=True)
class NotationPicture:
    """An SVG document that stands for itself, and what it shows.

    Parameters
    ----------
    finding
        The finding whose bars are shown.
    svg
        Both ways one above the other, each with its caption; one where they do not differ.
    width_px, height_px
        Natural size.
    """

    finding: Finding
    svg: str
    width_px: float
    height_px: float


def can_engrave() -> bool:
    """Whether the engraving library is installed."""
    return importlib.util.find_spec("verovio") is not None


def engraved_findings(review: Review, which: Which = "reading") -> list[Finding]:
    """Findings that get a picture: of the reading family, or all that have bars; worst first.

    Remarks of other families get none, and those about a whole file have no bars to show.
    """
    wanted = [
        finding
        for finding in review.findings
        if finding.start.bar is not None and (which == "all" or finding.family == "reading")
    ]
    return sorted(wanted, key=lambda finding: -finding.severity)


def engrave_findings(review: Review, which: Which = "reading") -> Iterator[NotationPicture]:
    """The pictures of `engraved_findings`, at most MOST_PICTURES; none without the library.

    Bars are drawn as the rhythm was understood; what cannot be written is left out.
    """
    if not can_engrave():
        return
    parts = review.played.parts
    by_name = {part.name: part for part in parts}
    for finding in engraved_findings(review, which)[:MOST_PICTURES]:
        part = by_name.get(finding.part)
        if part is not None:
            picture = engrave_finding(part, finding, parts)
            if picture is not None:
                yield picture


def engrave_finding(
    part: PlayedPart, finding: Finding, beside: Sequence[PlayedPart]
) -> NotationPicture | None:
    """One picture; None where the bars cannot be written."""
    first, last = finding.start.bar, last_bar(finding.start, finding.end)
    if first is None or last is None:
        return None
    last = min(last, first + MOST_BARS - 1)
    try:
        imported = notate(part, first, last, "as imported", beside=beside)
        reads_well = notate(part, first, last, beside=beside)
    except UnreadableInput:
        return None
    # Fingers help where the hand is the question; elsewhere they are in the way.
    staves = [(WRITTEN, _engraved(reads_well, with_fingering=False))]
    if finding.family == "speed":
        staves = [(FINGERED, _engraved(reads_well, with_fingering=True))]
    elif finding.family == "reading" and _heads(imported) != _heads(reads_well):
        staves = [
            (IMPORTED, _engraved(imported, with_fingering=False)),
            (READS_WELL, staves[0][1]),
        ]
    what = f"{printable(finding.part)}, {place_words(finding.start, finding.end)}: {finding.check}"
    return NotationPicture(finding, *_one_above_the_other(staves, what))


def save_notation(review: Review, folder: Path, which: Which = "reading") -> list[Path]:
    """Write the pictures as SVG files named by bar and finding; the folder is made if needed.

    Pictures of an earlier review in that folder are taken out: their findings may be gone.
    """
    for old in folder.glob("bar-*.svg"):
        if _OUR_NAME.fullmatch(old.name):
            old.unlink()
    paths = []
    for picture in engrave_findings(review, which):
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"bar-{picture.finding.start.bar:03d}_{picture.finding.id}.svg"
        path.write_text(picture.svg, encoding="utf-8")
        paths.append(path)
    return paths


def _heads(part: NotatedPart) -> list[tuple[int, int]]:
    return [
        (head.pitch, head.fifths)
        for bar in part.bars
        for voice in bar.voices
        for event in voice.events
        for head in event.heads
    ]


def _engraved(part: NotatedPart, *, with_fingering: bool) -> str:
    import verovio

    # What it would say of a few bars out of their music helps nobody.
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(_OPTIONS)
    # The tempo is in the review, and its sign would need a font of its own.
    bars = tuple(replace(bar, tempo_bpm=None) for bar in part.bars)
    untimed = replace(part, bars=bars)
    toolkit.loadData(musicxml([untimed], "", with_fingering=with_fingering))
    svg: str = toolkit.renderToSVG(1)
    return svg


def _one_above_the_other(staves: Sequence[tuple[str, str]], what: str) -> tuple[str, float, float]:
    """Captions and staves in one document, and its size in px."""
    body, below, widest = [], float(_MARGIN_PX), 0.0
    for caption, svg in staves:
        width, height = _size(svg)
        body.append(
            f'<text x="{_MARGIN_PX}" y="{below + 14:g}" font-family="sans-serif" font-size="13"'
            f' fill="currentColor">{escape(caption)}</text>'
        )
        below += _CAPTION_PX
        placed = f'<svg x="{_MARGIN_PX}" y="{below:g}" width="{width:g}" height="{height:g}" '
        body.append(re.sub(r"^.*?<svg ", placed, svg, count=1, flags=re.DOTALL))
        below += height + _MARGIN_PX
        widest = max(widest, width)
    width = widest + 2 * _MARGIN_PX
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        f' viewBox="0 0 {width:g} {below:g}" width="{width:g}" height="{below:g}" role="img"'
        f' aria-label="{escape(what, quote=True)}">'
    )
    title = f"<title>{escape(what)}</title>"
    return "".join([head, title, *body, "</svg>"]), width, below


def _size(svg: str) -> tuple[float, float]:
    found = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert found is not None
    return float(found.group(1)), float(found.group(2))
