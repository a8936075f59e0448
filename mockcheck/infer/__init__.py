"""What players would do with the score, one layer a file; no verdicts."""

from __future__ import annotations

from mockcheck.infer.parts import play

__all__ = ["play"]
