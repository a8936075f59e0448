import numpy as np
import pytest

from mockcheck.model.intonation import Intonation


def test_columns_are_read_only_and_of_one_length() -> None:
    found = Intonation(*(np.zeros(3) for _ in range(4)))
    assert len(found) == 3
    with pytest.raises(ValueError, match="read-only"):
        found.level_cents[0] = 1
    with pytest.raises(ValueError, match="length"):
        Intonation(np.zeros(2), *(np.zeros(3) for _ in range(3)))
