import numpy as np
import pytest

from mockcheck.model.articulations import ARTICULATIONS, COLOURS, ArticulationColumns


def test_a_colour_is_an_articulation_too() -> None:
    assert set(COLOURS) < set(ARTICULATIONS)


def columns(
    stroke: str, sure: float, colour: str | None = None, colour_sure: float = 0.0
) -> ArticulationColumns:
    """One note."""
    return ArticulationColumns(
        np.array([ARTICULATIONS.index(stroke)], np.int8),
        np.array([sure]),
        np.array([-1 if colour is None else COLOURS.index(colour)], np.int8),
        np.array([colour_sure]),
    )


def test_columns_without_colours_have_none() -> None:
    plain = ArticulationColumns(np.array([1, 0], np.int8), np.array([0.5, 0.9]))
    assert plain.colour.tolist() == [-1, -1]
    assert plain.word.tolist() == [1, 0]
    assert plain.word_confidence.tolist() == [0.5, 0.9]
    assert not plain.is_any("con sordino", "sul tasto").any()
    assert len(ArticulationColumns(np.empty(0, np.int8), np.empty(0)).word) == 0


@pytest.mark.parametrize(
    ("note", "word", "sure"),
    [
        (columns("staccato", 0.7, "con sordino", 0.97), "con sordino", 0.97),
        (columns("legato", 1.0, "con sordino", 1.0), "con sordino", 1.0),
        (columns("spiccato", 1.0, "con sordino", 1.0), "spiccato", 1.0),
        (columns("pizzicato", 0.97, "con sordino", 1.0), "pizzicato", 0.97),
        (columns("tremolo", 1.0, "sul ponticello", 1.0), "tremolo", 1.0),
        (columns("tremolo", 0.95, "sul ponticello", 1.0), "sul ponticello", 1.0),
    ],
)
def test_one_word_for_a_note_is_its_stroke_or_its_colour(
    note: ArticulationColumns, word: str, sure: float
) -> None:
    assert note.name(0) == word
    assert note.word_confidence.tolist() == [sure]


def test_a_colour_holds_beside_the_stroke() -> None:
    note = columns("pizzicato", 0.97, "con sordino", 1.0)
    assert note.is_any("con sordino").all()
    assert note.is_any("pizzicato").all()
    assert not note.is_any("legato", "sul tasto").any()
    assert note.select(np.array([0])).colour.tolist() == [0]
