import io
import tempfile
import tomllib
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import mido
import pretty_midi
import pytest

import mockcheck
from mockcheck.errors import UnreadableInput
from mockcheck.export.players_copy import PlayersCopy, players_copy
from mockcheck.model.finding import Severity
from mockcheck.model.review import Review
from mockcheck.model.score import Score
from mockcheck.read import read_bytes
from tests.accuracy.corpus import fixture_quartets
from tests.accuracy.midi_music import write_music
from tests.accuracy.recall import PLACE_GROUPS, _fault_at, draw_places
from tests.accuracy.reviewing import brief_for
from tests.phrases import midi_bytes

ROOT = Path(__file__).parent.parent.parent
DEMO = ROOT / "fixtures" / "demo" / "harbour_at_dawn.mid"
BRIEF = DEMO.parent / "brief.toml"
QUIRKS = ROOT / "fixtures" / "quirks"
CURED = {
    "run-too-fast": Severity.RISKY,
    "chord-needs-divisi": Severity.RISKY,
    "chord-out-of-reach": Severity.RISKY,
    "double-stop-on-one-string": Severity.RISKY,
    "slides-overused": Severity.AWKWARD,
    "bend-left-over": Severity.AWKWARD,
}
"""Checks whose cure the copy makes, and from which severity on."""

Row = tuple[int, int, int, int]


def reviewed(content: bytes, brief: Any = None) -> Review:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "music.mid"
        path.write_bytes(content)
        return mockcheck.review(path, brief)


def saved(copy: PlayersCopy) -> bytes:
    out = io.BytesIO()
    copy.midi.save(file=out)
    return out.getvalue()


def copied(*phrases: str, brief: Any = None) -> tuple[Review, PlayersCopy, Score, Score]:
    """Review, copy, and the music before and after."""
    content = midi_bytes(*phrases)
    review = reviewed(content, brief)
    copy = players_copy(review, content)
    return review, copy, read_bytes(content, "a"), read_bytes(saved(copy), "b")


def notes_of(score: Score, *names: str) -> Counter[Row]:
    return Counter(
        (int(n.onset_ticks[r]), int(n.release_ticks[r]), int(n.pitch[r]), int(n.velocity[r]))
        for track in score.tracks
        if track.name in names
        for n in [track.notes]
        for r in range(len(n))
    )


def events(track: mido.MidiTrack) -> list[tuple[int, list[int]]]:
    return [(message.time, message.bytes()) for message in track]


def track_named(midi: mido.MidiFile, name: str) -> mido.MidiTrack:
    return next(track for track in midi.tracks if track.name == name)


@pytest.fixture(scope="module")
def demo() -> tuple[Review, PlayersCopy]:
    review = mockcheck.review(DEMO, BRIEF)
    return review, players_copy(review, DEMO.read_bytes())


def test_the_demo_is_altered_where_its_faults_are(demo: tuple[Review, PlayersCopy]) -> None:
    _, copy = demo
    done = {(c.part, c.place.bar, c.check) for c in copy.changes if "left as" not in c.what}
    assert done == {
        ("Violin 2", 11, "double-stop-on-one-string"),
        ("Violin 2", 13, "slides-overused"),
        ("Cello", 28, "run-too-fast"),
        ("Violin 1", 28, "run-too-fast"),
        ("Violin 1", 31, "chord-out-of-reach"),
        ("Cello", 35, "bend-left-over"),
    }


def test_the_copy_leaves_out_what_the_finding_names(demo: tuple[Review, PlayersCopy]) -> None:
    review, copy = demo
    for change in copy.changes:
        if change.check == "run-too-fast":
            finding = next(f for f in review.findings if f.id == change.finding)
            named = finding.suggestion.split("evenly spaced: ")[1].rstrip(".")
            assert change.after.split() == named.replace(" and ", ", ").split(", ")


def test_what_no_copy_can_cure_is_listed(demo: tuple[Review, PlayersCopy]) -> None:
    _, copy = demo
    left = {(c.part, c.check) for c in copy.changes if c.what.startswith("left as it is")}
    assert left == {("Viola", "note-below-open-string"), ("Violin 1", "no-time-for-change")}


def test_every_other_note_of_the_demo_stays(demo: tuple[Review, PlayersCopy]) -> None:
    _, copy = demo
    before, after = read_bytes(DEMO.read_bytes(), "a"), read_bytes(saved(copy), "b")
    names = [track.name for track in before.tracks if track.name]
    for name in names:
        now = copy.renamed.get(name, (name,))
        old, new = notes_of(before, name), notes_of(after, *now)
        gone = old - new
        thinned = [c for c in copy.changes if c.part == name and c.check == "run-too-fast"]
        assert len(thinned) == bool(gone - new) or not thinned
        for row in gone:
            assert any(abs(row[0] - c.place.tick) < 2 * 480 * 4 for c in thinned), (name, row)
        kept = sum(len(c.after.split()) for c in thinned)
        left_out = sum(len(c.before.split()) for c in thinned) - kept
        # A split track has the switch keys once for every line.
        switches = sum(1 for row in old if row[2] < 30) if len(now) > 1 else 0
        assert new.total() == old.total() - left_out + switches * (len(now) - 1)


def test_tempo_and_other_instruments_stay_event_for_event(
    demo: tuple[Review, PlayersCopy],
) -> None:
    _, copy = demo
    before = mido.MidiFile(DEMO)
    after = mido.MidiFile(file=io.BytesIO(saved(copy)))
    assert events(after.tracks[0]) == events(before.tracks[0])
    for name in ("Harp pre-record", "Viola leg", "Viola spicc", "Double Bass"):
        assert events(track_named(after, name)) == events(track_named(before, name))
    assert after.ticks_per_beat == before.ticks_per_beat


def test_the_demo_reviewed_again_has_nothing_left_that_was_cured(
    demo: tuple[Review, PlayersCopy],
) -> None:
    _, copy = demo
    brief = tomllib.loads(BRIEF.read_text())
    # The lines of a divided part have its switches, under names of their own.
    for row in brief["tracks"]:
        row["match"] += " ?" if row["match"] in copy.renamed else ""
    del brief["players"]
    again = reviewed(saved(copy), brief)
    assert not [f for f in again.findings if f.severity >= CURED.get(f.check, 9)]


def test_the_copy_opens_elsewhere(demo: tuple[Review, PlayersCopy], tmp_path: Path) -> None:
    _, copy = demo
    copy.midi.save(tmp_path / "copy.mid")
    opened = pretty_midi.PrettyMIDI(str(tmp_path / "copy.mid"))
    names = {instrument.name for instrument in opened.instruments}
    assert {"Violin 1 a", "Violin 1 d", "Violin 2 b", "Cello"} <= names


def test_split_tracks_carry_switches_and_curves(demo: tuple[Review, PlayersCopy]) -> None:
    _, copy = demo
    first = track_named(mido.MidiFile(DEMO), "Violin 1")
    for name in ("Violin 1 a", "Violin 1 c"):
        own = track_named(copy.midi, name)
        for kind in ("control_change", "pitchwheel", "program_change"):
            assert [m.bytes() for m in own if m.type == kind] == [
                m.bytes() for m in first if m.type == kind
            ]
        keys = [m.note for m in own if m.type == "note_on" and m.note < 30]
        assert keys == [m.note for m in first if m.type == "note_on" and m.note < 30]


def test_clean_music_stays_event_for_event() -> None:
    phrases = (
        "violin 4/4 q=90 | (G4:1 A4:1) B4:1> D5:1 | cc11@2=40 E5:2 r:2 |",
        "cello | G2:4 | C3:4 |",
    )
    content = midi_bytes(*phrases)
    copy = players_copy(reviewed(content), content)
    assert not copy.changes
    before = mido.MidiFile(file=io.BytesIO(content))
    after = mido.MidiFile(file=io.BytesIO(saved(copy)))
    assert [events(t) for t in after.tracks] == [events(t) for t in before.tracks]


@pytest.mark.parametrize("path", sorted(QUIRKS.glob("*.mid")), ids=lambda path: path.stem)
def test_odd_files_keep_every_note(path: Path) -> None:
    content = path.read_bytes()
    brief = {"tracks": [{"match": "*", "instrument": "violin"}]}
    try:
        review = mockcheck.review(path, brief)
    except UnreadableInput:
        return
    copy = players_copy(review, content)
    before, after = review.played.score, read_bytes(saved(copy), "copy")
    if not copy.changes:
        assert len(after.tracks) == len(before.tracks)
        for old, new in zip(before.tracks, after.tracks, strict=True):
            assert new.name_bytes == old.name_bytes
            assert new.notes.onset_ticks.tolist() == old.notes.onset_ticks.tolist()
            assert new.notes.release_ticks.tolist() == old.notes.release_ticks.tolist()
            assert new.notes.pitch.tolist() == old.notes.pitch.tolist()
            assert {c: len(v.bend_cents) for c, v in new.channels.items()} == {
                c: len(v.bend_cents) for c, v in old.channels.items()
            }
    assert (after.ticks_per_quarter, after.ticks_per_second) == (
        before.ticks_per_quarter,
        before.ticks_per_second,
    )
    assert after.tempo_map.bpm == before.tempo_map.bpm
    assert after.markers == before.markers
    assert [k.sharps for k in after.key_signatures] == [k.sharps for k in before.key_signatures]


def test_another_file_is_refused() -> None:
    content = midi_bytes("violin | G4:4 |")
    with pytest.raises(UnreadableInput, match="changed since it was reviewed"):
        players_copy(reviewed(content), midi_bytes("violin | A4:4 |"))


def test_what_the_brief_accepts_is_not_touched(demo: tuple[Review, PlayersCopy]) -> None:
    review, _ = demo
    accepted = tuple(replace(f, accepted="meant so") for f in review.findings)
    copy = players_copy(replace(review, findings=accepted), DEMO.read_bytes())
    assert not copy.changes
    before = mido.MidiFile(DEMO)
    assert [events(t) for t in copy.midi.tracks] == [events(t) for t in before.tracks]


RUN = "D4:1/8 E4:1/8 F#4:1/8 G4:1/8 A4:1/8 B4:1/8 C#5:1/8 D5:1/8"


def test_a_thinned_run_moves_nothing_around_it() -> None:
    _, copy, before, after = copied(f"violin 4/4 q=160 players=8 | A4:1 {RUN} E5:2 | G4:4 |")
    (change,) = copy.changes
    kept, gone = change.after.split(), change.before.split()
    assert set(kept) < set(gone)
    old, new = notes_of(before, "violin"), notes_of(after, "violin")
    outside = {row for row in old if not 480 <= row[0] < 960}
    assert outside <= set(new)
    inside = sorted(row for row in new if 480 <= row[0] < 960)
    assert len(inside) == len(kept)
    # Even steps, and each sounds for the same share of its step as before.
    steps = {later[0] - row[0] for row, later in zip(inside, [*inside[1:], (960,)], strict=True)}
    assert max(steps) - min(steps) <= 1
    for row in inside:
        assert (row[1] - row[0]) / min(steps) == pytest.approx(0.9, abs=0.05)


def test_one_player_cannot_divide() -> None:
    review, copy, before, after = copied(
        "violin 4/4 q=60 | G3+Bb3:4 | G4:4 |", brief={"tracks": [{"match": "violin", "players": 1}]}
    )
    assert any(f.check == "double-stop-on-one-string" for f in review.findings)
    assert [c.what[:13] for c in copy.changes] == ["left as it is"]
    assert notes_of(after, "violin") == notes_of(before, "violin")


def test_lines_share_out_the_notes_and_no_more() -> None:
    _, copy, before, after = copied("violin 1 4/4 q=60 | D5:4 | G3+Bb3:2 A3+C4:2 | E5:4 |")
    assert copy.renamed == {"violin 1": ("violin 1 a", "violin 1 b")}
    first, second = notes_of(after, "violin 1 a"), notes_of(after, "violin 1 b")
    assert first + second == notes_of(before, "violin 1")
    assert sorted(row[2] for row in second) == [55, 57]


def test_a_file_of_one_track_gets_another_format() -> None:
    content = midi_bytes("violin 1 4/4 q=60 | D5:4 | G3+Bb3:4 | E5:4 |")
    merged = mido.merge_tracks(mido.MidiFile(file=io.BytesIO(content)).tracks)
    one = mido.MidiFile(type=0, ticks_per_beat=480, tracks=[merged])
    out = io.BytesIO()
    one.save(file=out)
    copy = players_copy(reviewed(out.getvalue()), out.getvalue())
    assert copy.midi.type == 1
    assert [track.name for track in copy.midi.tracks] == ["violin 1 a", "violin 1 b"]
    assert not [m for m in copy.midi.tracks[1] if m.type in ("set_tempo", "time_signature")]


def test_a_name_in_two_byte_letters_stays_readable() -> None:
    content = midi_bytes("violin 1 4/4 q=60 | D5:4 | G3+Bb3:4 | E5:4 |")
    midi = mido.MidiFile(file=io.BytesIO(content))
    wide = "\ufeffViolin 1".encode("utf-16-le").decode("latin-1")
    midi.tracks[1][0] = mido.MetaMessage("track_name", name=wide)
    out = io.BytesIO()
    midi.save(file=out)
    copy = players_copy(reviewed(out.getvalue()), out.getvalue())
    names = [track.name for track in read_bytes(saved(copy), "b").tracks]
    assert names[1:] == ["Violin 1 a", "Violin 1 b"]


def bends(score: Score, name: str) -> list[float]:
    track = next(track for track in score.tracks if track.name == name)
    notes = track.notes
    return [
        round(float(track.sounding_cents(int(notes.channel[r]), notes.onset_s[r : r + 1])[0]))
        for r in range(len(notes))
    ]


def test_a_bend_left_over_goes_back_to_the_middle() -> None:
    _, copy, before, after = copied("violin | A4:2 bend@3=80 B4:2 | C5:2 bend@3=0 D5:2 |")
    assert bends(before, "violin") == [0, 80, 80, 0]
    assert bends(after, "violin") == [0, 0, 0, 0]
    (change,) = copy.changes
    assert (change.check, change.before) == ("bend-left-over", "B4 C5 80 cents sharp")


def test_detune_that_no_finding_speaks_of_goes_too() -> None:
    review, copy, before, after = copied("violin | bend@1=9 A4:2 B4:2 | C5:2 bend@3=-8 D5:2 |")
    assert not [f for f in review.findings if f.check == "bend-left-over"]
    assert bends(before, "violin") == [9, 9, 9, -8]
    assert bends(after, "violin") == [0, 0, 0, 0]
    assert [(c.check, c.after) for c in copy.changes] == [("", "in tune")]


SLIDES = (
    "violin 4/4 q=90 | A4:1> C5:1> E5:1> D5:1> | F5:1> A5:1> G5:1> E5:1> | C5:1> B4:1> A4:1> E4:1 |"
)


def test_of_many_slides_those_of_the_finding_stay() -> None:
    review, copy, before, after = copied(SLIDES)
    finding = next(f for f in review.findings if f.check == "slides-overused")
    again = reviewed(saved(copy))
    slides = [slide for part in again.played.parts for slide in part.slides]
    change = next(c for c in copy.changes if c.check == "slides-overused")
    assert 1 <= len(slides) == len(change.after.split(", "))
    assert all(end in finding.suggestion for end in change.after.split(", "))
    assert bends(after, "violin") == [0] * 12
    assert notes_of(after, "violin") == notes_of(before, "violin")


KINDS = (
    "run at 25 a second",
    "published run past the limit",
    "four notes out of reach",
    "two notes on one string",
    "impossible chord of the tables",
    "slide on every note, range 2",
    "bend left over",
)


@pytest.mark.parametrize("kind", KINDS)
def test_a_fault_in_published_music_is_cured_where_the_copy_says_so(
    kind: str, tmp_path: Path
) -> None:
    group = next(group for group in PLACE_GROUPS if kind in group.kinds)
    done = 0
    for index, place in enumerate(draw_places(fixture_quartets(), 4, (kind,), group.bars)):
        fault = _fault_at(kind, place, index)
        assert fault is not None
        path = write_music(fault.music, tmp_path / f"{index}.mid")
        review = mockcheck.review(path, brief_for(None, None, fault.brief))
        copy = players_copy(review, path.read_bytes())
        again = reviewed(saved(copy), brief_for(None, None, fault.brief))
        altered = {c.finding for c in copy.changes if not c.what.startswith("left as")}
        for found in review.findings:
            if found.severity < CURED.get(found.check, 9):
                continue
            if found.id not in altered:
                assert found.check == "run-too-fast", "everything else has a cure"
                assert "keep" not in found.suggestion
                continue
            done += 1
            assert not [
                f
                for f in again.findings
                if f.check == found.check
                and f.part.startswith(found.part)
                and f.severity >= CURED[found.check]
                and f.start.tick <= found.end.tick
                and f.end.tick >= found.start.tick
            ]
    assert done or kind.startswith(("run", "published"))


def test_slides_that_a_switch_makes_are_left_to_the_sampler() -> None:
    # Portamento (controller 65) is on throughout, at a slow rate (controller 5).
    line = "(C5:1 G5:1) (E5:1 C6:1) | (G5:1 D5:1) (A5:1 E5:1) | (C6:1 G5:1) (D6:1 A5:1) |"
    review, copy, before, after = copied(
        f"violin 4/4 q=90 | cc5@1=80 cc65@1=127 {line} {line}",
    )
    assert any(f.check == "slides-overused" for f in review.findings)
    (change,) = (c for c in copy.changes if c.check == "slides-overused")
    assert "the sampler makes them" in change.what
    assert change.before == change.after
    assert notes_of(after, "violin") == notes_of(before, "violin")
