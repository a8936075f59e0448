from pathlib import Path

import mido
import pytest

import mockcheck
from mockcheck.errors import BadBrief, UnreadableInput
from tests.phrases import midi_bytes

FAULTY = midi_bytes("Violin 1 4/4 q=100 | A4:2 F3:2 |", "Cello 4/4 | C3:4 |")


@pytest.fixture
def mockup(tmp_path: Path) -> Path:
    path = tmp_path / "mockup.mid"
    path.write_bytes(FAULTY)
    return path


def test_a_review_finds_the_fault_and_says_where(mockup: Path) -> None:
    review = mockcheck.review(mockup)
    assert [(f.check, f.part, f.start.bar, f.start.beat) for f in review.findings] == [
        ("note-below-open-string", "Violin 1", 1, 3)
    ]
    assert review.to_dict()["schema"] == "mockcheck.review/1"


def test_the_input_file_is_not_touched(mockup: Path) -> None:
    before = (mockup.read_bytes(), mockup.stat().st_mtime_ns)
    mockcheck.review(mockup)
    assert (mockup.read_bytes(), mockup.stat().st_mtime_ns) == before


def test_the_level_argument_wins_over_the_brief(mockup: Path) -> None:
    assert mockcheck.review(mockup, {"level": "solo"}).to_dict()["level"] == "solo"
    assert mockcheck.review(mockup, {"level": "solo"}, "sight").to_dict()["level"] == "sight"
    assert mockcheck.review(mockup).to_dict()["level"] == "sight"


def test_an_assumed_tempo_can_be_given(tmp_path: Path) -> None:
    path = tmp_path / "no_tempo.mid"
    track = mido.MidiTrack(
        [
            mido.MetaMessage("track_name", name="Violin"),
            mido.Message("note_on", note=69, velocity=80),
            mido.Message("note_off", note=69, time=480),
        ]
    )
    file = mido.MidiFile(type=1, ticks_per_beat=480)
    file.tracks.append(track)
    file.save(path)
    score = mockcheck.load(path)
    assert score.tempo_map.assumed
    assert mockcheck.play(score).score.duration_s == 0.5
    assert mockcheck.play(score, {"tempo_bpm": 60}).score.duration_s == 1.0


def test_a_written_tempo_is_never_replaced(mockup: Path) -> None:
    played = mockcheck.play(mockcheck.load(mockup), {"tempo_bpm": 50})
    assert played.score.tempo_map.bpm == pytest.approx((100.0,))


def test_a_file_without_notes_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "empty.mid"
    file = mido.MidiFile(type=1)
    file.tracks.append(mido.MidiTrack([mido.MetaMessage("track_name", name="Violin")]))
    file.save(path)
    with pytest.raises(UnreadableInput, match=r"empty\.mid.*no notes"):
        mockcheck.review(path)


def test_a_file_without_strings_says_what_it_saw(tmp_path: Path) -> None:
    path = tmp_path / "flute.mid"
    path.write_bytes(midi_bytes("Flute 4/4 q=100 program=73 | A5:4 |"))
    with pytest.raises(UnreadableInput, match=r"flute\.mid.*Flute"):
        mockcheck.review(path)


def test_players_of_a_part_that_does_not_exist_are_refused(mockup: Path) -> None:
    with pytest.raises(BadBrief, match=r"Violin 7.*Violin 1"):
        mockcheck.review(mockup, {"players": {"Violin 7": 3}})


def test_an_unknown_public_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="nothing_such"):
        mockcheck.nothing_such  # noqa: B018


HOUSE = Path(__file__).parent.parent / "fixtures" / "house"
RUN = " ".join(f"{name}:1/4" for name in "D4 E4 F#4 G4 A4 B4 C#5 D5".split() * 2)


def test_a_house_brief_may_name_tracks_and_parts_that_a_file_lacks(tmp_path: Path) -> None:
    path = tmp_path / "exercise.mid"
    path.write_bytes(
        midi_bytes(
            f"Vln 1 A 4/4 q=100 | A4:4 | {RUN} |", "Fiddles 4/4 | F4:4 |", "Vla 4/4 | D4:4 |"
        )
    )
    (tmp_path / "house.toml").write_text(
        f'extends = "{(HOUSE / "class_brief.toml").as_posix()}"\n[players]\n"Double Bass" = 2\n'
    )
    brief = tmp_path / "brief.toml"
    brief.write_text('extends = "house.toml"\n[players]\n"Violin 2" = 7\n')
    review = mockcheck.review(path, brief)
    parts = {part.name: part.players for part in review.played.parts}
    assert parts == {"Violin 1": 10, "Violin 2": 7, "Viola": 6}
    # What the house accepts and this file does not have is no news.
    assert review.unused_acceptances == ()
    document = review.to_dict()
    assert (document["level"], document["level_name"]) == ("sight", "student orchestra")
    assert document["brief"]["style_name"] == "noir"
    brief.write_text('[[tracks]]\nmatch = "Click*"\nleave_out = true\n')
    with pytest.raises(BadBrief, match="no track matches 'Click"):
        mockcheck.review(path, brief)
    brief.write_text('[players]\n"Double Bass" = 2\n')
    with pytest.raises(BadBrief, match="Double Bass"):
        mockcheck.review(path, brief)


def test_a_named_level_gives_its_share_of_the_headroom_in_a_whole_review(tmp_path: Path) -> None:
    path = tmp_path / "run.mid"
    path.write_bytes(midi_bytes(f"Violin 1 4/4 q=100 | A4:4 | {RUN} | A4:4 |"))
    named = {"levels": {"school": {"like": "rehearsed", "tempo_share": 0.75}}}
    plain, own = (
        mockcheck.review(path, named, level).tracks[1].headroom for level in ("rehearsed", "school")
    )
    assert plain is not None
    assert own == pytest.approx(0.75 * plain, abs=1e-3)
