"""Too little time to take up the bow, to leave it, or to handle the mute."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._changes import Change, find_changes, find_clashes
from mockcheck.checks._levels import is_soloist
from mockcheck.checks._registry import check
from mockcheck.infer.players import share_players
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.session import Level
from mockcheck.params import Params, quantity
from mockcheck.playing.chords import chord

_SECTIONS = "printed changes in about 100 open orchestral movements"
_QUARTETS = "printed changes in 116 open string quartet scores"
_MUTE = "Berlioz's treatise as quoted in a handbook question thread: two bars of 4/4 moderato"


class NoTimeForChange(Params):
    """Limits of the check: onset to onset for the bow, silence for the mute."""

    pluck_sight_s: float = quantity(
        0.5,
        unit="s",
        low=0,
        high=10,
        meaning="bowed onset to plucked onset, a section at sight",
        source=f"10th percentile of 812 {_SECTIONS}",
    )
    pluck_rehearsed_s: float = quantity(
        0.42,
        unit="s",
        low=0,
        high=10,
        meaning="bowed onset to plucked onset, a rehearsed section",
        source=f"5th percentile of 812 {_SECTIONS}",
    )
    pluck_alone_s: float = quantity(
        0.29,
        unit="s",
        low=0,
        high=10,
        meaning="bowed onset to plucked onset, one player or soloists",
        source=f"5th percentile of 1,714 {_QUARTETS}",
    )
    bow_sight_s: float = quantity(
        0.4,
        unit="s",
        low=0,
        high=10,
        meaning="plucked onset to bowed onset, a section at sight",
        source=f"10th percentile of 753 {_SECTIONS}",
    )
    bow_rehearsed_s: float = quantity(
        0.33,
        unit="s",
        low=0,
        high=10,
        meaning="plucked onset to bowed onset, a rehearsed section",
        source=f"5th percentile of 753 {_SECTIONS}",
    )
    bow_alone_s: float = quantity(
        0.28,
        unit="s",
        low=0,
        high=10,
        meaning="plucked onset to bowed onset, one player or soloists",
        source=f"5th percentile of 1,839 {_QUARTETS}",
    )
    quickest_s: float = quantity(
        0.16,
        unit="s",
        low=0,
        high=10,
        meaning="either way, below this one player or soloists miss it too",
        source="measured: 1st percentile of 1,563 printed changes in 26 open string quartets",
    )
    mute_on_sight_s: float = quantity(
        5,
        unit="s",
        low=0,
        high=60,
        meaning="rest to put the mute on, at sight",
        source=f"{_MUTE}, 4.4 to 5.0 s",
    )
    mute_on_rehearsed_s: float = quantity(
        4,
        unit="s",
        low=0,
        high=60,
        meaning="rest to put the mute on, rehearsed",
        source="4.6 s is the shortest rest found in open orchestral scores; as above",
    )
    mute_on_quickest_s: float = quantity(
        1,
        unit="s",
        low=0,
        high=60,
        meaning="rest in which nobody has the mute on",
        source="from memory",
    )
    mute_off_sight_s: float = quantity(
        3,
        unit="s",
        low=0,
        high=60,
        meaning="rest to take the mute off, at sight",
        source=f"2.3 s is the shortest rest found in open orchestral scores; {_MUTE},"
        " and much less to take it off",
    )
    mute_off_rehearsed_s: float = quantity(
        1.5,
        unit="s",
        low=0,
        high=60,
        meaning="rest to take the mute off, rehearsed",
        source="a reading of the same treatise",
    )
    mute_off_quickest_s: float = quantity(
        0.5,
        unit="s",
        low=0,
        high=60,
        meaning="rest in which nobody has the mute off",
        source="from memory; 5th percentile of 48 rests printed in quartets, 0.53 s",
    )
    same_passage_s: float = quantity(
        4, unit="s", low=0, high=60, meaning="changes closer together are reported together"
    )


@dataclass(frozen=True)
class _Handling:
    """One kind of change in words and numbers."""

    what: str
    time_name: str
    needed_s: float
    quickest_s: float
    at_worst: Severity
    suggestion: str


@check(
    id="no-time-for-change",
    family="changes",
    severity=Severity.RISKY,
    title="There is no time to change between bow, fingers and mute.",
    params=NoTimeForChange,
)
def find(part: PlayedPart, p: NoTimeForChange) -> Iterator[Observation]:
    """Find changes between arco and pizzicato, and of the mute, that come too soon.

    Why a player minds: the bow has to be gripped or laid into the hand, the mute to be fetched
    and set; without the time the first notes are late or missing, and a clatter is recorded.
    Measured: over all tracks of the part, from the last bowed onset to the first plucked one and
    back, and the longest rest before the mute is on or off, s. Risky below what a section is given
    in print at this level; one player awkward, risky below the quickest printed changes. A mute
    that nobody could handle in the rest is impossible. Both ways at once: awkward for a section,
    which can divide, impossible for one player, or risky where the left hand may pluck an open
    string.
    Fine when: the part is divided on purpose, or one player plucks with the left hand.
    Source: changes counted in open scores and Berlioz's treatise, named with each limit.
    """
    yield from _bow_and_fingers(part, p)
    yield from _mute(part, p)


def _bow_and_fingers(part: PlayedPart, p: NoTimeForChange) -> Iterator[Observation]:
    plucked = part.articulation.is_any("pizzicato")
    clashes = find_clashes(part, plucked, ~plucked)
    yield from _observe_clashes(part, clashes, plucked, ("pizzicato", "arco"), p)
    who = "alone" if is_soloist(part) else str(part.session.level)
    share = part.session.tempo_share
    kinds = {
        True: _Handling(
            "arco to pizzicato",
            "last bowed to first plucked onset",
            getattr(p, f"pluck_{who}_s") / share,
            p.quickest_s,
            Severity.RISKY,
            "Leave out the last bowed note or two, play the figure arco, or let half the desks"
            " pluck.",
        ),
        False: _Handling(
            "pizzicato to arco",
            "last plucked to first bowed onset",
            getattr(p, f"bow_{who}_s") / share,
            p.quickest_s,
            Severity.RISKY,
            "Leave out the last plucked note or two, let the bow come in a beat later, or let half"
            " the desks pluck.",
        ),
    }
    known = np.ones(len(plucked), np.bool_)
    changes = find_changes(part, plucked, known, _members(clashes))
    for into, kind in kinds.items():
        timed = [(c, c.onset_gap_s) for c in changes if bool(plucked[c.after]) is into]
        yield from _observe_changes(part, timed, plucked, kind, p)


def _mute(part: PlayedPart, p: NoTimeForChange) -> Iterator[Observation]:
    muted = part.articulation.is_any("con sordino")
    # A tremolo, a pizzicato or a harmonic may be muted or not: its name says the stroke only.
    says_nothing = part.articulation.is_any(
        "tremolo", "trill", "pizzicato", "col legno", "harmonic"
    )
    unmuted = ~muted & ~says_nothing
    clashes = find_clashes(part, muted, unmuted) + find_clashes(part, unmuted, muted)
    yield from _observe_clashes(part, clashes, muted, ("con sordino", "senza sordino"), p)
    level = "sight" if part.session.level is Level.SIGHT else "rehearsed"
    share = part.session.tempo_share
    kinds = {
        True: _Handling(
            "senza sordino to con sordino",
            "rest before the first muted note",
            getattr(p, f"mute_on_{level}_s") / share,
            p.mute_on_quickest_s,
            Severity.IMPOSSIBLE,
            "Rest longer before the mute is on, let the desks put their mutes on one after"
            " another, or ask for sul tasto instead.",
        ),
        False: _Handling(
            "con sordino to senza sordino",
            "rest before the first note without mute",
            getattr(p, f"mute_off_{level}_s") / share,
            p.mute_off_quickest_s,
            Severity.IMPOSSIBLE,
            "Rest longer before the mute is off, let the desks take their mutes off one after"
            " another, or stay muted to the end of the phrase.",
        ),
    }
    for into, kind in kinds.items():
        changes = find_changes(part, muted, muted | unmuted, _members(clashes))
        timed = [(c, c.rest_s) for c in changes if bool(muted[c.after]) is into]
        yield from _observe_changes(part, timed, muted, kind, p)


def _members(pairs: list[tuple[int, int]]) -> frozenset[int]:
    return frozenset(note for pair in pairs for note in pair)


def _observe_changes(
    part: PlayedPart,
    timed: list[tuple[Change, float]],
    special: NDArray[np.bool_],
    kind: _Handling,
    p: NoTimeForChange,
) -> Iterator[Observation]:
    short = [(change, given_s) for change, given_s in timed if given_s < kind.needed_s - 1e-6]
    onset_s = part.notes.onset_s[[change.after for change, _ in short]]
    for first, after in _passages(onset_s, p.same_passage_s):
        changes = [change for change, _ in short[first:after]]
        given_s = min(given for _, given in short[first:after])
        severity = Severity.AWKWARD if is_soloist(part) else Severity.RISKY
        if given_s < kind.quickest_s - 1e-6:
            severity = kind.at_worst
        rows = sorted({note for c in changes for note in (c.before, c.after)})
        often = f", {len(changes)} times in a row" if len(changes) > 1 else ""
        begin = min(part.notes.release_ticks[changes[0].before], part.notes.onset_ticks[rows[-1]])
        yield Observation(
            note_indices=tuple(rows),
            message=(
                f"From {kind.what} in {given_s:.2f} s{often}; players want"
                f" {kind.needed_s:.2f} s for it."
            ),
            suggestion=kind.suggestion,
            evidence=(Evidence(kind.time_name, round(given_s, 3), kind.needed_s, "s"),),
            confidence=_confidence(part, rows, special),
            severity=severity,
            span_ticks=(int(begin), int(part.notes.release_ticks[rows[-1]])),
        )


def _observe_clashes(
    part: PlayedPart,
    clashes: list[tuple[int, int]],
    special: NDArray[np.bool_],
    ways: tuple[str, str],
    p: NoTimeForChange,
) -> Iterator[Observation]:
    clashes = sorted(clashes)
    onset_s = part.notes.onset_s[[note for note, _ in clashes]]
    for first, after in _passages(onset_s, p.same_passage_s):
        struck = sorted({note for note, _ in clashes[first:after]})
        rows = sorted(_members(clashes[first:after]))
        above, below = share_players(part.players, 2)
        suggestion = (
            f"Write div., {above} {ways[1]} and {below} {ways[0]} (one of each desk), or leave one"
            " of the two out."
        )
        if part.players == 1:
            suggestion = f"Give the {ways[0]} notes to another player, or leave one of the two out."
        yield Observation(
            note_indices=tuple(rows),
            message=(
                f"The part is {ways[0]} and {ways[1]} at the same time, on {len(struck)}"
                f" {'notes' if len(struck) > 1 else 'note'}; one player can only do one of them."
            ),
            suggestion=suggestion,
            evidence=(Evidence("notes both ways at once", len(struck), 0, "notes"),),
            confidence=_confidence(part, rows, special),
            severity=_both_at_once(part, clashes[first:after]),
            span_ticks=(
                int(part.notes.onset_ticks[struck].min()),
                int(part.notes.release_ticks[struck].max()),
            ),
        )


def _both_at_once(part: PlayedPart, clashes: list[tuple[int, int]]) -> Severity:
    """A section divides; one player does one of the two, unless the left hand can pluck."""
    if part.players > 1:
        return Severity.AWKWARD
    is_left_handed = all(_goes_left_handed(part, *pair) for pair in clashes)
    return Severity.RISKY if is_left_handed else Severity.IMPOSSIBLE


def _goes_left_handed(part: PlayedPart, struck: int, held: int) -> bool:
    """Whether a free finger may pluck an open string beside the one that is bowed."""
    pitch, bowed = int(part.notes.pitch[struck]), int(part.notes.pitch[held])
    if not part.articulation.is_any("pizzicato")[struck]:
        return False
    if part.instrument.is_ensemble or pitch not in part.instrument.open_strings:
        return False
    return chord(part.instrument, (pitch, bowed)).is_playable


def _confidence(part: PlayedPart, rows: list[int], special: NDArray[np.bool_]) -> float:
    """What nobody calls plucked or muted is bowed and open: only the special notes are in doubt."""
    return float(part.articulation.word_confidence[[row for row in rows if special[row]]].min())


def _passages(onset_s: NDArray[np.float64], gap_s: float) -> list[tuple[int, int]]:
    """Runs of places that follow each other closely, as first and after."""
    if not len(onset_s):
        return []
    cuts = (np.flatnonzero(np.diff(onset_s) > gap_s) + 1).tolist()
    return list(zip([0, *cuts], [*cuts, len(onset_s)], strict=True))
