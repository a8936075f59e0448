"""Runs that hand or bow cannot do in the time."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._registry import check
from mockcheck.checks._speed import observe_passage
from mockcheck.model.finding import Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class RunTooFast(Params):
    """Limits of the check; the times of hand and bow are declared with the playing model."""

    least_headroom: float = quantity(
        1,
        unit="fastest playable tempo over the written one",
        low=0.2,
        high=1,
        meaning="below this a run is reported",
        source="1 by definition; set it lower to hear only of the worst",
    )


@check(
    id="run-too-fast",
    family="speed",
    severity=Severity.RISKY,
    title="A run has more notes than hand and bow can place in the time.",
    params=RunTooFast,
)
def find(part: PlayedPart, p: RunTooFast) -> Iterator[Observation]:
    """Find runs that no fingering fits into the written tempo.

    Why a player minds: fingers, shifts and bow have a top speed; above it the run smears, or the
    section leaves notes out, each player others.
    Measured: the best of all fingerings, in windows of eight and of thirty-two onsets: time needed
    against time available of its worst movement. Risky where players at this level cannot, even
    with the best fingering; impossible where no soloist could with the least times known.
    Fine when: the notes are a trill or a tremolo, an ornament the player may place freely, or the
    tempo is still open: the evidence says which tempo would do.
    Source: time costs checked against recordings of violin études and caprices; S. Sayegh (1989)
    and G. Hori and S. Sagayama (2016) for the search.
    """
    for passage in part.passages:
        if not passage.is_leap and passage.headroom < p.least_headroom:
            yield observe_passage(part, passage, "notes")
