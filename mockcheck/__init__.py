"""Tells a composer what real string players cannot, or should not, be asked to play.

The public names load on first use, so that `import mockcheck` stays quick.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from mockcheck.model.played import PlayedScore
    from mockcheck.model.review import Review
    from mockcheck.model.score import Score
    from mockcheck.pipeline import play, review
    from mockcheck.read import load

__all__ = ["PlayedScore", "Review", "Score", "__version__", "load", "play", "review"]

__version__ = "0.1.0"

_HOMES = {
    "PlayedScore": "mockcheck.model.played",
    "Review": "mockcheck.model.review",
    "Score": "mockcheck.model.score",
    "load": "mockcheck.read",
    "play": "mockcheck.pipeline",
    "review": "mockcheck.pipeline",
}


def __getattr__(name: str) -> Any:
    """Import a public name from its room when it is first asked for."""
    from importlib import import_module

    if name not in _HOMES:
        message = f"module 'mockcheck' has no attribute '{name}'"
        raise AttributeError(message)
    return getattr(import_module(_HOMES[name]), name)
