"""What users write in TOML, validated with every fault at once."""

from mockcheck.config.brief import (
    BriefTable,
    SwitchTable,
    TrackTable,
    effective_values,
    read_brief,
    session_from_brief,
)

__all__ = [
    "BriefTable",
    "SwitchTable",
    "TrackTable",
    "effective_values",
    "read_brief",
    "session_from_brief",
]
