import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from mockcheck.errors import UnreadableInput
from mockcheck.model.score import Score, Text
from mockcheck.read import load
from mockcheck.units import pitch_name

# EXPECTED.csv holds hand arithmetic after Standard MIDI Files 1.0 and the MIDI 1.0 Detailed
# Specification 4.2; make_quirks.py in the same folder says what each column means.

QUIRKS = Path(__file__).parents[2] / "fixtures" / "quirks"
ROWS = list(csv.DictReader((QUIRKS / "EXPECTED.csv").read_text(encoding="utf-8").splitlines()))
TOLERANCE = 1e-6


def rows_with(column: str) -> list[Any]:
    return [pytest.param(row, id=row["file"]) for row in ROWS if row[column]]


def rows_with_other(key: str) -> list[Any]:
    return [
        pytest.param(row["file"], json.loads(row["other"])[key], id=row["file"])
        for row in ROWS
        if key in json.loads(row["other"] or "{}")
    ]


def score_of(file: str) -> Score:
    return load(QUIRKS / file)


def all_notes(score: Score) -> list[list[Any]]:
    return [
        [note.pitch, note.onset_s, note.release_s, track.index, note.channel]
        for track in score.tracks
        for note in map(track.notes.note, range(len(track.notes)))
    ]


def assert_close(found: list[list[Any]], expected: list[list[Any]]) -> None:
    assert len(found) == len(expected)
    for row, wanted in zip(sorted(found), sorted(expected), strict=True):
        assert row == pytest.approx(wanted, abs=TOLERANCE)


def tempos(score_or_track: Any) -> list[list[float]]:
    tempo = score_or_track.timeline.tempo
    return [[s, b] for s, b in zip(tempo.time_s.tolist(), tempo.bpm, strict=bool(tempo.bpm))]


def texts(found: tuple[Text, ...], kind: str) -> list[list[Any]]:
    return [[text.time_s, text.text, text.track] for text in found if text.kind == kind]


def sounding_cents(score: Score, time_s: float) -> list[float]:
    return [
        float(track.sounding_cents(int(track.notes.channel[row]), np.array([time_s]))[0])
        for track in score.tracks
        for row in range(len(track.notes))
    ]


def test_the_list_is_whole() -> None:
    assert len(ROWS) == 50
    assert {row["file"] for row in ROWS} == {path.name for path in QUIRKS.glob("*.[mr]*")}


@pytest.mark.parametrize("row", [pytest.param(row, id=row["file"]) for row in ROWS])
def test_each_file_is_read_warned_of_or_refused_as_it_should_be(row: dict[str, str]) -> None:
    if row["outcome"].startswith("clear error"):
        with pytest.raises(UnreadableInput, match=rf"{row['file']}, byte {row['offset']}: "):
            score_of(row["file"])
        return
    warnings = score_of(row["file"]).warnings
    if row["outcome"] == "read":
        assert not warnings
        return
    assert len(warnings) == 1
    assert len(warnings[0].message) > 40
    if row["offset"]:
        assert warnings[0].byte_offset == int(row["offset"])


@pytest.mark.parametrize("row", rows_with("notes"))
def test_notes_are_the_ones_in_the_file(row: dict[str, str]) -> None:
    assert_close(all_notes(score_of(row["file"])), json.loads(row["notes"]))


@pytest.mark.parametrize("row", rows_with("tempo"))
def test_tempo_is_the_one_in_the_file(row: dict[str, str]) -> None:
    assert_close(tempos(score_of(row["file"])), json.loads(row["tempo"]))


@pytest.mark.parametrize("row", rows_with("bends_cents"))
def test_bends_are_in_cents_of_the_range_in_force(row: dict[str, str]) -> None:
    found = [
        [time_s, cents, track.index, channel]
        for track in score_of(row["file"]).tracks
        for channel, curves in track.channels.items()
        for time_s, cents in zip(curves.bend_cents.time_s, curves.bend_cents.values, strict=True)
    ]
    assert_close(found, json.loads(row["bends_cents"]))


@pytest.mark.parametrize("row", rows_with("track_names"))
def test_track_names_are_what_a_person_would_read(row: dict[str, str]) -> None:
    names = [track.name for track in score_of(row["file"]).tracks]
    assert names == json.loads(row["track_names"])


@pytest.mark.parametrize(("file", "expected"), rows_with_other("ticks_per_second"))
def test_frames_give_ticks_in_a_second_and_no_bars(file: str, expected: float) -> None:
    score = score_of(file)
    assert score.ticks_per_second == expected
    assert score.ticks_per_quarter is None
    assert score.meter_map is None


@pytest.mark.parametrize(("file", "expected"), rows_with_other("tempo_by_track"))
def test_patterns_keep_their_own_tempo(file: str, expected: list[Any]) -> None:
    assert [tempos(track) for track in score_of(file).tracks] == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("incomplete_tracks"))
def test_damaged_tracks_are_marked(file: str, expected: list[int]) -> None:
    assert [track.index for track in score_of(file).tracks if track.incomplete] == expected


def test_a_cut_track_is_marked_as_incomplete() -> None:
    assert [track.incomplete for track in score_of("truncated_mid_event.mid").tracks] == [
        False,
        True,
    ]


@pytest.mark.parametrize(("file", "expected"), rows_with_other("controllers"))
def test_controllers_keep_their_values_and_times(file: str, expected: list[Any]) -> None:
    score = score_of(file)
    found = [
        [time_s, number, value, track.index, channel]
        for track in score.tracks
        if track.controller_source is None
        for channel, curves in track.channels.items()
        for number, curve in curves.controllers.items()
        for time_s, value in zip(curve.time_s.tolist(), curve.values.tolist(), strict=True)
    ]
    assert_close(found, expected)


def test_controllers_on_a_track_of_their_own_are_offered_to_the_cello() -> None:
    cello = score_of("cc_only_track.mid").tracks[1]
    assert cello.controller_source == 2
    assert cello.curves(1).controller(11).values.tolist() == [40, 90, 20]


@pytest.mark.parametrize(("file", "expected"), rows_with_other("key"))
def test_a_wrong_key_stays_unknown(file: str, expected: None) -> None:
    assert next(iter(score_of(file).key_signatures), None) is expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("name_bytes_hex"))
def test_the_bytes_of_names_are_kept(file: str, expected: list[str | None]) -> None:
    found = [track.name_bytes for track in score_of(file).tracks]
    assert [name and name.hex() for name in found] == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("markers"))
def test_markers_keep_place_and_track(file: str, expected: list[Any]) -> None:
    assert texts(score_of(file).markers, "marker") == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("cues"))
def test_cues_keep_place_and_track(file: str, expected: list[Any]) -> None:
    assert texts(score_of(file).texts, "cue") == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("lyrics"))
def test_lyrics_keep_place_and_track(file: str, expected: list[Any]) -> None:
    assert texts(score_of(file).texts, "lyric") == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("instrument_names"))
def test_instrument_names_are_kept(file: str, expected: list[Any]) -> None:
    assert [track.instrument_name for track in score_of(file).tracks] == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("tempo_assumed"))
def test_an_assumed_tempo_is_called_so(file: str, expected: bool) -> None:
    score = score_of(file)
    assert score.tempo_map.assumed is expected
    assert [warning.code for warning in score.warnings] == ["no-tempo"]


@pytest.mark.parametrize(("file", "expected"), rows_with_other("bar_starts"))
def test_bars_start_where_the_signatures_say(file: str, expected: list[float]) -> None:
    score = score_of(file)
    assert score.meter_map is not None
    starts = score.meter_map.bar_start(np.arange(len(expected)))
    assert score.tempo_map.seconds_at(starts).tolist() == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("time_signatures"))
def test_time_signatures_are_kept(file: str, expected: list[Any]) -> None:
    score = score_of(file)
    meter = score.meter_map
    assert meter is not None
    assert [
        [second, f"{numerator}/{denominator}"]
        for second, numerator, denominator in zip(
            score.tempo_map.seconds_at(meter.ticks).tolist(),
            meter.numerators.tolist(),
            meter.denominators.tolist(),
            strict=True,
        )
    ] == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("hanging"))
def test_hanging_notes_are_flagged(file: str, expected: list[Any]) -> None:
    assert [
        [note.pitch, note.onset_s, track.index, note.channel]
        for track in score_of(file).tracks
        for row in np.flatnonzero(track.notes.hanging)
        for note in [track.notes.note(int(row))]
    ] == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("program_at_note_start"))
def test_a_note_has_the_program_in_force_when_it_begins(file: str, expected: list[int]) -> None:
    assert score_of(file).tracks[1].notes.program.tolist() == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("parts"))
def test_four_channels_are_four_players(file: str, expected: int) -> None:
    assert len({(row[3], row[4]) for row in all_notes(score_of(file))}) == expected


@pytest.mark.parametrize("key", ["sounding_cents_at_0.3", "sounding_cents_at_0.9"])
def test_a_bend_sounds_on_its_own_track_port_and_zone(key: str) -> None:
    cases = rows_with_other(key)
    assert cases
    for case in cases:
        file, expected = case.values
        assert sounding_cents(score_of(file), float(key.rsplit("_", 1)[1])) == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("cents_at_note_start"))
def test_a_bend_left_over_carries_into_the_next_note(file: str, expected: list[float]) -> None:
    track = score_of(file).tracks[1]
    assert track.sounding_cents(1, track.notes.onset_s).tolist() == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("mpe"))
def test_an_mpe_zone_is_seen(file: str, expected: dict[str, Any]) -> None:
    zone = score_of(file).tracks[1].mpe
    assert zone is not None
    assert zone.zone == expected["zone"]
    assert zone.manager_channel == expected["manager_channel"]
    assert list(zone.member_channels) == expected["member_channels"]


@pytest.mark.parametrize(("file", "expected"), rows_with_other("cc1_14bit"))
def test_fine_and_coarse_make_one_value(file: str, expected: list[Any]) -> None:
    curve = score_of(file).tracks[1].curves(1).controller_14_bit(1)
    assert [list(row) for row in zip(curve.time_s, curve.values, strict=True)] == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("sound_ends"))
def test_the_pedal_moves_the_end_of_the_sound(file: str, expected: list[float]) -> None:
    assert score_of(file).tracks[1].notes.sound_end_s.tolist() == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("glides"))
def test_the_source_key_of_a_glide_is_kept(file: str, expected: list[Any]) -> None:
    track = score_of(file).tracks[1]
    curves = track.curves(1)
    source = curves.controller(84)
    assert [[source.values[0], track.notes.pitch[0], track.notes.onset_s[0]]] == expected
    assert source.time_s.tolist() == [0.0]
    assert curves.controller(5).values.tolist() == [64]
    assert curves.controller(65).values.tolist() == [127, 0]


@pytest.mark.parametrize(("file", "expected"), rows_with_other("legato_switch"))
def test_the_legato_switch_is_kept(file: str, expected: list[Any]) -> None:
    curve = score_of(file).tracks[1].curves(1).controller(68)
    found = zip(curve.time_s.tolist(), curve.values.tolist(), strict=True)
    assert [[time_s, value >= 64] for time_s, value in found] == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("ports"))
def test_ports_are_kept(file: str, expected: list[Any]) -> None:
    assert [track.port for track in score_of(file).tracks] == expected


@pytest.mark.parametrize(
    ("key", "octave"), [("note_name_c4_convention", 4), ("note_name_c3_convention", 3)]
)
def test_key_60_is_middle_c_whatever_its_name(key: str, octave: int) -> None:
    cases = rows_with_other(key)
    assert cases
    for case in cases:
        file, expected = case.values
        assert pitch_name(int(score_of(file).tracks[1].notes.pitch[0]), octave) == expected


@pytest.mark.parametrize(("file", "expected"), rows_with_other("music_pitches"))
def test_switch_notes_are_read_like_any_note(file: str, expected: list[int]) -> None:
    # Which of them are switches is for the inference to say; reading must lose none.
    switches = json.loads(next(row for row in ROWS if row["file"] == file)["other"])
    pitches = score_of(file).tracks[1].notes.pitch.tolist()
    assert sorted(pitches) == sorted([*expected, *switches["keyswitch_candidates"]])


def test_every_column_of_the_list_is_checked_here() -> None:
    checked = Path(__file__).read_text(encoding="utf-8")
    keys = {key for row in ROWS for key in json.loads(row["other"] or "{}")}
    unchecked = {key for key in keys if f'"{key}"' not in checked}
    assert not unchecked
