"""One review in a process of its own, so that no file can stop the page: `_worker FOLDER`.

The folder holds `mockup.mid` and `request.json`; the answer is `answer.json` with the pages and
downloads beside it, all under names of our own. Each stage is told on stdout, one line each.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

from mockcheck.config import session_from_brief
from mockcheck.errors import BadBrief, UserError
from mockcheck.model.finding import Severity
from mockcheck.model.played import PlayedScore
from mockcheck.model.review import Review
from mockcheck.model.score import Score
from mockcheck.model.session import Session
from mockcheck.web.downloads import make_downloads, zipped
from mockcheck.web.track_rows import track_rows


def main(folder: Path) -> None:
    """Review the mock-up in the folder and write the answer beside it."""
    request = json.loads((folder / "request.json").read_text(encoding="utf-8"))
    answer = _answer(folder, request["name"], request["brief"])
    (folder / "answer.json").write_text(json.dumps(answer), encoding="utf-8")


def _answer(folder: Path, name: str, brief: dict[str, Any]) -> dict[str, Any]:
    from mockcheck.read import read_bytes

    _tell("reading the file")
    content = (folder / "mockup.mid").read_bytes()
    try:
        score = read_bytes(content, name)
    except UserError as error:
        return {"problem": str(error), "rows": []}
    session = Session()
    try:
        session = session_from_brief(brief, "brief")
        _tell("playing it through and checking it")
        review = _review(folder / "mockup.mid", session, score)
    except UserError as error:
        problem = str(error).replace("mockup.mid", name)
        return {"problem": problem, "rows": _rows(score, session, None)}
    _tell("writing the page and the files to take away")
    return _answer_with(review, content, folder, name)


def _review(path: Path, session: Session, score: Score) -> Review:
    """The review under the name that the user knows the file by, not that of our copy."""
    from mockcheck.pipeline import review

    result = review(path, session)
    named = replace(result.played.score, file=score.file)
    return replace(result, played=replace(result.played, score=named))


def _answer_with(review: Review, content: bytes, folder: Path, name: str) -> dict[str, Any]:
    from mockcheck.report._verdict import verdict

    stem = _file_stem(name)
    downloads, failed = make_downloads(review, content, stem)
    everything = {item.name: item.content for item in downloads}
    listed = [(item.name, item.purpose, item.content) for item in downloads]
    listed.append((f"{stem}.zip", "All of these in one archive", zipped(everything)))
    for number, (_, _, data) in enumerate(listed):
        (folder / f"download-{number}").write_bytes(data)
    return {
        "problem": None,
        "verdict": verdict(review),
        "counts": {s.label: review.counts[s] for s in sorted(Severity, reverse=True)},
        "rows": _rows(review.played.score, review.played.session, review.played),
        "downloads": [{"name": item, "purpose": purpose} for item, purpose, _ in listed],
        "failed": failed,
    }


def _file_stem(name: str) -> str:
    """What downloads begin with: letters, digits and little else, legal on every system."""
    stem = name.rpartition(".")[0] or name
    kept = "".join(sign if sign.isalnum() or sign in " ._-" else "_" for sign in stem)
    return kept[:80].strip(" .") or "mock-up"


def _rows(score: Score, session: Session, played: PlayedScore | None) -> list[dict[str, Any]]:
    try:
        return track_rows(score, session, played)
    except BadBrief:
        # The brief names tracks that are not there: show them as guessed, to be named anew.
        return track_rows(score, replace(session, tracks=()), played)


def _tell(stage: str) -> None:
    sys.stdout.write(f"{stage}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
