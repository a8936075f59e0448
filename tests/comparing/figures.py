"""How often a finding is known again, and how often its id, or its acceptance, holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from mockcheck.checks._accepting import accept_findings
from mockcheck.model.acceptance import Acceptance
from mockcheck.model.finding import Finding
from mockcheck.plan.compare import Comparison, compare_reviews
from tests.accuracy.corpus import Work, fixture_quartets
from tests.accuracy.two_processes import spread
from tests.comparing.edits import Origin
from tests.comparing.trials import Trial, draw_trial

Figures = Counter[str]


def matched_pairs(trial: Trial, comparison: Comparison) -> dict[int, int]:
    """Pairs of new and old findings as the product tells them."""
    new = {id(finding): row for row, finding in enumerate(trial.new.findings)}
    old = {id(finding): row for row, finding in enumerate(trial.old.findings)}
    return {new[id(pair.new)]: old[id(pair.old)] for pair in comparison.kept}


def figures_of(trial: Trial) -> Figures:
    """Of one trial: decisions on every old and new finding, and how many were right.

    An old finding is decided rightly when it is told to be the one it truly is, or fixed when it
    is gone; a new one when it is told to be the right old one, or new.
    """
    told, truth = matched_pairs(trial, compare_reviews(trial.old, trial.new)), trial.truth
    old_told, old_truth = ({old: new for new, old in pairs.items()} for pairs in (told, truth))
    rows_old, rows_new = range(len(trial.old.findings)), range(len(trial.new.findings))
    figures: Figures = Counter(trials=1)
    figures["decisions"] = len(rows_old) + len(rows_new)
    figures["right"] = sum(old_told.get(row) == old_truth.get(row) for row in rows_old)
    figures["right"] += sum(told.get(row) == truth.get(row) for row in rows_new)
    figures["truly fixed"] = len(rows_old) - len(truth)
    figures["truly new"] = len(rows_new) - len(truth)
    figures["told new, wrongly"] = len(truth.keys() - told.keys())
    for row in rows_old:
        figures += _acceptance_of(trial, row, old_truth.get(row))
    return figures


def _acceptance_of(trial: Trial, row: int, now: int | None) -> Figures:
    """What an acceptance of one old finding by its id does in the new file."""
    finding = trial.old.findings[row]
    names = [part.name for part in trial.new.played.parts]
    wanted = Acceptance("meant", id=finding.id)
    marked = accept_findings(trial.new.findings, [wanted], names).findings
    accepted = [place for place, f in enumerate(marked) if f.accepted is not None]
    if now is None:
        return Counter({"gone": 1, "gone, yet accepted": int(bool(accepted))})
    is_same = _music(trial, finding, is_new=False) == _music(
        trial, trial.new.findings[now], is_new=True
    )
    kind = "same music" if is_same else "changed music"
    return Counter(
        {
            kind: 1,
            f"{kind}, id kept": int(trial.new.findings[now].id == finding.id),
            f"{kind}, accepted": int(accepted == [now]),
            "another one accepted": int(bool(accepted) and accepted != [now]),
        }
    )


def _music(trial: Trial, finding: Finding, *, is_new: bool) -> list[tuple[Origin, int, int, int]]:
    """The notes a finding names: what each was, pitch, distance from the first, and length."""
    rows = trial.notes_of(finding, is_new=is_new)
    notes = [
        (origin, note.pitch, note.onset, note.release - note.onset)
        for origin, note in sorted(rows, key=lambda row: (row[1].onset, row[1].pitch))
        if note.pitch in finding.pitches
    ][: len(finding.pitches)]
    return [(origin, pitch, onset - notes[0][2], length) for origin, pitch, onset, length in notes]


def _figures(job: tuple[Sequence[Work], int]) -> tuple[str, Figures]:
    trial = draw_trial(*job)
    return trial.kind, figures_of(trial)


def measure(numbers: Sequence[int]) -> dict[str, Figures]:
    """Figures by kind of edit, of the trials with these numbers."""
    works = fixture_quartets()
    by_kind: dict[str, Figures] = {}
    for kind, figures in spread(_figures, [(works, number) for number in numbers], batch=4):
        by_kind[kind] = by_kind.get(kind, Counter()) + figures
    return by_kind
