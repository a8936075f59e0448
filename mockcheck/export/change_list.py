"""What the players' copy changed, as text and as a table."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from textwrap import wrap

from mockcheck.export.players_copy import Change
from mockcheck.model.words import cell, place_words, printable

COLUMNS = ("part", "bar", "beat", "time_s", "what", "check", "finding", "before", "after")


def changes_text(
    changes: Sequence[Change], renamed: Mapping[str, Sequence[str]], width: int = 100
) -> str:
    """One paragraph a change: where, what and why, and the notes before and after.

    `renamed` gives the new tracks of those that were divided; a brief has to name them anew.
    """
    if not changes:
        return "Nothing was changed: the copy holds the music as it is."
    lines: list[str] = []
    for change in changes:
        place = place_words(change.place, change.place)
        head = f"{printable(change.part)}, {place}: {printable(change.what)} [{change.check}]"
        lines += wrap(head, width, subsequent_indent="  ", break_on_hyphens=False)
        if change.before != change.after:
            for word, notes in (("was", change.before), ("now", change.after)):
                lines += wrap(f"  {word}: {printable(notes)}", width, subsequent_indent="    ")
    for old, new in renamed.items():
        names = ", ".join(map(printable, new))
        lines += wrap(
            f"Track '{printable(old)}' is now {names}: name these in the brief of the copy.",
            width,
            subsequent_indent="  ",
        )
    return "\n".join(lines)


def changes_csv(changes: Sequence[Change]) -> str:
    """The same as a table, columns as in COLUMNS; bar and beat are empty where there are none."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(COLUMNS)
    for change in changes:
        place = change.place
        row = [change.part, place.bar, place.beat, round(place.time_s, 3), change.what]
        row += [change.check, change.finding, change.before, change.after]
        table.writerow([cell(item) if isinstance(item, str) else item for item in row])
    return out.getvalue()
