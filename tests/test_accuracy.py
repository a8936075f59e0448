import csv
import gzip
import math
from collections import Counter
from pathlib import Path
from random import Random

import mido
import pytest

from tests.accuracy import corpus, false_alarms, figures, handbook, metamorphic, real_files, recall
from tests.accuracy.faults import (
    HOPELESS_SPAN_MM,
    MAKERS,
    OPEN_STRINGS,
    chord_notes,
    least_span_mm,
    make_fault,
)
from tests.accuracy.figures import Measured
from tests.accuracy.midi_music import excerpt, read_music, write_music
from tests.accuracy.printed_scores import default_bpm, read_score
from tests.accuracy.recall import MIDDLE_BARS, Place, clean_music, draw_places
from tests.accuracy.reviewing import review_file
from tests.accuracy.sections import write_report

PLACES, PIECES = 6, 1
LEAST_RECALL_OF_A_FEW = 0.8
"""Six places a kind are too few for the promise of nineteen in twenty for each kind."""


@pytest.fixture(scope="module")
def quartets() -> list[corpus.Work]:
    return corpus.fixture_quartets()


@pytest.fixture(scope="module")
def verdicts(quartets: list[corpus.Work]) -> list[recall.Verdict]:
    return recall.measure_recall(quartets, PLACES)


@pytest.fixture(scope="module")
def alarms(quartets: list[corpus.Work]) -> list[false_alarms.Alarms]:
    return false_alarms.measure_alarms(quartets)


@pytest.fixture(scope="module")
def trials(quartets: list[corpus.Work]) -> list[metamorphic.Trial]:
    return metamorphic.measure_relations(quartets, PIECES)


def test_the_quartets_hold_the_notes_of_their_printed_tables(quartets: list[corpus.Work]) -> None:
    # The tables were made from the encoded scores, not from the MIDI files.
    for work in quartets:
        with gzip.open(work.path.with_suffix(".csv.gz"), "rt", encoding="utf-8") as lines:
            rows = list(csv.DictReader(lines))
        printed = Counter((r["part"], int(r["onset_tick"]), int(r["pitch"])) for r in rows)
        music = read_music(work.path)
        assert printed == Counter((p.name, n.onset, n.pitch) for p in music.parts for n in p.notes)


def test_seconds_agree_with_mido(quartets: list[corpus.Work]) -> None:
    for work in quartets:
        music = read_music(work.path)
        length = mido.MidiFile(work.path).length
        assert music.second_at(music.end) == pytest.approx(length, abs=1e-6)
        assert abs(music.tick_at(music.second_at(music.end // 2)) - music.end // 2) <= 1


def test_bars_are_counted_as_printed(quartets: list[corpus.Work]) -> None:
    # Gounod's first movement has no upbeat: every printed bar number is the sequencer's.
    work = next(work for work in quartets if work.name.startswith("Gounod"))
    with gzip.open(work.path.with_suffix(".csv.gz"), "rt", encoding="utf-8") as lines:
        rows = [(int(row["bar"]), int(row["onset_tick"])) for row in csv.DictReader(lines)]
    music = read_music(work.path)
    first_movement = [(bar, tick) for bar, tick in rows if tick < music.meters[1][0]]
    assert len({bar for bar, _ in first_movement}) > 150
    assert all(music.bar_at(tick) == bar for bar, tick in first_movement)


def test_an_excerpt_is_what_stands_between_two_bars(
    quartets: list[corpus.Work], tmp_path: Path
) -> None:
    music = read_music(quartets[0].path)
    start, end = music.bar_start(40), music.bar_start(56)
    cut = read_music(write_music(excerpt(music, 40, 55), tmp_path / "cut.mid"))
    for part in music.parts:
        inside = [(n.onset - start, n.pitch) for n in part.notes if start <= n.onset < end]
        assert [(n.onset, n.pitch) for n in cut.part(part.name).notes] == inside
    seconds = music.second_at(end) - music.second_at(start)
    assert cut.second_at(end - start) == pytest.approx(seconds, abs=1e-9)


def test_music_comes_back_from_a_file_as_it_went(
    quartets: list[corpus.Work], tmp_path: Path
) -> None:
    music = read_music(quartets[2].path)
    again = read_music(write_music(music, tmp_path / "again.mid"))
    assert again == music


def test_a_printed_score_is_read_as_music21_reads_it() -> None:
    parse = pytest.importorskip("music21.corpus").parse
    name = "haydn/opus1no1/movement5.mxl"
    path = Path(pytest.importorskip("music21").__file__).parent / "corpus" / name
    music, tempo_from = read_score(path)
    assert tempo_from == "score"
    assert [part.name for part in music.parts] == ["Violin 1", "Violin 2", "Viola", "Violoncello"]
    for part, other in zip(music.parts[1:], parse(name).parts[1:], strict=True):
        notes = other.flatten().stripTies(matchByPitch=True).notes
        theirs = [
            (round(float(note.offset) * music.ticks_per_quarter), pitch.midi)
            for note in notes
            if not note.duration.isGrace
            for pitch in note.pitches
        ]
        assert [(note.onset, note.pitch) for note in part.notes] == sorted(theirs)


def test_a_tempo_word_gives_the_tempo_a_score_does_not_name() -> None:
    assert default_bpm(["cresc.", "Molto Adagio", "Allegro"]) == 56
    assert default_bpm(["dolce"]) == 100


def test_the_least_span_of_a_chord_is_geometry() -> None:
    # The reference table of printed chords gives 16.4 mm for stops of two and three semitones
    # on a violin; open strings are free, and neighbouring strings are not asked for.
    assert least_span_mm("violin", (55, 62, 71, 79)) == pytest.approx(
        328 * (2 ** (-2 / 12) - 2 ** (-3 / 12))
    )
    assert least_span_mm("violin", (57, 69)) == pytest.approx(0)
    assert least_span_mm("violin", (55, 57)) is None
    assert least_span_mm("cello", (36, 43, 50, 57)) == 0


@pytest.mark.parametrize("kind", list(MAKERS))
def test_each_fault_is_one_by_plain_arithmetic(quartets: list[corpus.Work], kind: str) -> None:
    for index, place in enumerate(draw_places(quartets, 10)):
        clean = clean_music(place)
        fault = make_fault(kind, clean, MIDDLE_BARS, Random(index))
        if fault is None:
            continue
        others = [part for part in clean.parts if part.name != fault.part]
        assert all(fault.music.part(part.name) == part for part in others)
        assert fault.music.part(fault.part) != clean.part(fault.part)
        assert MIDDLE_BARS[0] <= fault.first_bar <= fault.last_bar <= recall.EXCERPT_BARS
        instrument = corpus.instrument_of(fault.music.part(fault.part))
        if kind == "four notes out of reach":
            span = least_span_mm(instrument, tuple(note.pitch for note in chord_notes(fault)))
            assert span is not None
            assert span > HOPELESS_SPAN_MM[instrument]
        if kind == "two notes on one string":
            lowest, second = sorted(OPEN_STRINGS[instrument])[:2]
            pitches = [note.pitch for note in chord_notes(fault)]
            assert len(set(pitches)) == 2
            assert all(lowest <= pitch < second for pitch in pitches)


def test_published_quartets_raise_no_false_alarm(alarms: list[false_alarms.Alarms]) -> None:
    for figure in figures.false_alarm_figures("fixtures", alarms):
        assert figure.is_met, f"{figure.name}: {figure.measured}, target {figure.target}"


def test_faults_are_found_at_their_bar(verdicts: list[recall.Verdict]) -> None:
    assert len(verdicts) == PLACES * len(MAKERS) * len(recall.SETTINGS)
    share = sum(row.is_found for row in verdicts) / len(verdicts)
    assert share >= figures.LEAST_RECALL
    for kind in MAKERS:
        of = [row for row in verdicts if row.kind == kind]
        found = sum(row.is_found for row in of)
        assert found >= math.floor(LEAST_RECALL_OF_A_FEW * len(of)), kind


def test_a_fault_sets_nothing_off_elsewhere(verdicts: list[recall.Verdict]) -> None:
    away = [words for row in verdicts for words in row.elsewhere]
    assert len(away) <= figures.MOST_ELSEWHERE * len(verdicts), away


def test_clean_music_has_no_fault_to_find(quartets: list[corpus.Work], tmp_path: Path) -> None:
    # The judge must be able to say no: a review compared with itself has nothing new.
    place = Place(quartets[2], 20)
    fault = make_fault("below open string", clean_music(place), MIDDLE_BARS, Random(1))
    assert fault is not None
    path = write_music(clean_music(place), tmp_path / "clean.mid")
    clean = review_file(path)
    assert not recall.judge("here", "section", fault, clean, clean).is_found


def test_ranges_agree_with_their_sources() -> None:
    wrong = [row for row in handbook.ranges() if not row.agrees]
    assert not wrong


def test_tunings_agree_with_the_instruments_of_music21() -> None:
    instruments = pytest.importorskip("music21.instrument")
    for name, theirs in (
        ("violin", instruments.Violin()),
        ("viola", instruments.Viola()),
        ("cello", instruments.Violoncello()),
        ("double bass", instruments.Contrabass()),
    ):
        assert handbook.TUNINGS[name] == tuple(
            sorted((pitch.midi for pitch in theirs.stringPitches), reverse=True)
        )


def test_facts_of_the_trade_hold() -> None:
    wrong = [row for row in handbook.trade_facts() if not row.agrees]
    assert not wrong


def test_changes_with_a_known_effect_have_it(trials: list[metamorphic.Trial]) -> None:
    assert sum(trial.compared for trial in trials) > 50
    broken = [(trial.relation, line) for trial in trials for line in trial.broken]
    assert not broken


def test_odd_files_do_not_crash() -> None:
    files = real_files.quirk_files()
    if not files:
        pytest.skip("fixtures/quirks is not there")
    outcomes = real_files.measure_files(files)
    assert not [row for row in outcomes if row.outcome == "crashed"]


def test_files_from_the_wild_do_not_crash() -> None:
    files = real_files.real_midi_files()
    if not files:
        pytest.skip("MOCKCHECK_REAL_MIDI names no folder")
    outcomes = real_files.measure_files(files)
    assert not [row for row in outcomes if row.outcome == "crashed"]


def test_the_report_has_no_trace_of_this_machine(
    alarms: list[false_alarms.Alarms],
    verdicts: list[recall.Verdict],
    trials: list[metamorphic.Trial],
) -> None:
    measured = Measured(alarms, alarms, verdicts, verdicts, trials, [])
    text = write_report(measured)
    assert text == write_report(measured)
    assert str(corpus.ROOT) not in text
    assert "impossible in range and chords" in text
