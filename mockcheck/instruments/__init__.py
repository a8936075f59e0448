"""What is known of the bowed strings, as data: a TOML file each, and a source for each number."""

from __future__ import annotations

from functools import cache

from mockcheck.instruments._load import Naming, Vocabulary, load_instruments, load_vocabulary
from mockcheck.model.instrument import Instrument

__all__ = ["Naming", "Vocabulary", "instrument", "instrument_ids", "vocabulary"]

_load_once = cache(load_instruments)
_load_words_once = cache(load_vocabulary)


def instrument_ids() -> tuple[str, ...]:
    """The instruments there are, violin first, the full ensemble last."""
    return tuple(_load_once())


def instrument(instrument_id: str) -> Instrument:
    """One instrument by its id, as in 'double bass C extension'.

    Raises KeyError, with the ids there are in its text, for any other.
    """
    known = _load_once()
    if instrument_id not in known:
        message = f"no instrument '{instrument_id}'; there are {', '.join(known)}"
        raise KeyError(message)
    return known[instrument_id]


def vocabulary() -> Vocabulary:
    """What players, tracks and programs are called."""
    return _load_words_once()
