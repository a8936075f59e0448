"""What the brief form shows of each track: the guess, what the brief says, the switches found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from mockcheck.model.played import FoundSwitch, PlayedPart, PlayedScore, Role
from mockcheck.model.score import Score
from mockcheck.model.session import Session, Switch, TrackChoice
from mockcheck.model.words import count_of, printable
from mockcheck.read.review_rows import review_rows
from mockcheck.read.roles import assign_roles
from mockcheck.read.track_choices import choices_by_row
from mockcheck.report._switch_words import note_words, trigger_words

PLAIN_CHOICES = (
    "instrument",
    "part",
    "players",
    "leave_out",
    "articulation",
    "stays",
    "bend_range_semitones",
)
"""Keys of `[[tracks]]` that hold one value each."""


def track_rows(score: Score, session: Session, played: PlayedScore | None) -> list[dict[str, Any]]:
    """One plain record for each row of the track list, ready for JSON.

    Parameters
    ----------
    score, session
        The file and the brief in force.
    played
        What was made of them; None where nothing could be, which leaves switches and sizes open.

    Returns
    -------
    Records with `index`, `name`, `match` (what a brief calls the row), `notes`, `guess` (who plays
    if the brief says nothing), `now` (who plays in this review), `said` (what the brief says) and
    `switches`.

    Raises
    ------
    BadBrief
        The brief names a track that the file does not have.
    """
    rows = review_rows(score)
    guesses = assign_roles(score)
    roles = played.roles if played is not None else guesses
    said = choices_by_row(rows, session.tracks)
    parts = played.part_of_role() if played is not None else {}
    names = [row.name for row in rows]
    records = []
    for row, guess, choice, role in zip(rows, guesses, said, roles, strict=True):
        part = parts.get(row.index)
        found = [s for s in part.switches if s.track == row.index] if part is not None else []
        records.append(
            {
                "index": row.index,
                "name": printable(row.name),
                "match": _match(row.index, names),
                "notes": len(row.notes),
                "guess": {
                    "instrument": guess.instrument,
                    "part": guess.part,
                    "players": part.players if part is not None else None,
                    "articulation": guess.articulation,
                    "leave_out": guess.left_out,
                    "evidence": printable(guess.evidence),
                    "confidence": guess.confidence,
                },
                "now": _now(role, part),
                "said": _said(choice, session, part.name if part is not None else guess.part),
                "switches": list(_switches(found, choice.switches, session.middle_c_octave)),
            }
        )
    return records


def _match(index: int, names: Sequence[str]) -> str | int:
    """The row's name where that names it alone, as it does in the next version; else its number."""
    name = names[index]
    choice = TrackChoice(name)
    hits = [row for row, other in enumerate(names) if choice.is_for(other, row)]
    return name if hits == [index] and name.isprintable() else index


def _now(role: Role, part: PlayedPart | None) -> dict[str, str]:
    """Who plays the row in this review, and how sure that is, in words."""
    if role.left_out is not None:
        return {"words": f"left out: {printable(role.left_out)}", "sure": ""}
    players = f", {count_of(part.players, 'player')}" if part is not None else ""
    sure = f"{100 * role.confidence:.0f} %: {printable(role.evidence)}"
    return {"words": f"{printable(role.part)} ({role.instrument}){players}", "sure": sure}


def _said(choice: TrackChoice, session: Session, part: str) -> dict[str, Any]:
    said = {key: getattr(choice, key) for key in PLAIN_CHOICES}
    # [players] wins over a track's own number; the form knows the latter only.
    said["players"] = session.players.get(part, choice.players)
    return {key: value for key, value in said.items() if value is not None}


def _switches(
    found: Sequence[FoundSwitch], said: Sequence[Switch], middle_c_octave: int
) -> Iterator[dict[str, Any]]:
    """The switches found, then those that the brief names and nobody threw."""
    tables = [_table(switch) for switch in said]
    shown = []
    for switch in found:
        trigger = _trigger(switch)
        shown.append(trigger)
        yield {
            "trigger": trigger,
            "words": trigger_words(switch, middle_c_octave, with_middle_c=False),
            "note": note_words(switch, middle_c_octave),
            "guess": None if switch.confidence == 1 else switch.articulation,
            "said": [row for row in tables if _is_about(row, trigger)],
        }
    rest = [row for row in tables if not any(_is_about(row, trigger) for trigger in shown)]
    for row in rest:
        trigger = {key: value for key, value in row.items() if key != "articulation"}
        yield {
            "trigger": trigger,
            "words": ", ".join(f"{key} {value}" for key, value in trigger.items()),
            "note": "named in the brief, never thrown in this file",
            "guess": None,
            "said": [row],
        }


def _is_about(row: dict[str, Any], trigger: dict[str, Any]) -> bool:
    keys = ("key", "controller", "values", "program", "channel")
    return all(row.get(key) == trigger.get(key) for key in keys)


def _trigger(switch: FoundSwitch) -> dict[str, Any]:
    """What throws it, as the brief writes it; programs count from 1 there."""
    if switch.pitch is not None:
        return {"key": switch.pitch} | ({"held": True} if switch.is_held else {})
    if switch.controller is not None:
        return {"controller": switch.controller, "values": [switch.low, switch.high]}
    if switch.program is not None:
        return {"program": switch.program + 1}
    return {"channel": switch.channel}


def _table(switch: Switch) -> dict[str, Any]:
    row: dict[str, Any] = {"articulation": switch.articulation}
    if switch.key is not None:
        row["key"] = switch.key
    elif switch.controller is not None:
        row |= {"controller": switch.controller, "values": [switch.low, switch.high]}
    elif switch.program is not None:
        row["program"] = switch.program + 1
    else:
        row["channel"] = switch.channel
    return row | ({"held": True} if switch.held else {})
