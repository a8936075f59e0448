"""The whole job on one file, as `mockcheck review --format json` does it."""

from __future__ import annotations

from pathlib import Path

from mockcheck.model.review import Review
from mockcheck.pipeline import review
from mockcheck.report.review_json import render_json


def whole_review(path: Path) -> Review:
    """Read, infer, search for fingerings, check and write the JSON."""
    result = review(path)
    render_json(result)
    return result
