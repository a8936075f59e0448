import numpy as np
import pytest

from mockcheck.model.reading import LOAD_COMPONENTS, ReadingLoad


def load_of(**columns: list[float]) -> ReadingLoad:
    size = max(len(column) for column in columns.values())
    every = {name: np.array(columns.get(name, [0.0] * size)) for name in ("load", *LOAD_COMPONENTS)}
    return ReadingLoad(np.arange(size), **every)


def test_reasons_are_the_largest_parts_in_words() -> None:
    load = load_of(load=[0.5], accidentals=[0.2], notes=[0.3], rhythm=[0.1])
    assert load.reasons(0) == ("many notes", "accidentals")
    assert load.reasons(0, most=1) == ("many notes",)


def test_a_second_reason_has_to_weigh_something() -> None:
    assert load_of(load=[0.2], leaps=[0.2], notes=[0.05]).reasons(0) == ("leaps",)


def test_a_light_bar_still_has_its_first_reason_and_a_rest_none() -> None:
    load = load_of(load=[0.05, 0.0], notes=[0.05, 0.0])
    assert load.reasons(0) == ("many notes",)
    assert load.reasons(1) == ()


def test_columns_are_frozen_and_of_one_length() -> None:
    load = load_of(load=[0.5, 0.1])
    assert len(load) == 2
    assert load.component("load") is load.load
    with pytest.raises(ValueError, match="read-only"):
        load.load[0] = 1
    with pytest.raises(ValueError, match="differ in length"):
        ReadingLoad(np.arange(2), *(np.zeros(1) for _ in range(8)))


def test_every_part_of_the_load_has_words() -> None:
    for name in LOAD_COMPONENTS:
        assert load_of(load=[0.5], **{name: [0.5]}).reasons(0)
