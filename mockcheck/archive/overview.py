"""A run over many files on a screen or two: how many can be played, then a line a file."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from mockcheck.archive.pool import Kind
from mockcheck.archive.reviewing import Outcome
from mockcheck.model.finding import Severity
from mockcheck.model.words import count_of, counts_words, printable
from mockcheck.report.terminal import wrap

WHY_NOT = {
    Kind.REFUSED: "could not be used",
    Kind.STOPPED: "took too long",
    Kind.CRASHED: "met a fault of mockcheck",
}
"""Why a file has no review, in the words of every report about many files."""
_END_OF_CLAUSE = re.compile(r" \(|; |\. |, but ")
_NOT_REVIEWED = "not reviewed"
_STATES = ("not ready", "ready but for some bars", "ready", _NOT_REVIEWED)


def overview_text(outcomes: Sequence[Outcome], width: int = 100) -> str:
    """The answer over all files first, then each file in its order: its verdict, what was found.

    Parameters
    ----------
    width
        Columns to wrap to.
    """
    states = Counter(_state(outcome) for outcome in outcomes)
    told = ", ".join(f"{states[state]:,} {state}" for state in _STATES if states[state])
    levels = {o.done.value.record.level for o in outcomes if o.done.value is not None}
    level = f", judged at level {printable(min(levels))}" if levels else ""
    lines = [f"{count_of(len(outcomes), 'file')}{level}: {told}.", ""]
    for outcome in outcomes:
        lines += wrap(_line(outcome), width, "", "    ")
    if any(o.done.value is not None and o.done.value.record.findings for o in outcomes):
        lines += ["", "Review a file by itself, or all with --all, to read every finding."]
    return "\n".join(lines)


def _state(outcome: Outcome) -> str:
    if outcome.done.value is None:
        return _NOT_REVIEWED
    worst = outcome.done.value.record.worst() or Severity.REMARK
    if worst is Severity.IMPOSSIBLE:
        return "not ready"
    return "ready" if worst is Severity.REMARK else "ready but for some bars"


def _line(outcome: Outcome) -> str:
    name = printable(outcome.file.name)
    reviewed = outcome.done.value
    if reviewed is None:
        return f"{name}: Not reviewed: {_why(outcome)}."
    findings = reviewed.record.findings
    counted = [finding for finding in findings if finding.accepted is None]
    accepted = len(findings) - len(counted)
    # The verdict names a single finding as it is; only a remark never stands in one.
    is_told = len(counted) == 1 and counted[0].severity > Severity.REMARK
    found = [
        "" if is_told else counts_words(counted),
        f"{accepted:,} accepted" if accepted else "",
    ]
    counts = "; ".join(words for words in found if words)
    return f"{name}: {reviewed.verdict}{f' ({counts})' if counts else ''}"


def _why(outcome: Outcome) -> str:
    """The first clause of a refusal; the whole of it has gone to whoever called."""
    done, path = outcome.done, outcome.file.path
    if done.kind is not Kind.REFUSED or not done.fault:
        return f"it {WHY_NOT[done.kind]}"
    told = done.fault.removeprefix(str(path)).removeprefix(path.name).lstrip(":, ")
    return printable(_END_OF_CLAUSE.split(told.rstrip("."), maxsplit=1)[0])
