import json
import struct
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from mockcheck.checks._registry import SECTIONS, Check, all_checks
from mockcheck.checks._runner import run_checks
from mockcheck.infer import play
from mockcheck.infer.excerpts import excerpt
from mockcheck.model.finding import FAMILIES, Finding
from mockcheck.model.session import Session
from mockcheck.read import load, read_bytes
from mockcheck.read.roles import assign_roles
from tests.phrases import midi_bytes, played

FIXTURES = Path(__file__).parent.parent.parent / "fixtures"
CHECKS = list(all_checks().values())
DEMO = FIXTURES / "demo" / "harbour_at_dawn.mid"

CROWDED = (
    "violin players=8 4/4 q=120 | G3+A3:1 F#3:1 C5:1> G5:1 | C8:2 G3+A3+B3+C4+D4:2 |"
    " C5:1/8 D5:1/8 E5:1/8 F5:1/8 G5:1/8 A5:1/8 B5:1/8 C6:1/8 D6:1/8 E6:1/8 r:11/4 |",
    "cello 4/4 q=120 | C2:1/4 C2:1/4 C2:1/4 C2:1/4 C2:1 E2:2 | B1:4 | G2+A2:4 |",
)
"""Plain phrases with faults of most families."""


each = pytest.mark.parametrize("item", CHECKS, ids=lambda item: item.id)


@each
def test_a_check_says_why_what_when_and_from_where(item: Check[Any]) -> None:
    explanation = item.explanation()
    assert tuple(explanation) == SECTIONS
    assert all(len(text) > 20 for text in explanation.values())
    assert not any(char.isdigit() for char in item.title)
    assert item.family in FAMILIES


@each
def test_a_check_has_a_test_of_its_own(item: Check[Any]) -> None:
    assert (Path(__file__).parent / f"test_{item.id.replace('-', '_')}.py").exists()


@each
def test_every_number_of_a_check_has_unit_range_meaning_and_source(item: Check[Any]) -> None:
    for name, field in item.params.model_fields.items():
        extra = field.json_schema_extra
        assert isinstance(extra, dict), name
        assert extra["unit"], name
        assert extra["source"], name
        assert field.description, name
        kinds = {type(rule).__name__ for rule in field.metadata}
        assert {"Ge", "Le"} <= kinds, name
        item.params(**{name: field.default})


@each
def test_a_bar_of_rest_gives_nothing(item: Check[Any]) -> None:
    score = played("violin 4/4 q=100 | C5:1 r:3 |")
    empty = replace(score.parts[0], slides=())
    assert list(item.find(empty, item.params())) == []


@each
def test_a_part_without_notes_gives_nothing(item: Check[Any]) -> None:
    # So is a part whose notes were all switches.
    nothing = excerpt(played(*CROWDED).parts[0], np.empty(0, np.int64))
    assert list(item.find(nothing, item.params())) == []


@each
def test_what_nobody_looked_for_is_not_found_and_not_missed(item: Check[Any]) -> None:
    # PlayedPart: None stands for a layer that nobody looked for.
    unheard = dict.fromkeys(
        ("fingering", "loudness", "slur", "intonation", "lines", "spelling", "written", "reading")
    )
    for part in played(*CROWDED).parts:
        bare = replace(part, **unheard)  # type: ignore[arg-type]  # all of these may be None
        found = list(item.find(bare, item.params()))
        assert all(observed.note_indices for observed in found)
        assert not found or item.family != "reading"


def test_music_without_bars_is_looked_at_as_well() -> None:
    # SMF 1.0, header chunk: 25 frames of 40 ticks a second, so a tick is a millisecond.
    data = midi_bytes(*CROWDED)
    data = data[:12] + struct.pack(">bB", -25, 40) + data[14:]
    score = read_bytes(data, "frames.mid")
    found = run_checks(play(score, Session(), assign_roles(score, ())), raise_crashes=True).findings
    assert {"range", "chords", "speed"} <= {finding.family for finding in found}
    assert {finding.start.bar for finding in found} == {None}
    fast = [finding for finding in found if finding.check == "run-too-fast"]
    assert fast
    assert all("of the written tempo" in finding.suggestion for finding in fast)


def test_every_check_runs_on_every_fixture_without_a_crash() -> None:
    files = [*FIXTURES.glob("*/*.mid"), *FIXTURES.glob("*/*.rmi")]
    assert len(files) > 40
    reviewed = 0
    for file in files:
        try:
            score = load(file)
        except Exception:  # noqa: BLE001, S112  # unreadable ones are the reader's own test
            continue
        roles = assign_roles(score, ())
        run_checks(play(score, Session(), roles), raise_crashes=True)
        reviewed += 1
    assert reviewed > 40


def music(finding: Finding) -> dict[str, Any]:
    row = asdict(finding)
    for place in ("start", "end", "track"):
        del row[place]
    return row


def test_moving_the_music_by_whole_bars_moves_only_places() -> None:
    shifted = tuple(text.replace("|", "| r:4 | r:4 |", 1) for text in CROWDED)
    before, after = (run_checks(played(*texts)).findings for texts in (CROWDED, shifted))
    assert len(before) >= 5
    assert [music(finding) for finding in after] == [music(finding) for finding in before]
    assert [f.start.bar for f in after] == [(f.start.bar or 0) + 2 for f in before]


def test_the_order_of_tracks_changes_nothing() -> None:
    before, after = (run_checks(played(*texts)).findings for texts in (CROWDED, CROWDED[::-1]))
    assert sorted(finding.id for finding in before) == sorted(finding.id for finding in after)


def test_inputs_stay_as_they_are() -> None:
    score = played(*CROWDED)
    copies = [asdict(part.notes) for part in score.parts]
    copies = [{name: np.copy(column) for name, column in copy.items()} for copy in copies]
    run_checks(score)
    for part, copy in zip(score.parts, copies, strict=True):
        for name, column in copy.items():
            assert np.array_equal(getattr(part.notes, name), column)


def test_running_twice_gives_the_same() -> None:
    data = midi_bytes(*CROWDED)
    runs = []
    for _ in range(2):
        score = read_bytes(data, "again.mid")
        runs.append(run_checks(play(score, Session(), assign_roles(score, ()))).findings)
    assert runs[0] == runs[1]


def test_findings_survive_json() -> None:
    for finding in run_checks(played(*CROWDED)).findings:
        assert json.loads(json.dumps(asdict(finding)))["id"] == finding.id


def test_every_finding_says_what_is_wrong_and_offers_a_way_out() -> None:
    for finding in run_checks(played(*CROWDED)).findings:
        assert finding.message.endswith(".")
        assert finding.suggestion.endswith(".")
        assert finding.evidence
        assert 0 <= finding.confidence <= 1
        assert finding.pitches
