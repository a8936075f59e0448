"""Every note of every part begins exactly on the grid."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._names import names_of, top_part
from mockcheck.checks._registry import score_check
from mockcheck.infer.grid import grid_timing, spread_between_parts_s
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class TimingExactlyOnTheGrid(Params):
    """Limits of the check."""

    exact_share: float = quantity(
        90,
        unit="% of the onsets",
        low=50,
        high=100,
        meaning="more of each part on the grid than this is the work of a machine",
        source="measured on each part of 14 published quartets and 12 real files: as exported 96 to"
        " 100 %, the same quartets with a player's timing at most 64 %",
    )
    least_onsets: float = quantity(
        32,
        unit="onsets",
        low=4,
        high=1000,
        meaning="parts with fewer say nothing about how the music was made",
    )
    human_spread_ms: float = quantity(
        20,
        unit="ms",
        low=1,
        high=100,
        meaning="players of one ensemble are at least this far apart (standard deviation)",
        source="20 to 50 ms in good ensembles (Keller, 2014, from memory); 37 and 49 ms in two"
        " string trios (Rasch, 1979)",
    )


@score_check(
    id="timing-exactly-on-the-grid",
    family="realism",
    severity=Severity.REMARK,
    title="All parts begin every note exactly on the grid.",
    params=TimingExactlyOnTheGrid,
    needs_strings=False,
)
def find(
    parts: tuple[PlayedPart, ...], p: TimingExactlyOnTheGrid
) -> Iterator[tuple[PlayedPart, Observation]]:
    """Find a file in which nobody is ever early or late.

    Why a player minds: no player minds reading from it; but people who play together are a little
    apart, all the time and never at random, and a mock-up without that is heard as a machine.
    Measured: the share of onsets within two milliseconds of the semiquaver and triplet grid, or at
    one fixed distance from it, in each part; strokes closer together than an eighth of a second
    left out. Reported once for the file, when every part lies above the limit.
    Fine when: the file is a notation export, or written to a click track, as film cues are: it
    says nothing about the playing, and nothing needs to change for the session.
    Source: R. Rasch, Synchronization in performed ensemble music (1979): 37 and 49 ms in two string
    trios; H. Hennig and others, The nature and perception of fluctuations in human musical rhythms
    (2011): errors of players last over many notes, and listeners prefer that to random ones.
    """
    timed = [(part, timing) for part in parts if (timing := grid_timing(part)) is not None]
    timed = [(part, timing) for part, timing in timed if timing.onsets >= p.least_onsets]
    if not timed:
        return
    least = min(100 * timing.on_grid / timing.onsets for _, timing in timed)
    if least <= p.exact_share:
        return
    onsets = sum(timing.onsets for _, timing in timed)
    share = 100 * sum(timing.on_grid for _, timing in timed) / onsets
    evidence = [Evidence("onsets on the grid", round(share, 1), p.exact_share, "%")]
    spread_s = spread_between_parts_s([part for part, _ in timed])
    if spread_s is not None and 1000 * spread_s < p.human_spread_ms:
        spread_ms = round(1000 * spread_s, 1)
        evidence.append(Evidence("spread between parts", spread_ms, p.human_spread_ms, "ms"))
    part = top_part([part for part, _ in timed])
    heard = f"{share:.0f} % of {onsets} onsets lie exactly on the grid"
    message = f"{heard}; a player strays from it by 10 to 30 ms, and that is heard as playing."
    if len(timed) > 1:
        who = names_of([part for part, _ in timed], len(timed))
        message = (
            f"In {who} {heard}; players who begin together are {p.human_spread_ms:.0f} to 50 ms"
            " apart, and that is heard as people playing."
        )
    yield (
        part,
        Observation(
            note_indices=(0,),
            message=message,
            suggestion=(
                "Leave it in a notation export or a cue to a click; in a mock-up that should"
                " sound played, record the parts by hand, or let each wander by some 20 ms, slowly"
                " and not at random."
            ),
            evidence=tuple(evidence),
            span_ticks=(int(part.notes.onset_ticks[0]), int(part.notes.release_ticks.max())),
        ),
    )
