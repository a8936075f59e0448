"""Instruments as an independent library has them: music21 10.5, module instrument."""

from __future__ import annotations

from typing import Any

import music21


def reference_instrument(kind: str) -> Any:
    """One of music21's instruments; its classes are only partly typed, hence Any."""
    return getattr(music21.instrument, kind)()


def midi(name: str) -> int:
    return int(music21.pitch.Pitch(name).midi)
