"""The only place that calls the stages in order; it computes nothing itself."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from mockcheck.checks._accepting import accept_findings
from mockcheck.checks._runner import run_checks
from mockcheck.config import effective_values, session_from_brief, session_from_file
from mockcheck.errors import BadBrief, UnreadableInput
from mockcheck.infer import play as play_roles
from mockcheck.infer.summary import summarise
from mockcheck.model.played import PlayedScore
from mockcheck.model.review import Review
from mockcheck.model.score import Score
from mockcheck.model.session import Session
from mockcheck.read import load
from mockcheck.read.retime import retime
from mockcheck.read.roles import assign_roles

Brief = str | Path | Mapping[str, Any] | Session | None
"""A TOML file, its values, a ready session, or nothing: guess everything."""


def session_for(brief: Brief, level: str | None = None) -> Session:
    """The session a brief describes; raises BadBrief with every fault."""
    if isinstance(brief, Session):
        return brief
    if isinstance(brief, str | Path):
        return session_from_file(Path(brief), level)
    return session_from_brief(brief or {}, "brief", level)


def play(score: Score, brief: Brief = None, level: str | None = None) -> PlayedScore:
    """What players would do with a score: who plays, how, and with which slides.

    Raises UnreadableInput when the score holds no notes or nothing for strings, BadBrief when
    the brief does not fit the score.
    """
    session = session_for(brief, level)
    if not any(len(track.notes) for track in score.tracks):
        message = (
            f"{score.file}: the file holds no notes, only set-up events. Export the tracks with"
            " their notes, not muted, and try again."
        )
        raise UnreadableInput(message)
    if session.tempo_bpm is not None and score.tempo_map.assumed:
        score = retime(score, session.tempo_bpm)
    roles = assign_roles(score, session.tracks)
    if all(role.left_out for role in roles):
        reasons = "; ".join(f"'{role.name}': {role.left_out}" for role in roles[:8])
        message = (
            f"{score.file}: no track is for strings ({reasons}). If one is, name it in a brief:"
            ' [[tracks]] match = "its name", instrument = "violin".'
        )
        raise UnreadableInput(message)
    played = play_roles(score, session, roles)
    _require_known_parts(played)
    return played


def review(path: str | Path, brief: Brief = None, level: str | None = None) -> Review:
    """Read a file and say what players cannot, or should not, be asked to do.

    Parameters
    ----------
    path
        A Standard MIDI File.
    brief
        A TOML file or its values; None guesses everything.
    level
        'sight', 'rehearsed', 'solo' or one that the brief names; None takes the brief's level, or
        sight.

    Raises
    ------
    UnreadableInput
        The file holds no music for strings that can be read.
    BadBrief
        The brief is not valid or does not fit the file.
    """
    return review_score(load(path), brief, level)


def review_score(score: Score, brief: Brief = None, level: str | None = None) -> Review:
    """The same for music that has been read already; raises as `review` does."""
    played = play(score, brief, level)
    run = run_checks(played)
    players = {part.name: part.players for part in played.parts}
    accepted = accept_findings(run.findings, played.session.accepted, list(players))
    return Review(
        played=played,
        tracks=summarise(played),
        findings=accepted.findings,
        outcomes=run.outcomes,
        brief=effective_values(played.session, players),
        unused_acceptances=accepted.unused,
    )


def _require_known_parts(played: PlayedScore) -> None:
    parts = [part.name for part in played.parts]
    session = played.session
    # A brief for many files names parts that this one may lack.
    unknown = [name for name in session.players if name not in {*parts, *session.shared_players}]
    if unknown:
        message = (
            f"brief: [players] names {', '.join(map(repr, unknown))}, but the file's parts are"
            f" {', '.join(map(repr, parts))}. Use one of those names, or remove the line."
        )
        raise BadBrief(message)
