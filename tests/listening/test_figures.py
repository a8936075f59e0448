from __future__ import annotations

import math
from pathlib import Path

import pytest

import mockcheck
from mockcheck.model.played import FoundSwitch
from tests.listening.figures import Confusion, Found, Reliability, slurred_joins
from tests.listening.hearing import HeardNote, listen
from tests.listening.printed import Sheet
from tests.listening.rendering import STRAY, TIMING_ONLY, render
from tests.listening.slide_figures import SlideCounts, count_slides
from tests.listening.slide_renderings import render_bends
from tests.listening.switch_finding import presses_found, switches_found, triggers_of
from tests.listening.truth import TruthRow
from tests.listening.voices import notes_on_right_line, rank_by_height


def heard(
    true: str, said: str | None, confidence: float = 0.5, also: tuple[str, ...] = ()
) -> HeardNote:
    row = TruthRow("Violin 1", 1, 0, 10, 60, 80, true, also)
    return HeardNote(row, said, confidence)


def test_macro_f1_counts_each_class_that_occurs_the_same() -> None:
    confusion = Confusion()
    confusion.add([heard("legato", "legato")] * 8 + [heard("legato", "detache")] * 2)
    confusion.add([heard("detache", "detache")] * 2)
    legato, detache = confusion.of_class("legato"), confusion.of_class("detache")
    assert (legato.precision, legato.recall) == (1.0, 0.8)
    assert (detache.precision, detache.recall) == (0.5, 1.0)
    wanted = (2 * 0.8 / 1.8 + 2 * 0.5 / 1.5) / 2
    assert confusion.macro_f1(("legato", "detache", "trill")) == pytest.approx(wanted)
    assert confusion.accuracy == pytest.approx(10 / 12)


def test_a_name_that_is_as_right_counts_and_a_lost_note_does_not() -> None:
    confusion = Confusion()
    confusion.add([heard("staccato", "spiccato", also=("spiccato",)), heard("staccato", None)])
    assert confusion.of_class("staccato") == Found(true=2, claimed=1, right=1)
    assert confusion.of_class("spiccato").claimed == 0


def test_the_calibration_error_is_the_mean_distance_of_sureness_and_truth() -> None:
    reliability = Reliability()
    reliability.add([heard("legato", "legato", 0.85)] * 3 + [heard("legato", "detache", 0.85)])
    reliability.add([heard("legato", "detache", 0.35)] * 4 + [heard("legato", None, 0.0)])
    assert reliability.calibration_error == pytest.approx((0.1 + 0.35) / 2)
    sure = Reliability()
    sure.add([heard("legato", "legato", 1.0)] * 5)
    assert sure.calibration_error == 0.0
    assert math.isnan(Reliability().calibration_error)


def test_joins_under_a_slur_are_those_of_one_number() -> None:
    def note(onset: int, true: int, found: int, stroke: str = "legato") -> HeardNote:
        row = TruthRow("Violin 1", 1, onset, onset + 9, 60, 80, stroke, slur=true)
        return HeardNote(row, stroke, slur=found)

    notes = [note(0, 1, 7), note(10, 1, 7), note(20, 1, 8), note(30, 2, 8), note(40, -1, -1)]
    assert slurred_joins(notes) == Found(true=2, claimed=2, right=1)
    assert slurred_joins([note(0, 1, -1, "portato"), note(10, 1, -1, "portato")]) == Found()


def test_lines_are_named_as_well_as_they_can_be() -> None:
    true = [(0,), (1,), (0,), (1,), (0, 1)]
    assert notes_on_right_line(true, [5, 3, 5, 3, 3]) == 5
    assert notes_on_right_line(true, [5, 3, 5, 5, 3]) == 4
    assert notes_on_right_line(true, [0, 0, 0, 0, 0]) == 3
    assert notes_on_right_line([(0,)] * 4, [1, 1, 2, 3]) == 2


def test_rank_by_height_sees_only_what_sounds() -> None:
    notes = [(0, 10, 70), (0, 10, 60), (10, 20, 65), (12, 20, 72)]
    assert rank_by_height(notes) == [0, 1, 0, 0]


def test_a_found_switch_is_a_key_or_what_it_names_itself() -> None:
    key = FoundSwitch(0, 24, 5, None, "", 0.9)
    zone = FoundSwitch(0, None, 5, None, "", 0.9, controller=32, low=0, high=8)
    assert triggers_of(key) == {("key", 24)}
    assert triggers_of(zone) == {("controller", 32)}


def test_a_reader_who_is_told_everything_gets_full_marks_for_keys(
    sheet: Sheet, tmp_path: Path
) -> None:
    rendering = render(sheet, "latching keys", True, tmp_path)
    hearing = listen(rendering, mockcheck.load(rendering.path), rendering.brief)
    found = switches_found(hearing)
    assert found.true == len(rendering.switches)
    assert (found.precision, found.recall) == (1.0, 1.0)
    presses = presses_found(hearing)
    assert (presses.precision, presses.recall) == (1.0, 1.0)
    assert all(note.is_right for note in hearing.notes)


def test_stray_notes_are_music_and_each_key_taken_for_a_switch_counts_against(
    sheet: Sheet, tmp_path: Path
) -> None:
    plain = render(sheet, TIMING_ONLY, True, tmp_path)
    stray = render(sheet, STRAY, True, tmp_path)
    lowest = min(row.pitch for row in stray.rows if row.part.startswith("Violin"))
    assert lowest < 55 <= min(row.pitch for row in plain.rows if row.part.startswith("Violin"))
    hearing = listen(stray, mockcheck.load(stray.path))
    lost = sum(note.articulation is None for note in hearing.notes)
    assert presses_found(hearing) == Found(true=0, claimed=lost, right=0)


def test_slides_are_matched_one_to_one_and_what_is_left_is_wrong(
    sheet: Sheet, tmp_path: Path
) -> None:
    rendering = render_bends(sheet, 12, tmp_path)
    played = mockcheck.play(mockcheck.load(rendering.path))
    counts = SlideCounts()
    count_slides(counts, rendering, played, sheet.clock)
    heard_count = sum(len(part.slides) for part in played.parts)
    assert counts.found.true == len(rendering.slides)
    assert counts.found.claimed == heard_count
    assert counts.found.right + sum(counts.missed.values()) == counts.found.true
    assert counts.found.right + sum(counts.wrong.values()) == heard_count
    assert counts.found.right > heard_count / 2
