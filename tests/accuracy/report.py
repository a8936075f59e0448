"""Writes reports/accuracy.md: a summary that a musician can read, then the details.

The text holds no date, no time taken and no path of this machine, so that two runs on the same
music give the same file.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from mockcheck.units import pitch_name
from tests.accuracy import false_alarms
from tests.accuracy.corpus import Work
from tests.accuracy.false_alarms import Alarms, Word, WordKey, per_1000, word_key
from tests.accuracy.handbook import NOT_YET, Agreed
from tests.accuracy.metamorphic import Trial
from tests.accuracy.real_files import FileOutcome
from tests.accuracy.recall import SETTINGS, Verdict
from tests.accuracy.reviewing import SEVERITIES, Found
from tests.playing.agreement import Agreement, AgreementRow

MOST_LISTED = 40
VERDICTS = ("easy", "possible", "hard", "impossible")


@dataclass(frozen=True)
class Figure:
    """One line of the summary."""

    name: str
    target: str
    measured: str
    is_met: bool


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """A Markdown table and an empty line."""
    yield "| " + " | ".join(head) + " |"
    yield "|" + " --- |" * len(head)
    for row in rows:
        yield "| " + " | ".join(str(cell).replace("|", "/") for cell in row) + " |"
    yield ""


def summary(figures: Sequence[Figure]) -> Iterator[str]:
    """The page to read."""
    yield from table(
        ("figure", "target", "measured", "met"),
        [(f.name, f.target, f.measured, "yes" if f.is_met else "**no**") for f in figures],
    )


def _names(pitches: Sequence[int]) -> str:
    few = " ".join(pitch_name(pitch) for pitch in pitches[:8])
    return few if len(pitches) <= 8 else f"{few} ... ({len(pitches)} notes)"


def alarm_table(alarms: Sequence[Alarms], level: str) -> Iterator[str]:
    """Findings of one level by check and severity, counted and per 1,000 notes."""
    rows = [row for row in alarms if row.level == level]
    notes = false_alarms.count_notes(rows)
    counts = false_alarms.count_by_check(rows)
    works = len(rows)
    yield f"Level {level}, one player a part: {works} works, {notes:,} notes."
    yield ""
    cells = [
        (check, *(_cell(counts[check, severity], notes) for severity in SEVERITIES))
        for check in sorted({check for check, _ in counts})
    ]
    sums = Counter[str]()
    for (_, severity), count in counts.items():
        sums[severity] += count
    cells.append(("all", *(_cell(sums[severity], notes) for severity in SEVERITIES)))
    yield from table(("check", *SEVERITIES), cells)


def _cell(count: int, notes: int) -> str:
    return f"{count} ({per_1000(count, notes):.3f})" if count else "0"


def impossible_list(
    rows: Sequence[tuple[Work, Found]], words: Mapping[WordKey, Word]
) -> Iterator[str]:
    """Impossible findings, with a person's word about each."""
    yield from table(
        ("work", "bar", "part", "check", "pitches", "measured", "the product is", "word"),
        [
            (
                work.name,
                found.first_bar,
                found.track,
                found.check,
                _names(found.pitches),
                found.measured,
                word.verdict or "not judged",
                word.why,
            )
            for work, found in sorted(rows, key=lambda row: (row[0].name, row[1].first_tick))
            for word in [words.get(word_key(work, found), Word())]
        ],
    )


def work_table(alarms: Sequence[Alarms]) -> Iterator[str]:
    """Each work with its impossible and risky findings at each level, and whose tempo it has."""
    by_work: dict[Work, dict[str, Counter[str]]] = {}
    for row in alarms:
        counts = Counter(found.severity for found in row.found)
        by_work.setdefault(row.work, {})[row.level] = counts
    levels = false_alarms.LEVELS
    yield from table(
        ("work", "notes", "tempo", *(f"{level}: impossible, risky" for level in levels)),
        [
            (
                work.name,
                work.notes,
                work.tempo_from,
                *(f"{of[level]['impossible']}, {of[level]['risky']}" for level in levels),
            )
            for work, of in by_work.items()
        ],
    )


def recall_table(verdicts: Sequence[Verdict]) -> Iterator[str]:
    """Found of injected by kind and setting, and what else each kind set off."""
    rows = []
    for kind in dict.fromkeys(row.kind for row in verdicts):
        for setting in SETTINGS:
            of = [row for row in verdicts if row.kind == kind and row.setting == setting]
            if not of:
                continue
            found = sum(row.is_found for row in of)
            said = Counter(row.severity for row in of if row.severity)
            rows.append(
                (
                    kind,
                    setting,
                    f"{found} of {len(of)} ({found / len(of):.1%})",
                    ", ".join(f"{count} {severity}" for severity, count in said.most_common()),
                    sum(len(row.beside) for row in of),
                    sum(len(row.elsewhere) for row in of),
                    sum(len(row.lost) for row in of),
                )
            )
    head = ("fault", "players", "found", "as", "other new findings there", "elsewhere", "lost")
    yield from table(head, rows)


def miss_list(verdicts: Sequence[Verdict]) -> Iterator[str]:
    """Every fault that was not found where it is."""
    missed = [row for row in verdicts if not row.is_found]
    rows = [
        (
            row.kind,
            row.setting,
            row.place,
            row.part,
            "-".join(map(str, sorted(set(row.bars)))),
            row.detail,
            "; ".join(row.misplaced) or "; ".join(row.beside) or "nothing",
        )
        for row in missed[:MOST_LISTED]
    ]
    head = ("fault", "players", "excerpt", "part", "bar of excerpt", "detail", "said instead")
    yield from table(head, rows)
    yield from more(len(missed))


def side_effects(verdicts: Sequence[Verdict]) -> Iterator[str]:
    """Which checks speak beside a fault, and every new finding away from it."""
    beside = Counter((row.kind, words) for row in verdicts for words in row.beside)
    yield "At the fault, besides the fitting check (mostly true: a low note in a chord also"
    yield "spoils the chord):"
    yield ""
    rows = [(kind, words, count) for (kind, words), count in sorted(beside.items())]
    yield from table(("fault", "also said there", "times"), rows)
    yield "Away from the fault:"
    yield ""
    away = [
        (row.kind, row.setting, row.place, row.part, row.bars[0], "; ".join(row.elsewhere))
        for row in verdicts
        if row.elsewhere
    ]
    head = ("fault", "players", "excerpt", "part", "bar", "new finding")
    yield from table(head, away[:MOST_LISTED])
    yield from more(len(away))


def more(count: int) -> Iterator[str]:
    """How many rows a list has left out."""
    if count > MOST_LISTED:
        yield f"... and {count - MOST_LISTED} more."
        yield ""


def confusion(name: str, whole: Agreement) -> Iterator[str]:
    """The grades of a table against the product's."""
    yield (
        f"{name}: {whole.rows} chords, {whole.exact:.1%} the same grade,"
        f" {whole.within_one_step:.1%} the same or the next."
    )
    yield ""
    yield from table(
        ("table says", *(f"product: {verdict}" for verdict in VERDICTS)),
        [(said, *(whole.cells[said, verdict] for verdict in VERDICTS)) for said in VERDICTS],
    )


def disagreement_list(rows: Sequence[AgreementRow]) -> Iterator[str]:
    """Chords graded otherwise by two steps or more, or impossible against the table."""
    grave = [
        row
        for row in rows
        if abs(row.steps) > 1
        or (row.steps and "impossible" in (row.table_verdict, row.answer.verdict))
    ]
    yield from table(
        ("instrument", "pitches", "table", "product", "product's reason", "graded by"),
        [
            (
                row.instrument,
                _names(row.pitches),
                row.table_verdict,
                row.answer.verdict,
                row.answer.reason,
                "the source" if row.is_evidence else "a rule of the table",
            )
            for row in grave
        ],
    )
    yield (
        f"{len(rows) - len(grave)} more differ by one grade, none of them about whether the chord"
        " can be played at all."
    )
    yield ""


def agreed_table(rows: Sequence[Agreed]) -> Iterator[str]:
    """Facts beside what the product says."""
    yield from table(
        ("fact", "source", "product", "agrees"),
        [(row.fact, row.source, row.product, "yes" if row.agrees else "**no**") for row in rows],
    )


def relation_table(trials: Sequence[Trial]) -> Iterator[str]:
    """Each relation: pieces tried, findings compared, pieces that broke it."""
    rows = []
    for relation in dict.fromkeys(trial.relation for trial in trials):
        of = [trial for trial in trials if trial.relation == relation]
        broken = sum(bool(trial.broken) for trial in of)
        rows.append((relation, len(of), sum(trial.compared for trial in of), broken))
    yield from table(("relation", "pieces", "findings compared", "pieces that break it"), rows)
    lines = [(trial.relation, trial.place, line) for trial in trials for line in trial.broken]
    if lines:
        yield from table(("relation", "piece", "difference"), lines[:MOST_LISTED])
        yield from more(len(lines))


def file_table(outcomes: Sequence[FileOutcome]) -> Iterator[str]:
    """One line a file."""
    rows = [
        (
            row.name,
            row.outcome,
            row.reviewed,
            row.left_out,
            row.warnings,
            ", ".join(map(str, row.findings)),
            row.reason,
        )
        for row in outcomes
    ]
    head = (
        "file",
        "outcome",
        "tracks reviewed",
        "left out",
        "warnings",
        "impossible, risky, awkward, remark",
        "why",
    )
    yield from table(head, rows)


def not_yet() -> Iterator[str]:
    """What the handbook says and the product does not speak about."""
    yield "Not measured, because no check speaks about it yet: " + "; ".join(NOT_YET) + "."
    yield ""
