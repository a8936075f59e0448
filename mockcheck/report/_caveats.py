"""What a reader must know before trusting a review: what was heard, left out and assumed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from mockcheck.model.finding import CheckOutcome, Outcome
from mockcheck.model.played import FoundSwitch, PlayedPart, Role
from mockcheck.model.review import Review
from mockcheck.model.score import ReadWarning
from mockcheck.model.words import count_of, place_list, place_words, printable, shortened
from mockcheck.report._heard import heard_lines
from mockcheck.report._switch_words import trigger_words
from mockcheck.report._verdict import GUESS_BELOW

_LONGEST_NAME = 40
_MOST_NAMES = 6
_STRAINING = ("tremolo", "repeated", "stretch", "reach", "span")
"""Words in a check's id, or in what it measured, that tell of a strained hand or arm."""

_TOLD_AS_ASSUMED = {"no-tempo"}
"""Warnings of the reader that the list of assumptions already covers."""

CAUTION = (
    "Caution: long tremolo, many repetitions and wide stretches can strain a player. These limits"
    " are no medical advice: ask the players, let them decide, and refer pain to a professional."
)


@dataclass(frozen=True)
class Caveat:
    """One group of things to know; a line is one sentence or two."""

    title: str
    lines: tuple[str, ...]


def caveats(review: Review, *, every: bool = False) -> tuple[Caveat, ...]:
    """Every group that has something to say, in the order of how much it hides.

    Warnings of the reader of one kind are told once with their number, accepted findings of one
    kind together; or each with `every`.
    """
    groups = (
        ("Heard", heard_lines(review, every=every)),
        ("Left out", _left_out(review)),
        ("Not checked", _not_checked(review)),
        ("Assumed", _assumed(review)),
        ("While reading the file", _read_warnings(review, every)),
        ("Accepted by the brief", _accepted(review, every=every)),
        ("Accepted, but not found", [printable(u.words) for u in review.unused_acceptances]),
    )
    told = [Caveat(title, tuple(lines)) for title, lines in groups]
    return tuple(caveat for caveat in told if caveat.lines)


def caution(review: Review) -> str | None:
    """The usual caution, where a finding's advice touches a player's body."""
    subjects = {
        subject
        for finding in review.findings
        if finding.accepted is None
        for subject in (finding.check, *(item.quantity for item in finding.evidence))
    }
    concerned = any(word in subject for subject in subjects for word in _STRAINING)
    return CAUTION if concerned else None


def quoted(name: str) -> str:
    """A track's name as the file has it, safe to print, in quotes."""
    return f"'{shortened(printable(name), _LONGEST_NAME)}'"


def _names(names: Iterable[str]) -> str:
    every = list(names)
    rest = len(every) - _MOST_NAMES
    return ", ".join(every[:_MOST_NAMES]) + (f" and {rest:,} more" if rest > 0 else "")


def _left_out(review: Review) -> list[str]:
    by_reason: dict[str, list[str]] = {}
    for track in review.tracks:
        if track.left_out is not None:
            by_reason.setdefault(printable(track.left_out), []).append(quoted(track.name))
    return [f"{_names(names)}: {reason}." for reason, names in by_reason.items()]


def _not_checked(review: Review) -> list[str]:
    crashed: dict[str, list[CheckOutcome]] = {}
    skipped: dict[str, list[CheckOutcome]] = {}
    for outcome in review.outcomes:
        if outcome.outcome is Outcome.CRASHED:
            crashed.setdefault(outcome.check, []).append(outcome)
        elif outcome.outcome is Outcome.SKIPPED:
            skipped.setdefault(printable(outcome.reason), []).append(outcome)
    lines = [
        f"{check} on {_rows(review, rows)}: it failed. This is a fault of mockcheck, not of the"
        " file; please report it."
        for check, rows in crashed.items()
    ]
    for reason, rows in skipped.items():
        checks = list(dict.fromkeys(row.check for row in rows))
        named = checks[0] if len(checks) == 1 else count_of(len(checks), "check")
        lines.append(f"{named} on {_rows(review, rows)}: {reason}.")
    return lines


def _rows(review: Review, outcomes: Iterable[CheckOutcome]) -> str:
    names = {track.index: quoted(track.name) for track in review.tracks}
    rows = dict.fromkeys(outcome.track for outcome in outcomes)
    return _names(names.get(row, f"row {row}") for row in rows)


def _assumed(review: Review) -> list[str]:
    lines = _assumed_tempo(review)
    for track in review.tracks:
        if track.left_out is None and track.confidence < GUESS_BELOW:
            lines.append(
                f"{quoted(track.name)} is taken for {printable(track.part)}"
                f" ({track.confidence:.0%} sure): {printable(track.evidence).rstrip('.')}."
                " Name its instrument in the brief."
            )
    lines += _assumed_bend_range(review)
    lines += [line for part in review.played.parts for line in _unnamed_switches(part)]
    lines += _guessed_strokes(review)
    return lines + _assumed_players(review)


def _assumed_tempo(review: Review) -> list[str]:
    if review.played.session.tempo_bpm is not None:
        return []
    tempos = [part.timeline.tempo for part in review.played.parts]
    if not any(tempo.assumed for tempo in tempos):
        return []
    return [
        "The file names no tempo, so quarter = 120 is taken, and every verdict on speed hangs on"
        " it. Give tempo_bpm in the brief."
    ]


def _assumed_bend_range(review: Review) -> list[str]:
    """Names the rows that bend without saying how far.

    Source of the 2 semitones: General MIDI System Level 1, pitch bend sensitivity at power-up.
    """
    found = {known.track: known for part in review.played.parts for known in part.bend_ranges}
    rows = [
        role
        for part in review.played.parts
        for role in part.roles
        if _bends_without_range(review, role)
    ]
    lines = [
        f"{quoted(role.name)}: pitch bend without a bend range; {found[role.index].evidence}, so"
        " that is taken. Correct bend_range_semitones in the brief if it is another."
        for role in rows
        if role.index in found
    ]
    silent = [role for role in rows if role.index not in found]
    if silent:
        lines.append(
            f"{_names(quoted(role.name) for role in silent)}: pitch bend without a bend range, so"
            " 2 semitones are taken; slides may be longer. Give bend_range_semitones in the brief."
        )
    return lines


def _bends_without_range(review: Review, role: Role) -> bool:
    is_stated = any(
        choice.bend_range_semitones is not None and choice.is_for(role.name, role.index)
        for choice in review.played.session.tracks
    )
    track = review.played.score.tracks[role.track_index]
    curves = [track.curves(channel) for channel in role.channels]
    return not is_stated and any(len(c.bend_cents) and c.bend_range_assumed for c in curves)


def _unnamed_switches(part: PlayedPart) -> list[str]:
    """One line for each track: what throws a switch, and which notes follow it."""
    lines = []
    for role in part.roles:
        unnamed = [
            switch
            for switch in part.switches
            if switch.track == role.index and switch.articulation is None
        ]
        if unnamed:
            lines.append(f"{quoted(role.name)}: {_told(unnamed, part.session.middle_c_octave)}")
    return lines


def _told(unnamed: list[FoundSwitch], middle_c_octave: int) -> str:
    words = [
        trigger_words(switch, middle_c_octave, with_middle_c=number == 0)
        + (f": {switch.follows}" if switch.follows else "")
        for number, switch in enumerate(unnamed[:_MOST_NAMES])
    ]
    rest = len(unnamed) - _MOST_NAMES
    more = [f"and {rest:,} more that `mockcheck brief` lists"] if rest > 0 else []
    ask = "name it in the brief" if len(unnamed) == 1 else "name them in the brief"
    keys = (
        " Presses of switch keys are not counted as notes." if unnamed[0].pitch is not None else ""
    )
    return f"{'; '.join([*words, *more, ask])}.{keys}"


def _guessed_strokes(review: Review) -> list[str]:
    """How much of the playing was heard from timing alone; many verdicts on the bow hang on it."""
    shares = []
    for part in review.played.parts:
        guessed = int(np.count_nonzero(part.articulation.confidence < GUESS_BELOW))
        if guessed:
            shares.append(f"{printable(part.name)} ({guessed:,} of {len(part.notes):,} notes)")
    if not shares:
        return []
    return [f"How notes are bowed or plucked is a guess from their timing: {_names(shares)}."]


def _assumed_players(review: Review) -> list[str]:
    session = review.played.session
    if any(choice.players is not None for choice in session.tracks):
        return []
    guessed = [
        f"{printable(part.name)} {part.players}"
        for part in review.played.parts
        if part.name not in session.players
    ]
    return [f"Number of players: {_names(guessed)}. Correct it in the brief."] if guessed else []


def _read_warnings(review: Review, every: bool) -> list[str]:
    by_code: dict[str, list[ReadWarning]] = {}
    for row, warning in enumerate(review.played.score.warnings):
        if warning.code not in _TOLD_AS_ASSUMED:
            kind = f"{warning.code} {row}" if every else warning.code
            by_code.setdefault(kind, []).append(warning)
    lines = []
    for alike in by_code.values():
        line = f"{printable(alike[0].message).rstrip('.')}{_where(review, alike[0])}."
        rest = len(alike) - 1
        lines.append(f"{line} And {rest:,} more of this kind." if rest else line)
    return lines


def _where(review: Review, warning: ReadWarning) -> str:
    tracks = review.played.score.tracks
    place = []
    if warning.track is not None:
        name = tracks[warning.track].name if warning.track < len(tracks) else None
        place.append(f"track {quoted(name)}" if name else f"track {warning.track}")
    if warning.byte_offset is not None:
        place.append(f"byte {warning.byte_offset:,}")
    return f" ({', '.join(place)})" if place else ""


def _accepted(review: Review, *, every: bool) -> list[str]:
    if every:
        return [
            f"{printable(f.part)}, {place_words(f.start, f.end)}: {printable(f.message)}"
            f" [{f.check}] accepted: {printable(f.accepted).rstrip('.')}. (id {f.id})"
            for f in review.findings
            if f.accepted is not None
        ]
    groups: dict[tuple[str, str, str], list[int]] = {}
    for row, finding in enumerate(review.findings):
        if finding.accepted is not None:
            key = (finding.part, finding.check, finding.accepted)
            groups.setdefault(key, []).append(row)
    return [
        f"{printable(part)}, {check}, {place_list((review.findings[r].start for r in rows), 12)};"
        f" accepted: {printable(reason).rstrip('.')}."
        for (part, check, reason), rows in groups.items()
    ]
