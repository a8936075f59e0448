import csv
import io

from mockcheck.export.change_list import COLUMNS, changes_csv, changes_text
from mockcheck.export.players_copy import Change
from mockcheck.model.time import Location

PLACE = Location(bar=28, beat=3.0, tick=0, time_s=59.87251)
THINNED = Change(
    "Cello", PLACE, "16 of 24 notes left out", "run-too-fast", "run-too-fast-1", "D2 E2 F2", "D2 F2"
)
LEFT = Change(
    "=Viola", PLACE, "left as it is, for you to decide: raise it an octave",
    "note-below-open-string", "note-below-open-string-1", "B2", "B2",
)  # fmt: skip


def test_each_change_says_where_what_and_why() -> None:
    text = changes_text([THINNED, LEFT], {})
    assert text.splitlines() == [
        "Cello, bar 28, beat 3: 16 of 24 notes left out [run-too-fast]",
        "  was: D2 E2 F2",
        "  now: D2 F2",
        "=Viola, bar 28, beat 3: left as it is, for you to decide: raise it an octave",
        "  [note-below-open-string]",
    ]
    assert "was: B2" not in text


def test_divided_tracks_are_named_and_nothing_changed_is_said() -> None:
    assert "Track 'Violins' is now Violins a, Violins b" in changes_text(
        [THINNED], {"Violins": ("Violins a", "Violins b")}
    )
    assert changes_text([], {}).startswith("Nothing was changed")


def test_the_table_has_a_row_a_change_and_no_formula() -> None:
    rows = list(csv.DictReader(io.StringIO(changes_csv([THINNED, LEFT]))))
    assert tuple(rows[0]) == COLUMNS
    assert (rows[0]["bar"], rows[0]["beat"], rows[0]["time_s"]) == ("28", "3.0", "59.873")
    assert rows[1]["part"] == "'=Viola"
    assert rows[0]["finding"] == "run-too-fast-1"
