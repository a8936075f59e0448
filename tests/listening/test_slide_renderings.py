from __future__ import annotations

from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest

from tests.listening.asking import ASKED
from tests.listening.midi_file import Chunk
from tests.listening.printed import Sheet
from tests.listening.read_back import ReadChunk, read_chunks
from tests.listening.slide_renderings import render_asked, render_bends
from tests.listening.sliding import MPE_RANGE, RANGES
from tests.listening.truth import Rendering, TrueSlide

CASES = [*((semitones, False) for semitones in RANGES), (MPE_RANGE, True)]
IDS = [*(f"range {semitones}" for semitones in RANGES), "MPE"]
each_rendering = pytest.mark.parametrize(("semitones", "is_mpe"), CASES, ids=IDS)


def made(
    sheet: Sheet, folder: Path, semitones: int, is_mpe: bool
) -> tuple[Rendering, list[ReadChunk]]:
    rendering = render_bends(sheet, semitones, folder, is_mpe=is_mpe)
    return rendering, read_chunks(rendering.path)


def sounding(
    chunk: ReadChunk, pitch: int, onset: int, tick: int, semitones: int, before: bool = False
) -> float:
    """Pitch at a tick of the note that was struck at an onset; `before` what is sent there."""
    channel = chunk.channel_of[onset, pitch]
    sent = [v for at, v in chunk.bends[channel] if at < tick or (at == tick and not before)]
    return pitch + semitones * (sent[-1] if sent else 0) / 8192


def onsets_around(chunk: ReadChunk, true: TrueSlide) -> tuple[tuple[int, int], tuple[int, int]]:
    """The note a slide leaves and the one it leads to."""
    presses = sorted(chunk.presses)
    place = next(n for n, press in enumerate(presses) if press[0] == true.to_onset)
    return (presses[place - 1][0], presses[place - 1][2]), (presses[place][0], presses[place][2])


@each_rendering
def test_there_are_slides_of_every_kind_that_the_range_allows(
    sheet: Sheet, tmp_path: Path, semitones: int, is_mpe: bool
) -> None:
    rendering, _ = made(sheet, tmp_path, semitones, is_mpe)
    kinds = Counter(slide.kind for slide in rendering.slides)
    assert kinds["portamento"] >= 5
    assert kinds["scoop"] >= 5
    assert kinds["fall"] >= 5
    distractors = Counter(item.kind for item in rendering.distractors)
    assert all(distractors[kind] for kind in ("vibrato", "quick join", "wiggle", "left over"))


@each_rendering
def test_the_bend_leads_from_the_first_pitch_to_the_second(
    sheet: Sheet, tmp_path: Path, semitones: int, is_mpe: bool
) -> None:
    rendering, chunks = made(sheet, tmp_path, semitones, is_mpe)
    # One step of the wheel, and a vibrato that sets in as a slide ends.
    near = semitones / 8192 + 0.02
    for true in rendering.slides:
        if true.kind not in ("portamento", "glissando"):
            continue
        chunk = chunks[true.track]
        (one_onset, one), (two_onset, two) = onsets_around(chunk, true)
        assert (one, two) == (true.from_pitch, true.to_pitch)
        if true.release <= two_onset:
            end = sounding(chunk, one, one_onset, two_onset, semitones, before=not is_mpe)
        else:
            end = sounding(chunk, two, two_onset, true.release, semitones)
        assert end == pytest.approx(two, abs=near)
        if true.onset >= two_onset:
            begin = sounding(chunk, two, two_onset, true.onset, semitones)
        else:
            begin = sounding(chunk, one, one_onset, true.onset, semitones)
        assert begin == pytest.approx(one, abs=near)


@each_rendering
def test_the_bend_moves_while_the_truth_says_that_it_slides_and_one_way_only(
    sheet: Sheet, tmp_path: Path, semitones: int, is_mpe: bool
) -> None:
    rendering, chunks = made(sheet, tmp_path, semitones, is_mpe)
    for true in rendering.slides:
        chunk = chunks[true.track]
        way = 1 if true.to_pitch > true.from_pitch else -1
        owners = [p for p in chunk.presses if p[0] < true.release and p[1] > true.onset]
        channels = {chunk.channel_of[p[0], p[2]] for p in owners}
        onsets = {p[0] for p in owners}
        moves = 0
        for channel in channels:
            own = chunk.bends[channel]
            inside = [(t, v) for t, v in own if true.onset < t <= true.release]
            for (_, low), (tick, high) in pairwise(inside):
                if tick not in onsets:
                    assert way * (high - low) >= 0
                    moves += high != low
        assert moves >= 4


@each_rendering
def test_the_range_is_sent_and_the_wheel_stays_within_it(
    sheet: Sheet, tmp_path: Path, semitones: int, is_mpe: bool
) -> None:
    _, chunks = made(sheet, tmp_path, semitones, is_mpe)
    for chunk in chunks[1:]:
        channel = 1 if is_mpe else 0
        own = [(number, value) for tick, c, number, value in chunk.values if c == channel]
        assert own[:4] == [(101, 0), (100, 0), (6, semitones), (38, 0)]
        if is_mpe:
            manager = [(number, value) for _, c, number, value in chunk.values if c == 0]
            assert manager == [(101, 0), (100, 6), (6, 15)]
            assert 0 not in set(chunk.channel_of.values())


def test_under_mpe_no_note_shares_its_channel_while_it_sounds(sheet: Sheet, tmp_path: Path) -> None:
    _, chunks = made(sheet, tmp_path, MPE_RANGE, True)
    for chunk in chunks[1:]:
        for channel in set(chunk.channel_of.values()):
            own = sorted(p for p in chunk.presses if chunk.channel_of[p[0], p[2]] == channel)
            assert all(one[1] <= two[0] for one, two in pairwise(own))


def test_what_is_no_slide_stays_below_what_is_one(sheet: Sheet, tmp_path: Path) -> None:
    rendering, chunks = made(sheet, tmp_path, 12, False)
    widest = {"vibrato": 70, "drift": 30, "wiggle": 30, "left over": 70}
    longest_s = 0.06
    for item in rendering.distractors:
        if item.kind == "quick join":
            seconds = sheet.clock.second_at(item.release) - sheet.clock.second_at(item.onset)
            assert seconds < longest_s
            continue
        starts = [p[0] for p in chunks[item.track].presses if item.onset < p[0]]
        until = min([item.release, *starts])
        under_slide = any(
            s.track == item.track and s.onset <= until and item.onset <= s.release
            for s in rendering.slides
        )
        sent = [v for t, v in chunks[item.track].bends[0] if item.onset < t < until]
        if sent and not under_slide:
            cents = 1200 * (max(sent) - min(sent)) / 8192
            assert cents <= widest[item.kind] + 1


@pytest.mark.parametrize("way", ASKED)
def test_asked_slides_are_asked_for_at_their_note_and_at_no_other(
    sheet: Sheet, tmp_path: Path, way: str
) -> None:
    rendering = render_asked(sheet, way, tmp_path)
    assert len(rendering.slides) >= 20
    for track, chunk in enumerate(read_chunks(rendering.path)[1:], start=1):
        true = {slide.to_onset: slide for slide in rendering.slides if slide.track == track}
        notes = sorted(press for press in chunk.presses if press[2] != 12)
        assert set(true) <= {press[0] for press in notes}
        assert asked_onsets(chunk, notes, way) == set(true)
        for before, note in pairwise(notes):
            if note[0] in true:
                assert before[1] > note[0], "a slide is asked for on a slurred join"
                assert before[2] == true[note[0]].from_pitch


def asked_onsets(chunk: ReadChunk, notes: list[tuple[int, int, int, int]], way: str) -> set[int]:
    """Onsets of notes at which, by the rules of each way, a slide is asked for."""
    if way == "soft overlap":
        return {press[0] for press in notes if press[3] <= 20}
    if way == "source key":
        ticks = [tick for tick, _, number, _ in chunk.values if number == 84]
        return {next(press[0] for press in notes if press[0] >= tick) for tick in ticks}
    if way == "named key":
        spans = [press[:2] for press in chunk.presses if press[2] == 12]
    else:
        thrown = [(tick, value) for tick, _, number, value in chunk.values if number == 65]
        ons = [tick for tick, value in thrown if value]
        spans = [(on, min(t for t, value in thrown if t > on and not value)) for on in ons]
    return {press[0] for press in notes if any(begin <= press[0] < end for begin, end in spans)}


def test_the_same_seed_gives_the_same_slides(sheet: Sheet, tmp_path: Path) -> None:
    first = render_bends(sheet, 12, tmp_path)
    written = first.path.read_bytes()
    assert render_bends(sheet, 12, tmp_path) == first
    assert first.path.read_bytes() == written
    assert render_bends(sheet, 12, tmp_path, seed=9).slides != first.slides


@pytest.mark.parametrize("value", [-1, 128])
def test_a_value_that_no_message_can_hold_is_refused(value: int) -> None:
    with pytest.raises(ValueError, match="control_change cannot hold"):
        Chunk("Violin 1").control(0, 1, value, 0)
