"""A smaller turn of `python -m tests.comparing`, with trials of every kind."""

from collections import Counter
from random import Random

import pytest

from tests.accuracy.corpus import fixture_quartets
from tests.accuracy.midi_music import Music, Note, Part
from tests.comparing.edits import EDITS, Edited, untouched
from tests.comparing.figures import figures_of
from tests.comparing.trials import KINDS, draw_trial

LEAST_SHARE = 0.97
MUSIC = Music(
    480,
    ((0, 500_000.0), (1920 * 5, 400_000.0)),
    ((0, 4, 4),),
    tuple(
        Part(
            name,
            tuple(Note(480 * i, 480 * i + 400, 60 + (7 * i) % 12 + row) for i in range(48)),
        )
        for row, name in enumerate(("Violin 1", "Viola"))
    ),
)


@pytest.mark.slow
def test_findings_are_known_again_after_edits_of_every_kind() -> None:
    figures: Counter[str] = Counter()
    # Odd numbers are the half that nothing was tuned on.
    for number in range(1, 2 * len(KINDS), 2):
        figures += figures_of(draw_trial(fixture_quartets(), number))
    assert figures["trials"] == len(KINDS)
    assert figures["decisions"] > 200
    assert figures["truly fixed"] > 3
    assert figures["truly new"] > 3
    assert figures["right"] >= LEAST_SHARE * figures["decisions"]
    assert figures["another one accepted"] == 0
    assert figures["changed music, accepted"] == 0
    assert figures["same music, accepted"] >= LEAST_SHARE * figures["same music"]


@pytest.mark.parametrize("kind", EDITS)
def test_an_edit_keeps_account_of_every_note(kind: str) -> None:
    for turn in range(12):
        edited = EDITS[kind](untouched(MUSIC), Random(turn))
        for part in edited.music.parts:
            origins = edited.origins[part.name]
            assert len(origins) == len(part.notes)
            assert list(part.notes) == sorted(part.notes, key=lambda n: (n.onset, n.pitch))
            known = [origin for origin in origins if origin is not None]
            assert len(set(known)) == len(known)
            assert kind == "bars inserted" or len(known) == len(origins)
            _same_but_for_pitch_or_place(kind, edited, part)


def _same_but_for_pitch_or_place(kind: str, edited: Edited, part: Part) -> None:
    for note, origin in zip(part.notes, edited.origins[part.name], strict=True):
        if origin is None:
            continue
        was = MUSIC.part(origin[0]).notes[origin[1]]
        assert kind == "transposed" or note.pitch == was.pitch
        moves = kind in {"bars inserted", "bars cut", "one part pushed", "retimed"}
        assert moves or note.onset == was.onset
        assert kind != "bars inserted" or (note.onset - was.onset) % 1920 == 0
        assert note.release > note.onset
