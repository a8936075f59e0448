"""Notes that do not follow the bar lines of the file."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._names import names_of, top_part
from mockcheck.checks._registry import score_check
from mockcheck.infer.bar_lines import bar_line_agreement, limit_of
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class PlayedWithoutTheClick(Params):
    """Limits of the check."""

    least_agreement: float = quantity(
        15,
        unit="% (length of the mean vector)",
        low=1,
        high=60,
        meaning="onsets that agree less than this on any place in the beat follow no beat",
        source="parts of published quartets played with 30 ms of jitter: at least 27 %; against"
        " bars of another tempo: at most 8 % of 400 onsets and more",
    )
    least_onsets: float = quantity(
        100, unit="onsets", low=8, high=1000, meaning="fewer say nothing about the bar lines"
    )


@score_check(
    id="played-without-the-click",
    family="reading",
    severity=Severity.RISKY,
    title="The notes do not follow the bar lines.",
    params=PlayedWithoutTheClick,
    needs_strings=False,
)
def find(
    parts: tuple[PlayedPart, ...], p: PlayedWithoutTheClick
) -> Iterator[tuple[PlayedPart, Observation]]:
    """Find a file that was recorded without its tempo.

    Why a player minds: bars and beats printed from it mean nothing: every note is tied over
    something, and no two players find the same beat.
    Measured: how far the onsets of each part agree on any place in the beat (length of the mean
    vector of their phases, best of one to six parts of a beat), notes that follow within an eighth
    of a second left out. Said once for the file; the rhythm of these parts is not judged further.
    Fine when: nothing is printed from the file, or its players hear it without a score.
    Source: circular statistics, N. Fisher, Statistical Analysis of Circular Data (1993), from
    memory; limit measured on published quartets.
    """
    measured = [(part, *bar_line_agreement([part])) for part in parts]
    free = [
        (part, 100 * agreement)
        for part, agreement, onsets in measured
        if onsets >= p.least_onsets and agreement < limit_of(onsets, p.least_agreement / 100)
    ]
    if not free:
        return
    part = top_part([part for part, _ in free])
    who = names_of([part for part, _ in free], len(parts))
    who = "The notes" if len(free) == len(parts) else f"The notes of {who}"
    yield (
        part,
        Observation(
            note_indices=(0,),
            message=f"{who} do not follow the bar lines: was it played without the click?",
            suggestion=(
                "Set the tempo of the file to the playing (most sequencers map a recording to"
                " beats), or record it again to the click, before any part is printed."
            ),
            evidence=(
                Evidence(
                    "agreement of the onsets on a place in the beat",
                    round(max(agreement for _, agreement in free), 1),
                    p.least_agreement,
                    "%",
                ),
            ),
            span_ticks=(int(part.notes.onset_ticks[0]), int(part.notes.release_ticks.max())),
        ),
    )
