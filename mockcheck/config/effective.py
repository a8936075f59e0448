"""What is in force once the brief and every guess are put together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from mockcheck.model.acceptance import Acceptance
from mockcheck.model.session import Session, TrackChoice
from mockcheck.model.words import bars_words


def effective_values(session: Session, players: Mapping[str, int]) -> dict[str, Any]:
    """What is in force, guesses of section sizes included, as plain values for review.json.

    `level` and `style` are always one of the usual ones; what the brief names stands beside them.
    """
    return {
        "level": str(session.level),
        "style": str(session.style),
        **_named_values(session),
        "middle_c": f"C{session.middle_c_octave}",
        "tempo_bpm": session.tempo_bpm,
        "frame_rate": session.frame_rate,
        "start_timecode": session.start_timecode,
        "players": dict(players),
        "tracks": [_choice_values(choice) for choice in session.tracks],
        "checks": {check_id: dict(values) for check_id, values in session.check_params.items()},
        "accept": [_acceptance_values(row) for row in session.accepted],
    }


def _named_values(session: Session) -> dict[str, Any]:
    values: dict[str, Any] = {}
    if session.named_level is not None:
        values["level_name"] = session.level_name
        values["tempo_share"] = session.tempo_share
    if session.named_style is not None:
        values["style_name"] = session.style_name
        numbers = {key: value for key, value in vars(session.named_style).items() if key != "name"}
        values |= {key: value for key, value in numbers.items() if value is not None}
    return values


def _acceptance_values(accepted: Acceptance) -> dict[str, Any]:
    if accepted.id is not None:
        return {"reason": accepted.reason, "id": accepted.id}
    bars = "all" if accepted.bars is None else bars_words(accepted.bars).split(" ", 1)[1]
    return {
        "reason": accepted.reason,
        "check": accepted.check,
        "part": accepted.part,
        "bars": bars,
    }


def _choice_values(choice: TrackChoice) -> dict[str, Any]:
    said = {key: value for key, value in vars(choice).items() if value is not None}
    row = {key: value for key, value in said.items() if key != "is_shared"}
    row["switches"] = [
        {key: value for key, value in vars(switch).items() if value is not None}
        for switch in choice.switches
    ]
    return row
