"""The promised figures: what each is, its target, and what was measured.

tests/test_accuracy.py holds the same targets on a small subset in every test run.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tests.accuracy import false_alarms, handbook
from tests.accuracy.false_alarms import Alarms, Word, per_1000, word_key
from tests.accuracy.metamorphic import Trial
from tests.accuracy.real_files import FileOutcome
from tests.accuracy.recall import Verdict
from tests.accuracy.report import Figure
from tests.playing import agreement

MOST_UNSOUND = 0.02
"""Impossible in range and chords and not judged right: one in four quartets."""
MOST_IMPOSSIBLE = 0.5
"""Of every family, what the encodings really hold of the impossible included."""
MOST_RISKY = {"solo": 5.0, "rehearsed": 5.0}
LEAST_RECALL = 0.95
MOST_ELSEWHERE = 0.01
"""New findings away from the fault, for each fault injected."""
LEAST_WITHIN_ONE_GRADE = 0.95


@dataclass(frozen=True)
class Measured:
    """Everything the report is made of."""

    quartets: list[Alarms]
    music21: list[Alarms]
    injected: list[Verdict]
    whole: list[Verdict]
    trials: list[Trial]
    files: list[FileOutcome]


def _severity_rate(alarms: Sequence[Alarms], level: str, severity: str) -> float:
    rows = [row for row in alarms if row.level == level]
    counts = false_alarms.count_by_check(rows)
    count = sum(number for (_, grade), number in counts.items() if grade == severity)
    return per_1000(count, false_alarms.count_notes(rows))


def false_alarm_figures(name: str, alarms: Sequence[Alarms]) -> Iterator[Figure]:
    """False alarms of one set of works."""
    if not alarms:
        return
    words = false_alarms.read_words()
    listed = false_alarms.impossible(alarms)
    unsound = [row for row in listed if words.get(word_key(*row), Word()).verdict != "right"]
    rate = per_1000(len(unsound), false_alarms.count_notes(alarms))
    yield Figure(
        f"{name}: impossible in range and chords where the product errs, per 1,000 notes",
        f"at most {MOST_UNSOUND}",
        f"{rate:.3f} ({len(listed)} such findings, {len(listed) - len(unsound)} judged right)",
        rate <= MOST_UNSOUND,
    )
    others = false_alarms.impossible(alarms, is_listed=False)
    verdicts = Counter(words.get(word_key(*row), Word()).verdict for row in others)
    yield Figure(
        f"{name}: impossible in the other families that nobody has read",
        "0",
        f"{verdicts['']} of {len(others)} ({verdicts['right']} judged right,"
        f" {verdicts['in doubt']} in doubt)",
        verdicts[""] == 0,
    )
    for level in false_alarms.LEVELS:
        for severity, most in (("impossible", MOST_IMPOSSIBLE), ("risky", MOST_RISKY[level])):
            rate = _severity_rate(alarms, level, severity)
            label = f"{name}: {severity} per 1,000 notes, level {level}"
            yield Figure(label, f"at most {most}", f"{rate:.3f}", rate <= most)


def recall_figures(verdicts: Sequence[Verdict]) -> Iterator[Figure]:
    """Share of the faults found, by kind and setting, and new findings away from them."""
    for kind, setting in dict.fromkeys((row.kind, row.setting) for row in verdicts):
        of = [row for row in verdicts if (row.kind, row.setting) == (kind, setting)]
        share = sum(row.is_found for row in of) / len(of)
        label = f"found, {kind}, {setting}"
        yield Figure(label, f"at least {LEAST_RECALL:.0%}", f"{share:.1%}", share >= LEAST_RECALL)
    away = sum(len(row.elsewhere) for row in verdicts) / len(verdicts)
    yield Figure(
        "new findings away from the fault, for each fault",
        f"at most {MOST_ELSEWHERE}",
        f"{away:.3f}",
        away <= MOST_ELSEWHERE,
    )


def handbook_figures() -> Iterator[Figure]:
    """Agreement with the tables of chords, ranges and facts."""
    for name in agreement.TABLES:
        share = agreement.agreement(agreement.agreement_rows(name)).within_one_step
        yield Figure(
            f"{name.removesuffix('.csv').replace('_', ' ')}: same grade or the next",
            f"at least {LEAST_WITHIN_ONE_GRADE:.0%}",
            f"{share:.1%}",
            share >= LEAST_WITHIN_ONE_GRADE,
        )
    for label, facts in (
        ("ranges and tunings", list(handbook.ranges())),
        ("facts of the trade", list(handbook.trade_facts())),
    ):
        held = sum(fact.agrees for fact in facts)
        yield Figure(label, "all agree", f"{held} of {len(facts)}", held == len(facts))


def relation_figures(trials: Sequence[Trial]) -> Iterator[Figure]:
    """Relations that held on every piece."""
    names = dict.fromkeys(trial.relation for trial in trials)
    held = [
        name
        for name in names
        if not any(trial.broken for trial in trials if trial.relation == name)
    ]
    yield Figure(
        "changes with a known effect", "all hold", f"{len(held)} of {len(names)}", held == [*names]
    )


def file_figures(outcomes: Sequence[FileOutcome]) -> Iterator[Figure]:
    """Files of each group that crash the review."""
    for group in dict.fromkeys(row.group for row in outcomes):
        of = [row for row in outcomes if row.group == group]
        crashed = sum(row.outcome == "crashed" for row in of)
        label = f"{group}: crashes on {len(of)} files"
        yield Figure(label, "none", str(crashed), crashed == 0)


def all_figures(measured: Measured) -> list[Figure]:
    """The summary, in the order of the report."""
    return [
        *false_alarm_figures("open quartets", measured.quartets),
        *false_alarm_figures("music21 corpus", measured.music21),
        *recall_figures(measured.injected),
        *handbook_figures(),
        *relation_figures(measured.trials),
        *file_figures(measured.files),
    ]
