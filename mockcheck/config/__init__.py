"""What users write in TOML, validated with every fault at once."""

from mockcheck.config.brief import (
    BriefTable,
    SwitchTable,
    TrackTable,
    read_brief,
    session_from_brief,
    session_from_file,
)
from mockcheck.config.effective import effective_values

__all__ = [
    "BriefTable",
    "SwitchTable",
    "TrackTable",
    "effective_values",
    "read_brief",
    "session_from_brief",
    "session_from_file",
]
