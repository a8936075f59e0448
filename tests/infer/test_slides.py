import time

import numpy as np
import pytest

from mockcheck.infer.bends import bend_at_onset, bend_curve
from mockcheck.infer.slides import find_bend_slides
from mockcheck.model.curves import Curve
from mockcheck.model.notes import concatenate_notes
from mockcheck.model.played import Slide
from mockcheck.model.score import MpeZone, Track
from mockcheck.model.session import Session, TrackChoice
from tests.infer.printed import printed_parts
from tests.infer.tracks import (
    Row,
    bend_channel,
    curve,
    line,
    notes_from,
    notes_of,
    role_of,
    ticks,
    track_of,
)
from tests.phrases import phrase

Points = list[tuple[float, float]]


def ramp(begin_s: float, end_s: float, from_cents: float, to_cents: float) -> Points:
    steps = np.linspace(0, 1, 25)
    return [
        (begin_s + x * (end_s - begin_s), from_cents + x * (to_cents - from_cents)) for x in steps
    ]


def slides(
    rows: list[Row], *points: Points, is_range_assumed: bool = False, declared: float | None = None
) -> list[Slide]:
    notes = notes_of(*rows)
    bend = curve(sorted((point for row in points for point in row), key=lambda point: point[0]))
    track = track_of(notes, {1: bend_channel(bend, is_range_assumed)})
    return find_bend_slides(notes, role_of(), track, declared)


PAIR = [(69.0, 1.0, 2.0), (76.0, 2.0, 3.0)]


def test_a_bend_from_note_to_note_is_a_portamento() -> None:
    (slide,) = slides(PAIR, ramp(1.8, 1.99, 0, 700), [(2.0, 0)])
    assert (slide.kind, slide.source) == ("portamento", "bend")
    assert (slide.from_note, slide.to_note) == (0, 1)
    assert (slide.from_pitch, slide.to_pitch) == pytest.approx((69, 76), abs=0.3)
    assert slide.duration_ms == pytest.approx(190, abs=30)
    assert 1780 < slide.onset_ticks < slide.release_ticks <= 2000
    assert slide.confidence > 0.85


def test_a_bend_that_comes_from_the_note_before_is_a_portamento_too() -> None:
    (slide,) = slides(PAIR, [(2.0, -700)], ramp(2.0, 2.2, -700, 0))
    assert (slide.kind, slide.from_note, slide.to_note) == ("portamento", 0, 1)


def test_a_bend_shared_by_both_notes_is_one_slide() -> None:
    (slide,) = slides(PAIR, ramp(1.85, 1.99, 0, 350), [(2.0, -350)], ramp(2.01, 2.15, -350, 0))
    assert (slide.from_note, slide.to_note, slide.kind) == (0, 1, "portamento")
    assert slide.to_pitch - slide.from_pitch == pytest.approx(7, abs=0.6)


def test_a_long_bend_is_a_glissando() -> None:
    (slide,) = slides(PAIR, ramp(1.2, 1.99, 0, 700), [(2.0, 0)])
    assert slide.kind == "glissando"


def test_a_bend_into_a_note_from_nowhere_is_a_scoop() -> None:
    (slide,) = slides([(69, 1, 2)], [(1.0, -200)], ramp(1.0, 1.15, -200, 0))
    assert (slide.kind, slide.from_note, slide.to_note) == ("scoop", 0, 0)


def test_a_bend_into_silence_is_a_fall() -> None:
    (slide,) = slides([(69, 1, 2), (60, 4, 5)], ramp(1.7, 1.99, 0, -500), [(3.0, 0)])
    assert (slide.kind, slide.to_note) == ("fall", -1)


def test_a_slide_may_go_on_through_the_small_gap_before_the_next_note() -> None:
    (slide,) = slides([(69, 1, 1.9), (76, 2, 3)], ramp(1.7, 1.99, 0, 700), [(2.0, 0)])
    assert slide.to_note == 1
    assert slide.to_pitch == pytest.approx(76, abs=0.5)


def test_a_wheel_too_small_for_the_interval_still_leads_to_the_next_note() -> None:
    (slide,) = slides(PAIR, ramp(1.7, 1.99, 0, 200), [(2.0, 0)])
    assert (slide.kind, slide.to_note) == ("portamento", 1)
    assert slide.confidence < 0.8


def test_a_chord_slides_once_in_its_top_note() -> None:
    rows = [(62.0, 1.0, 2.0), (69.0, 1.0, 2.0), (64.0, 2.0, 3.0), (71.0, 2.0, 3.0)]
    (slide,) = slides(rows, ramp(1.7, 1.99, 0, 200), [(2.0, 0)])
    assert (slide.from_note, slide.to_note) == (1, 3)


def test_notes_of_the_multi_channel_protocol_slide_each_on_its_own() -> None:
    # MIDI Polyphonic Expression 1.0, 2.2: a note has its channel, the manager bends all.
    notes, _ = concatenate_notes(
        [notes_of((69, 1, 2.05), channel=2), notes_of((76, 2, 3), channel=3)]
    )
    moving = bend_channel(curve(ramp(1.7, 1.99, 0, 600)))
    track = track_of(notes, {1: bend_channel(curve([(0.5, 100)])), 2: moving})
    track = Track(**{**vars(track), "mpe": MpeZone("lower", 1, (2, 3))})
    role = role_of(channels=(2, 3))
    (slide,) = find_bend_slides(notes, role, track, None)
    assert (slide.from_note, slide.to_note) == (0, 1)
    assert bend_at_onset(notes, role, track, None).tolist() == [100, 100]
    unmanaged = Track(**{**vars(track), "channels": {2: moving}})
    assert bend_at_onset(notes, role, unmanaged, None).tolist() == [0, 0]


def test_a_bend_away_from_the_next_note_is_a_fall_and_less_sure() -> None:
    (slide,) = slides(PAIR, ramp(1.7, 1.99, 0, -300), [(2.0, 0)])
    assert (slide.kind, slide.to_note) == ("fall", -1)
    assert slide.confidence < 0.65


def test_a_move_inside_one_note_leads_from_it_to_itself() -> None:
    (slide,) = slides([(69, 1, 4)], ramp(2.0, 2.2, 0, 200))
    assert (slide.kind, slide.from_note, slide.to_note) == ("portamento", 0, 0)


def test_a_declared_range_widens_an_assumed_one_and_leaves_a_sent_one_alone() -> None:
    points = (ramp(1.8, 1.99, 0, 117), [(2.0, 0.0)])
    guessed = slides(PAIR, *points, is_range_assumed=True)
    declared = slides(PAIR, *points, is_range_assumed=True, declared=12)
    sent = slides(PAIR, *points, declared=12)
    assert declared[0].to_pitch == pytest.approx(76, abs=0.3)
    assert guessed[0].to_pitch == sent[0].to_pitch == pytest.approx(70.17, abs=0.1)
    assert guessed[0].confidence < sent[0].confidence < declared[0].confidence


def test_a_bend_left_over_is_seen_at_the_next_onset_and_is_no_slide_there() -> None:
    notes = notes_of(*line([60, 62, 64], 1.0))
    track = track_of(notes, {1: bend_channel(curve([(1.5, 50.0)]))})
    assert bend_at_onset(notes, role_of(), track, None).tolist() == [0, 50, 50]
    assert find_bend_slides(notes, role_of(), track, None) == []


def test_a_bend_sent_with_a_note_counts_for_it() -> None:
    notes = notes_of(*line([60, 62], 1.0))
    track = track_of(notes, {1: bend_channel(curve([(1.0, 30.0), (2.0, 0.0)]))})
    assert bend_at_onset(notes, role_of(), track, None).tolist() == [30, 0]


def test_the_curve_of_a_channel_without_bends_is_empty() -> None:
    assert len(bend_curve(track_of(notes_of((60, 1, 2))), 1, None)) == 0


@pytest.mark.parametrize("seed", range(3))
def test_real_playing_hardly_slides(seed: int) -> None:
    # Of transcribed violinists every note has about twenty bends, the widest under 90 cents.
    chance = np.random.default_rng(seed)
    count = 400
    onset_s = np.cumsum(chance.choice([0.15, 0.3, 0.6, 1.2], count))
    notes = notes_from(
        chance.integers(60, 90, count), onset_s, onset_s + np.append(np.diff(onset_s), 0.5)
    )
    time_s = np.arange(onset_s[0], onset_s[-1], 0.02)
    cents = chance.uniform(15, 35) * np.sin(2 * np.pi * 6.3 * time_s)
    cents += np.interp(time_s, onset_s, chance.uniform(-40, 40, count)) + chance.normal(
        0, 3, len(time_s)
    )
    bend = Curve(ticks(time_s), time_s, np.clip(cents, -89, 89))
    track = track_of(notes, {1: bend_channel(bend)})
    assert len(find_bend_slides(notes, role_of(), track, None)) <= 0.02 * count


def test_published_quartets_without_bends_have_no_slides() -> None:
    for part in printed_parts():
        assert find_bend_slides(part.track.notes, role_of(), part.track, None) == []


@pytest.mark.parametrize("interval", [-12, -7, -2, 2, 5, 12])
def test_a_written_slide_is_read_from_a_file(interval: int) -> None:
    part = phrase(f"violin 4/4 q=80 | 74:2> {74 + interval}:2 | 74:4 |")
    (slide,) = part.slides
    assert (slide.from_note, slide.to_note, slide.source) == (0, 1, "bend")
    assert slide.to_pitch == pytest.approx(74 + interval, abs=0.9)


def test_the_brief_can_say_how_far_the_wheel_bends() -> None:
    session = Session(tracks=(TrackChoice("violin", bend_range_semitones=24),))
    part = phrase("violin 4/4 q=80 | A4:2> E5:2 |", session=session)
    # The file sends its range, which counts.
    assert part.slides[0].to_pitch == pytest.approx(76, abs=0.9)


def test_half_a_million_bends_cost_little() -> None:
    count, bends = 500, 50_000
    chance = np.random.default_rng(0)
    onset_s = np.cumsum(chance.choice([0.3, 0.6, 1.2], count))
    notes = notes_from(chance.integers(60, 90, count), onset_s, onset_s + 0.3)
    time_s = np.sort(chance.uniform(0, onset_s[-1], bends))
    bend = Curve(ticks(time_s), time_s, 45 * np.sin(2 * np.pi * 6 * time_s))
    tracks = [track_of(notes, {1: bend_channel(bend)}) for _ in range(10)]
    begin = time.perf_counter()
    found = [find_bend_slides(notes, role_of(), track, None) for track in tracks]
    # Measured: 0.06 s; the rest is room for a busy machine.
    assert time.perf_counter() - begin < 0.6
    assert found == [[]] * 10


def swung(points: Points, begin_s: float, end_s: float, height: float = 17) -> Points:
    """Vibrato of six swings a second beside other points of the bend."""
    swings = [
        (s, height * np.sin(12 * np.pi * (s - begin_s))) for s in np.arange(begin_s, end_s, 0.01)
    ]
    return [*points, *((float(s), float(cents)) for s, cents in swings)]


def test_slides_in_a_row_are_one_for_each_join() -> None:
    rows = [(69.0, 1.0, 1.32), (72.0, 1.3, 1.62), (76.0, 1.6, 2.6)]
    points = [ramp(1.15, 1.29, 0, 300), [(1.3, 0.0)], ramp(1.45, 1.59, 0, 400), [(1.6, 0.0)]]
    found = slides(rows, *points)
    assert [(slide.from_note, slide.to_note) for slide in found] == [(0, 1), (1, 2)]
    assert [slide.duration_ms for slide in found] == pytest.approx([140, 140], abs=25)


def test_a_slide_up_and_another_down_are_two_however_close() -> None:
    rows = [(69.0, 1.0, 1.3), (76.0, 1.28, 1.6), (69.0, 1.58, 2.5)]
    points = [ramp(1.15, 1.27, 0, 700), [(1.28, 0.0)], ramp(1.45, 1.57, 0, -700), [(1.58, 0.0)]]
    found = slides(rows, *points)
    assert [round(slide.to_pitch - slide.from_pitch) for slide in found] == [7, -7]


def test_a_narrow_slide_half_on_each_note_is_found() -> None:
    # Neither half is as wide or as long as a slide; together they are one.
    rows = [(64.0, 1.0, 2.02), (65.0, 2.0, 3.0)]
    (slide,) = slides(rows, ramp(1.95, 1.995, 0, 46), [(2.0, -50.0)], ramp(2.005, 2.05, -46, 0))
    assert (slide.from_note, slide.to_note) == (0, 1)
    assert (slide.from_pitch, slide.to_pitch) == pytest.approx((64, 65), abs=0.1)


def test_a_quick_join_beside_a_scoop_is_not_drawn_into_it() -> None:
    rows = [(69.0, 1.0, 1.32), (68.0, 1.3, 2.0)]
    points = [[(1.0, -205.0)], ramp(1.0, 1.12, -205, 0), [(1.3, 100.0)], ramp(1.3, 1.34, 100, 0)]
    (slide,) = slides(rows, *points)
    assert (slide.kind, slide.to_note) == ("scoop", 0)


def test_a_quick_join_in_vibrato_is_no_slide() -> None:
    points = swung([], 1.2, 2.0) + swung(ramp(2.0, 2.045, -700, 0), 2.06, 3.0)
    assert slides(PAIR, points) == []


def test_a_fall_before_the_same_note_again_is_a_fall() -> None:
    (slide,) = slides([(69, 1, 1.9), (69, 2, 3)], ramp(1.65, 1.89, 0, -300), [(2.0, 0.0)])
    assert (slide.kind, slide.to_note) == ("fall", -1)


def test_a_scoop_after_a_small_gap_is_a_scoop() -> None:
    (slide,) = slides([(69, 1, 1.92), (69, 2, 3)], [(1.99, -180.0)], ramp(2.0, 2.13, -180, 0))
    assert (slide.kind, slide.from_note, slide.to_note) == ("scoop", 1, 1)
