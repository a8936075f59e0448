import io
import re
import unicodedata
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import mido
import numpy as np
import pretty_midi
import pytest
from hypothesis import given
from hypothesis import strategies as st

import mockcheck
from mockcheck.errors import UnreadableInput
from mockcheck.export._ascii import to_ascii
from mockcheck.export.markers import LONGEST_TEXT, marker_file
from mockcheck.model.finding import Finding, Severity
from mockcheck.model.review import Review
from mockcheck.read import read_bytes
from tests.phrases import midi_bytes
from tests.report.synthetic import (
    BAR,
    TPQ,
    VIOLA,
    VIOLIN,
    finding_of,
    frames_timeline,
    part_of,
    review_of,
    timeline_of,
)

FIXTURES = Path(__file__).parent.parent.parent / "fixtures"
DEMO = FIXTURES / "demo"
FILES = [
    DEMO / "harbour_at_dawn.mid",
    *sorted((FIXTURES / "quartets").glob("*.mid")),
    *sorted((FIXTURES / "quirks").glob("*.mid")),
]
MOST_TICKS = 10_000_000
"""One of the packages used here lists the second of every tick."""


def saved(midi: mido.MidiFile) -> bytes:
    out = io.BytesIO()
    midi.save(file=out)
    return out.getvalue()


def reread(review: Review) -> mido.MidiFile:
    return mido.MidiFile(file=io.BytesIO(saved(marker_file(review))))


def markers(track: mido.MidiTrack) -> list[tuple[int, str]]:
    tick, found = 0, []
    for message in track:
        tick += message.time
        if message.type == "marker":
            found.append((tick, message.text))
    return found


def texts(review: Review) -> list[str]:
    return [text for track in reread(review).tracks for _, text in markers(track)]


def first_of_each_bar(findings: list[Finding]) -> list[int]:
    """Ticks at which markers belong: of each bar, or second, the first finding."""
    first: dict[int, int] = {}
    for finding in findings:
        bar = int(finding.start.time_s) if finding.start.bar is None else finding.start.bar
        first[bar] = min(first.get(bar, finding.start.tick), finding.start.tick)
    return sorted(first.values())


@cache
def reviewed(path: Path) -> Review:
    try:
        return mockcheck.review(path)
    except UnreadableInput:
        # What nobody plays by its names is played by violins.
        return mockcheck.review(path, {"tracks": [{"match": "*", "instrument": "violin"}]})


def review_or_skip(path: Path) -> Review:
    try:
        return reviewed(path)
    except UnreadableInput as error:
        pytest.skip(str(error))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_file_gives_markers_at_the_ticks_of_its_findings(path: Path) -> None:
    review = review_or_skip(path)
    chunk_of = {role.index: role.track_index for role in review.played.roles}
    midi = reread(review)
    is_patterns = review.played.score.smf_format == 2
    assert len(midi.tracks) == (len(review.played.score.tracks) if is_patterns else 1)
    for number, track in enumerate(midi.tracks):
        own = [f for f in review.findings if not is_patterns or chunk_of[f.track] == number]
        assert sorted(tick for tick, _ in markers(track)) == first_of_each_bar(own)
        assert {m.type for m in track} <= {"set_tempo", "time_signature", "marker", "end_of_track"}
    assert all(text.isascii() and len(text) <= LONGEST_TEXT for text in texts(review))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_tempo_bars_and_division_are_those_of_the_source(path: Path) -> None:
    review = review_or_skip(path)
    score = review.played.score
    again = read_bytes(saved(marker_file(review)), "markers.mid")
    assert again.smf_format == (2 if score.smf_format == 2 else 1)
    assert again.ticks_per_quarter == score.ticks_per_quarter
    assert again.ticks_per_second == score.ticks_per_second
    pairs = [(score.timeline, again.timeline)]
    if score.smf_format == 2:
        both = zip(score.tracks, again.tracks, strict=True)
        pairs = [(one.timeline, two.timeline) for one, two in both]
    for source, copy in pairs:
        for name in ("ticks", "time_s", "seconds_per_tick"):
            np.testing.assert_array_equal(getattr(copy.tempo, name), getattr(source.tempo, name))
        assert copy.tempo.assumed == source.tempo.assumed
        assert (copy.meter is None) == (source.meter is None)
        if source.meter is not None and copy.meter is not None:
            for name in ("ticks", "numerators", "denominators"):
                np.testing.assert_array_equal(
                    getattr(copy.meter, name), getattr(source.meter, name)
                )


@pytest.mark.parametrize("path", FILES[:5], ids=lambda path: path.stem)
def test_tempo_and_metre_events_are_the_ones_another_reader_sees(path: Path) -> None:
    def events(midi: mido.MidiFile) -> list[tuple[int, int | tuple[int, int]]]:
        tick, found = 0, []
        for message in mido.merge_tracks(midi.tracks):
            tick += message.time
            if message.type == "set_tempo":
                found.append((tick, message.tempo))
            elif message.type == "time_signature":
                found.append((tick, (message.numerator, message.denominator)))
        return sorted(found, key=str)

    source = mido.MidiFile(path)
    copy = reread(reviewed(path))
    assert copy.ticks_per_beat == source.ticks_per_beat
    assert events(copy) == events(source)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_markers_sound_at_the_second_of_their_finding(path: Path, tmp_path: Path) -> None:
    review = review_or_skip(path)
    score = review.played.score
    ticks = [0, *(finding.start.tick for finding in review.findings)]
    if score.smf_format == 2 or score.ticks_per_quarter is None or max(ticks) > MOST_TICKS:
        pytest.skip("no file for this reader")
    (tmp_path / "markers.mid").write_bytes(saved(marker_file(review)))
    midi = pretty_midi.PrettyMIDI(str(tmp_path / "markers.mid"))
    assert midi.resolution == score.ticks_per_quarter
    marked = {tick for tick, _ in markers(reread(review).tracks[0])}
    for place in (finding.start for finding in review.findings if finding.start.tick in marked):
        assert midi.tick_to_time(place.tick) == pytest.approx(place.time_s, abs=1e-9)


PART = part_of("Violin 1", VIOLIN, [(60, 0, 200 * BAR)])
OTHER = part_of("Viola", VIOLA, [(60, 0, 200 * BAR)], index=1)


def synthetic(*findings: Finding) -> Review:
    return review_of([PART, OTHER], findings)


def test_a_finding_alone_in_its_bar_has_a_marker_of_its_own() -> None:
    finding = finding_of(OTHER, Severity.RISKY, 4 * BAR + 77, 5 * BAR)
    (track,) = reread(synthetic(finding)).tracks
    assert markers(track) == [
        (4 * BAR + 77, "risky, Viola: G3 and A3 need the same string."),
    ]


def test_findings_of_one_bar_share_a_marker_at_the_first_worst_named_first() -> None:
    rows = [
        finding_of(PART, Severity.REMARK, BAR + 10, BAR + 20, check="trill-too-wide"),
        finding_of(OTHER, Severity.IMPOSSIBLE, BAR + TPQ, BAR + 2 * TPQ),
        finding_of(OTHER, Severity.IMPOSSIBLE, BAR + 2 * TPQ, BAR + 3 * TPQ),
    ]
    (track,) = reread(synthetic(*rows)).tracks
    assert markers(track) == [
        (
            BAR + 10,
            "3 findings: impossible, Viola: double stop on one string (2);"
            " remark, Violin 1: trill too wide",
        )
    ]


def test_what_the_brief_accepts_has_no_marker() -> None:
    accepted = finding_of(PART, Severity.RISKY, 0, TPQ, accepted="the composer wants it")
    assert texts(synthetic(accepted)) == []


@given(
    st.lists(
        st.tuples(
            st.integers(0, 160 * BAR),
            st.sampled_from(list(Severity)),
            st.sampled_from([PART, OTHER]),
            st.sampled_from(["bow-runs-out", "augmented-second-in-fast-notes", "run-too-fast"]),
        ),
        max_size=60,
    )
)
def test_every_finding_is_named_or_counted(rows: list[tuple[int, Severity, Any, str]]) -> None:
    findings = [
        finding_of(part, severity, tick, tick + TPQ, check=check)
        for tick, severity, part, check in rows
    ]
    counted: Counter[int] = Counter()
    for tick, text in markers(reread(synthetic(*findings)).tracks[0]):
        assert len(text) <= LONGEST_TEXT
        head = re.match(r"(\d+) findings: ", text)
        counted[tick // BAR] += int(head[1]) if head else 1
        if head:
            body = text[head.end() :]
            extra = re.search(r"; and (\d+) more$", body)
            named = body[: extra.start()] if extra else body
            numbers = [re.search(r"\((\d+)\)$", item) for item in named.split("; ")]
            said = sum(int(number[1]) if number else 1 for number in numbers)
            assert said + (int(extra[1]) if extra else 0) == int(head[1])
    assert counted == Counter(tick // BAR for tick, *_ in rows)


def test_a_thousand_findings_stay_readable() -> None:
    findings = [
        finding_of(
            (PART, OTHER)[n % 2],
            list(Severity)[n % 4],
            n * 150 * BAR // 1000,
            n * 150 * BAR // 1000 + TPQ,
            check=("bow-runs-out", "run-too-fast", "odd-tuplet")[n % 3],
        )
        for n in range(1000)
    ]
    (track,) = reread(synthetic(*findings)).tracks
    found = markers(track)
    assert len(found) == len({tick // BAR for tick, _ in found}) == 150
    assert all(text.isascii() and len(text) <= LONGEST_TEXT for _, text in found)


def test_names_of_any_alphabet_are_written_in_letters() -> None:
    for name, written in {
        "Violín primero": "Violin primero",
        "Gro\u00dfe Fl\u00f6te": "Grosse Flote",
        "Скрипка": "Skripka",
        "Щука ЁЖ": "Shchuka YoZh",
        "βιολί": "violi",
        "ヴァイオリン": "vuaiorin",
        "ｳﾞｧｲｵﾘﾝ": "vuaiorin",
        "비올라": "biolra",
        "F♯ – “sul G”…": 'F# - "sul G"...',
        "a\x1b[31m\u202eb\n c": "a[31mb c",
    }.items():
        assert to_ascii(name) == written


@given(st.text())
def test_no_text_leaves_ascii_or_gains_a_question_mark(text: str) -> None:
    plain = to_ascii(text)
    assert plain.isascii()
    assert plain.isprintable()
    assert plain.count("?") == unicodedata.normalize("NFKC", text).count("?")
    assert to_ascii(plain) == plain


def test_a_name_without_any_such_letter_gives_way_to_the_instrument() -> None:
    part = part_of("小提琴 1", VIOLIN, [(60, 0, BAR)])
    review = review_of([part], [finding_of(part, Severity.RISKY, 0, TPQ)])
    assert texts(review) == ["risky, violin 1: G3 and A3 need the same string."]


def test_long_names_and_messages_are_cut_with_dots() -> None:
    part = part_of("Violin " + "x" * 300, VIOLIN, [(60, 0, BAR)])
    finding = finding_of(part, Severity.RISKY, 0, TPQ, message="long " * 100)
    (text,) = texts(review_of([part], [finding]))
    assert len(text) <= LONGEST_TEXT
    assert text.startswith("risky, Violin xxx")
    assert text.endswith("...")
    (both,) = texts(review_of([part], [finding, replace(finding, check="bow-runs-out")]))
    assert both.startswith("2 findings: risky, Violin xxx")


def test_a_tempo_that_nobody_named_is_not_imported() -> None:
    timeline = timeline_of(assumed=True)
    part = part_of("Violin 1", VIOLIN, [(60, 0, BAR)], timeline=timeline)
    (track,) = reread(review_of([part], [])).tracks
    assert [message.type for message in track] == ["time_signature", "end_of_track"]


def test_a_tempo_from_the_brief_is_written(tmp_path: Path) -> None:
    music = mido.MidiFile(file=io.BytesIO(midi_bytes("violin 4/4 q=120 | F3:4 | A4:4 |")))
    for track in music.tracks:
        track[:] = [message for message in track if message.type != "set_tempo"]
    music.save(tmp_path / "music.mid")
    review = mockcheck.review(tmp_path / "music.mid", {"tempo_bpm": 90})
    (track,) = reread(review).tracks
    assert [m.tempo for m in track if m.type == "set_tempo"] == [666_667]


@pytest.mark.parametrize(
    ("per_second", "division"), [(1000.0, (-25, 40)), (2400.0, (-24, 100)), (3000.0, (-24, 125))]
)
def test_frames_keep_their_ticks_and_merge_by_the_second(
    per_second: float, division: tuple[int, int]
) -> None:
    timeline = frames_timeline(per_second)
    part = part_of("Violin 1", VIOLIN, [(60, 0, 20_000)], timeline=timeline)
    at = [100, 300, int(1.5 * per_second)]
    findings = [finding_of(part, Severity.RISKY, tick, tick + 50) for tick in at]
    review = review_of([part], findings, score_changes={"ticks_per_second": per_second})
    midi = reread(review)
    assert divmod(midi.ticks_per_beat, 256) == division
    assert [tick for tick, _ in markers(midi.tracks[0])] == [100, at[2]]
    assert {message.type for message in midi.tracks[0]} == {"marker", "end_of_track"}


def test_patterns_each_have_a_track_of_their_own(tmp_path: Path) -> None:
    music = mido.MidiFile(type=2, ticks_per_beat=480)
    for tempo, wait in ((500_000, 480), (400_000, 960)):
        music.tracks.append(
            mido.MidiTrack(
                [
                    mido.MetaMessage("track_name", name="Violin"),
                    mido.MetaMessage("set_tempo", tempo=tempo),
                    mido.Message("note_on", note=50, velocity=80, time=wait),
                    mido.Message("note_off", note=50, time=480),
                ]
            )
        )
    music.save(tmp_path / "patterns.mid")
    review = mockcheck.review(tmp_path / "patterns.mid")
    midi = reread(review)
    assert midi.type == 2
    tempos = [[m.tempo for m in track if m.type == "set_tempo"] for track in midi.tracks]
    assert tempos == [[500_000], [400_000]]
    for track, tick in zip(midi.tracks, (480, 960), strict=True):
        assert tick in [place for place, _ in markers(track)]
