import io
from pathlib import Path

import mido
import pytest

import mockcheck
from mockcheck.model.review import Review
from mockcheck.report.handouts import HANDOUTS
from tests.phrases import midi_bytes

MUSIC = midi_bytes("viola 4/4 q=90 players=6 | C4:4 | B2:4 | C4:4 |")


@pytest.fixture(scope="module")
def review(tmp_path_factory: pytest.TempPathFactory) -> Review:
    path = tmp_path_factory.mktemp("handouts") / "music.mid"
    path.write_bytes(MUSIC)
    return mockcheck.review(path)


@pytest.mark.parametrize("name", list(HANDOUTS))
def test_every_handout_is_made_under_a_name_of_its_own(review: Review, name: str) -> None:
    made = dict(HANDOUTS[name](review, MUSIC))
    assert made
    assert all(made.values())
    assert all(Path(file).name == file for file in made)
    for file, content in made.items():
        if file.endswith(".mid"):
            assert mido.MidiFile(file=io.BytesIO(content)).tracks


def test_names_do_not_meet(review: Review) -> None:
    names = [file for write in HANDOUTS.values() for file, _ in write(review, MUSIC)]
    assert len(names) == len(set(names))
