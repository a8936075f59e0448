"""A part plays at one loudness from its first note to its last."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._names import names_of, top_part
from mockcheck.checks._registry import score_check
from mockcheck.infer.shaping import loudness_range
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity

_MEASURED = (
    "measured: where a player's dynamics were put into 14 published quartets every part moves by 16"
    " steps or more, in plain exports of them by none; steps of 16 part one dynamic from the next"
)


class DynamicsNeverChange(Params):
    """Limits of the check."""

    least_range: float = quantity(
        8,
        unit="steps of 127",
        low=1,
        high=64,
        meaning="from the softest to the loudest, one note in twenty left out at either end; less"
        " is no change of dynamics, only the weight of a hand",
        source=_MEASURED,
    )
    least_notes: float = quantity(
        16, unit="notes", low=2, high=1000, meaning="fewer say nothing about the part"
    )
    least_s: float = quantity(
        30, unit="s", low=1, high=600, meaning="a shorter part may well stay at one dynamic"
    )
    confidence: float = quantity(
        0.8,
        unit="confidence",
        low=0,
        high=1,
        meaning="dynamics may live where an export does not reach, in the mix of the sequencer",
    )


@score_check(
    id="dynamics-never-change",
    family="realism",
    severity=Severity.REMARK,
    title="A part stays at one loudness from its first note to its last.",
    params=DynamicsNeverChange,
    needs_strings=False,
)
def find(
    parts: tuple[PlayedPart, ...], p: DynamicsNeverChange
) -> Iterator[tuple[PlayedPart, Observation]]:
    """Find parts of which nothing says how loud they are.

    Why a player minds: without a dynamic a player asks, or does what the neighbour does; and a
    string line that never swells or fades is the first thing heard as a machine.
    Measured: the loudness of the notes, from the velocity, or from the controller that is drawn;
    its range from the softest twentieth to the loudest. Reported once for the file, with the
    parts it is true of.
    Fine when: the file is a plain export of a notation program and the page has the dynamics, or
    the part is short.
    Source: common practice, no source; the limit is measured, see the parameters.
    """
    playing = [part for part in parts if len(part.notes)]
    ranges = {part.name: loudness_range(part) for part in playing}
    flat = [part for part in playing if _says_enough(part, p) and ranges[part.name] < p.least_range]
    if not flat:
        return
    most = max(ranges[part.name] for part in flat)
    part = top_part(flat)
    how = f"moves by no more than {most:.0f} of 127 steps" if most >= 1 else "never moves"
    yield (
        part,
        Observation(
            note_indices=(0,),
            message=(
                f"One dynamic from beginning to end in {names_of(flat, len(playing))}: the"
                f" loudness {how}; about 16 steps lie between one dynamic and the next."
            ),
            suggestion=(
                "Draw the dynamics of each phrase with the controller that shapes loudness in your"
                " instrument, or leave it in a plain export and write pp to ff into the parts."
            ),
            evidence=(
                Evidence("range of loudness", round(most, 1), p.least_range, "steps of 127"),
            ),
            confidence=p.confidence,
            span_ticks=(int(part.notes.onset_ticks[0]), int(part.notes.release_ticks.max())),
        ),
    )


def _says_enough(part: PlayedPart, p: DynamicsNeverChange) -> bool:
    lasts_s = float(part.notes.release_s.max() - part.notes.onset_s[0])
    return len(part.notes) >= p.least_notes and lasts_s >= p.least_s
