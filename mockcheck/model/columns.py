"""Tables as equally long, read-only numpy columns."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray


def freeze_columns(table: object) -> None:
    """Make every array field of a dataclass read-only and require one common length.

    Raises ValueError when two columns differ in length.
    """
    lengths = {}
    for field in fields(table):  # type: ignore[arg-type]  # any dataclass instance will do
        column = getattr(table, field.name)
        if isinstance(column, np.ndarray):
            column.flags.writeable = False
            lengths[field.name] = len(column)
    if len(set(lengths.values())) > 1:
        message = f"columns of {type(table).__name__} differ in length: {lengths}"
        raise ValueError(message)


def stretches(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Each unbroken run of True as (first row, row after the last)."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return [(int(first), int(after)) for first, after in edges.reshape(-1, 2)]
