"""How a verdict depends on who plays; no measuring."""

from __future__ import annotations

from mockcheck.model.finding import Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.session import Level


def is_soloist(part: PlayedPart) -> bool:
    """One player on the part, or players prepared as soloists."""
    return part.players == 1 or part.session.level is Level.SOLO


def severity_when_shared(part: PlayedPart, players_needed: int) -> Severity:
    """What one hand cannot hold is impossible alone; enough players share it.

    Shared, it still costs a take when the page does not say who takes what: risky.
    """
    return Severity.IMPOSSIBLE if part.players < players_needed else Severity.RISKY


def instrument_family(part: PlayedPart) -> str:
    """Instruments that differ only in strings count as one: every double bass is a double bass."""
    is_bass = part.instrument.id.startswith("double bass")
    return "double bass" if is_bass else part.instrument.id
