from pathlib import Path

import pytest

from tests.sample import SAMPLE, write_pictures, write_texts

TEXTS = (
    "summary.txt", "review.json", "findings.csv", "tracks.csv", "strokes.csv", "slides.csv",
    "reading.csv",
)  # fmt: skip


@pytest.fixture(scope="module")
def remade(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample")
    write_texts(folder)
    return folder


@pytest.mark.parametrize("name", TEXTS)
def test_the_sample_review_in_the_repository_is_current(remade: Path, name: str) -> None:
    # Remake it with `python -m tests.sample` and read the difference before committing it.
    assert (remade / name).read_text() == (SAMPLE / name).read_text()


def test_every_picture_of_the_sample_is_made(tmp_path: Path) -> None:
    write_pictures(tmp_path)
    made = {path.name for path in (tmp_path / "plots").iterdir()}
    assert made == {path.name for path in (SAMPLE / "plots").iterdir()}
    engraved = {path.name for path in (tmp_path / "notation").iterdir()}
    assert engraved == {path.name for path in (SAMPLE / "notation").iterdir()}
