from itertools import pairwise

import numpy as np
import pytest

from mockcheck.infer import play
from mockcheck.infer.bend_range import find_bend_range
from mockcheck.infer.bends import assumed_range
from mockcheck.model.curves import Curve
from mockcheck.model.notes import Notes
from mockcheck.model.played import BendRange
from mockcheck.model.score import MpeZone, Track
from mockcheck.model.session import Session, TrackChoice
from tests.infer.tracks import bend_channel, line, notes_of, role_of, score_of, ticks, track_of

MELODY = [60, 64, 67, 65, 72, 69, 67, 64, 60, 67]


def slid(notes: Notes, semitones: float, *, arriving: bool = False) -> Curve:
    """Every join slides on a wheel of a range; read as if the range were two."""
    time_s, cents = [0.5], [0.0]
    for left, right in zip(range(len(notes) - 1), range(1, len(notes)), strict=True):
        meet_s = float(notes.onset_s[right])
        travel = 100.0 * (int(notes.pitch[right]) - int(notes.pitch[left]))
        for share in np.linspace(0, 1, 13):
            second = meet_s + 0.2 * share if arriving else meet_s - 0.2 + 0.195 * share
            time_s.append(second)
            cents.append(travel * (share - 1) if arriving else travel * share)
        if not arriving:
            time_s.append(meet_s)
            cents.append(0.0)
    at_s = np.array(time_s)
    return Curve(ticks(at_s), ticks(at_s) / 1000, np.array(cents) * 2 / semitones)


def found(
    bend: Curve, notes: Notes, *, is_assumed: bool = True, mpe: MpeZone | None = None
) -> BendRange | None:
    track = track_of(notes, {1: bend_channel(bend, is_assumed)})
    return find_bend_range(notes, role_of(), Track(**{**vars(track), "mpe": mpe}))


@pytest.mark.parametrize("semitones", [2, 5, 7, 12, 24, 48])
@pytest.mark.parametrize("arriving", [False, True])
def test_slides_that_reach_their_notes_tell_the_range(semitones: int, arriving: bool) -> None:
    notes = notes_of(*line(MELODY, 1.0, share=1.02))
    guess = found(slid(notes, semitones, arriving=arriving), notes)
    assert guess is not None
    assert guess.semitones == semitones
    assert 0.5 < guess.confidence <= 0.9
    assert "9 of 9" in guess.evidence


def test_a_range_that_was_sent_is_not_guessed() -> None:
    notes = notes_of(*line(MELODY, 1.0, share=1.02))
    assert found(slid(notes, 12), notes, is_assumed=False) is None


def test_three_slides_tell_nothing() -> None:
    notes = notes_of(*line(MELODY[:4], 1.0, share=1.02))
    assert found(slid(notes, 12), notes) is None


def test_the_same_interval_over_and_over_tells_nothing() -> None:
    # A wheel pushed to its end each time would look the same.
    notes = notes_of(*line([60, 67] * 5, 1.0, share=1.02))
    assert found(slid(notes, 12), notes) is None


@pytest.mark.parametrize("seed", range(20))
def test_vibrato_broken_off_at_the_onsets_tells_nothing(seed: int) -> None:
    chance = np.random.default_rng(seed)
    notes = notes_of(*line(chance.integers(55, 80, 200).tolist(), 0.5, share=1.02))
    jumps = chance.uniform(-40, 40, len(notes))
    bend = Curve(notes.onset_ticks, notes.onset_s, jumps)
    assert found(bend, notes) is None


def test_a_part_without_bends_has_no_range() -> None:
    notes = notes_of(*line(MELODY, 1.0))
    assert find_bend_range(notes, role_of(), track_of(notes)) is None


def test_falls_and_scoops_tell_nothing() -> None:
    notes = notes_of(*line(MELODY, 1.0, share=0.6))
    assert found(slid(notes, 12), notes) is None


def test_member_channels_have_the_range_of_their_standard() -> None:
    # MIDI Polyphonic Expression 1.0, 2.4: 48 semitones on member channels until set.
    notes = notes_of(*line(MELODY, 1.0, share=1.02))
    zone = MpeZone("lower", 16, (1, 2))
    bend = slid(notes, 2)
    guess = found(bend, notes, mpe=zone)
    assert guess is not None
    assert guess.semitones == 48
    track = Track(**{**vars(track_of(notes)), "mpe": zone})
    assert (assumed_range(track, 1), assumed_range(track, 3)) == (48, 2)


def test_a_part_is_played_with_the_range_that_was_found() -> None:
    notes = notes_of(*line(MELODY, 1.0, share=1.02))
    track = track_of(notes, {1: bend_channel(slid(notes, 24), is_range_assumed=True)})
    (part,) = play(score_of(track), Session(), (role_of(),)).parts
    assert [known.semitones for known in part.bend_ranges] == [24]
    ends = [(slide.from_pitch, slide.to_pitch) for slide in part.slides]
    assert np.allclose(ends, list(pairwise(MELODY)), atol=0.3)
    # A guess about the range takes from the confidence.
    assert max(slide.confidence for slide in part.slides) < 0.9


def test_the_brief_overrules_what_the_slides_say() -> None:
    notes = notes_of(*line(MELODY, 1.0, share=1.02))
    track = track_of(notes, {1: bend_channel(slid(notes, 24), is_range_assumed=True)})
    session = Session(tracks=(TrackChoice("track 0", bend_range_semitones=12),))
    (part,) = play(score_of(track), session, (role_of(),)).parts
    assert part.bend_ranges == ()
    assert part.slides[0].to_pitch - part.slides[0].from_pitch == pytest.approx(2, abs=0.3)
