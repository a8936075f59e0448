"""The review as one HTML file that needs nothing else: no network, no fonts, no other file."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review
from mockcheck.model.words import count_of, counts_words, printable
from mockcheck.plots._ink import LOOKS
from mockcheck.plots.overview import layout_overview
from mockcheck.report._caveats import caution, caveats
from mockcheck.report._heaviest_bars import heaviest_bars
from mockcheck.report._page_findings import check_texts, list_findings
from mockcheck.report._page_svg import tag
from mockcheck.report._page_timeline import draw_timeline
from mockcheck.report._page_tracks import left_out, track_pages
from mockcheck.report._standalone import render_standalone
from mockcheck.report._verdict import counts_line, verdict
from mockcheck.report.booth import HEARING_CAUTION
from mockcheck.report.terminal import tempo_reach, what_was_judged

_SHAPES = {
    "X": "M-5 -5L5 5M5 -5L-5 5",
    "^": "M0 -5.5L5.5 4.5H-5.5z",
    "D": "M0 -5L5 0L0 5L-5 0z",
    "o": "M-4 0a4 4 0 1 0 8 0a4 4 0 1 0 -8 0z",
}
"""The markers of the plots as paths round their middle."""


def render_page(review: Review, *, engrave: bool = True) -> str:
    """A composer opens one file: the answer first, then where, then each finding's evidence.

    Parameters
    ----------
    engrave
        Draw bars as notation, where the library for it is installed.

    Returns
    -------
    An HTML document. Its policy allows the style and the script inside it, by their hashes, and
    pictures inside it; nothing else is loaded or run.
    """
    findings = list_findings(review, engrave=engrave)
    parts = {part.name: part for part in review.played.parts}
    open_ones = _open_findings(review)
    checks = check_texts(review.findings)
    return render_standalone(
        "review.html.j2",
        ("review.css",),
        "review.js",
        pictures=True,
        file=printable(review.played.score.file),
        verdict=verdict(review),
        judged=what_was_judged(review),
        counts=[(severity, review.counts[severity]) for severity in sorted(Severity, reverse=True)],
        counts_line=counts_line(review),
        severities=sorted(Severity, reverse=True),
        symbols=_symbols(),
        heaviest=heaviest_bars(review),
        timeline=draw_timeline(layout_overview(review), findings.number_of),
        findings=findings,
        heads={
            printable(name): _head(part, review, open_ones.get(name, []))
            for name, part in parts.items()
        },
        tracks=list(track_pages(review)),
        left_out=left_out(review),
        caveats=caveats(review, every=True),
        caution=caution(review),
        hearing=HEARING_CAUTION,
        checks=checks,
        explained={check.id: check.paragraphs for check in checks},
    )


def _head(part: PlayedPart, review: Review, findings: Sequence[Finding]) -> str:
    found = counts_words(findings) or "nothing found"
    return f"{count_of(part.players, 'player')}; {found}{tempo_reach(part, review)}."


def _open_findings(review: Review) -> dict[str, list[Finding]]:
    by_part: dict[str, list[Finding]] = {}
    for finding in review.findings:
        if finding.accepted is None:
            by_part.setdefault(finding.part, []).append(finding)
    return by_part


def _symbols() -> Markup:
    """The shape of each severity, once for the whole page."""
    shapes = "".join(
        tag("path", id=f"s{int(severity)}", d=_SHAPES[look.marker])
        for severity, look in LOOKS.items()
    )
    pattern = tag(
        "pattern",
        tag("path", d="M0 6L6 0", class_="hatch-line"),
        id="hatch",
        width=6,
        height=6,
        patternUnits="userSpaceOnUse",
    )
    return Markup(tag("svg", tag("defs", shapes + pattern), class_="defs", aria_hidden="true"))
