"""What a recording session spends its minutes on, as numbers that a brief may change."""

from __future__ import annotations

from pydantic import model_validator

from mockcheck.params import Params, quantity

_PROPOSED = "proposal of this project, set so that a plain cue of four minutes makes 8 to 10" \
    " finished minutes an hour and a dense fast one 2.5 to 3; no source"  # fmt: skip


class SessionTime(Params):
    """`[session_time]` of the brief: what is assumed about takes, talk and slips."""

    read_through: float = quantity(
        1.2,
        unit="times the length of the cue",
        low=0,
        high=5,
        meaning="playing it once from end to end, with a stop or two",
        source="proposal, no published model found",
    )
    takes_quick: float = quantity(
        2, unit="takes", low=1, high=20, meaning="whole takes if all goes well: one and a safety"
    )
    takes_usual: float = quantity(3, unit="takes", low=1, high=20, meaning="whole takes as a rule")
    takes_slow: float = quantity(
        5, unit="takes", low=1, high=20, meaning="whole takes if it goes slowly"
    )
    reset_s: float = quantity(
        25, unit="s", low=0, high=600, meaning="from the end of a take to the next count-in"
    )
    listen_back: float = quantity(
        1, unit="times the length of the cue", low=0, high=10, meaning="hearing a take played back"
    )
    talk_s: float = quantity(
        90, unit="s", low=0, high=3600, meaning="parts out, notes and questions before a cue"
    )
    spot_talk_s: float = quantity(
        20, unit="s", low=0, high=600, meaning="saying where and how, for each spot rehearsed alone"
    )
    slips_in_heaviest_bar: float = quantity(
        0.15,
        unit="repairs",
        low=0,
        high=10,
        meaning="repairs that a bar of reading load 1 costs; they grow with the square of the"
        " load. Faster players: fewer",
        source=_PROPOSED,
    )
    slips_quick: float = quantity(
        0.5, unit="times as many", low=0, high=1, meaning="repairs if all goes well",
        source=_PROPOSED,
    )  # fmt: skip
    slips_slow: float = quantity(
        2, unit="times as many", low=1, high=10, meaning="repairs if it goes slowly",
        source=_PROPOSED,
    )  # fmt: skip
    repair_s: float = quantity(
        45, unit="s", low=0, high=600, meaning="a few bars once more, with count-in and reset"
    )
    hour_min: float = quantity(
        50, unit="min", low=10, high=240, meaning="playing before a break is due"
    )
    break_min: float = quantity(10, unit="min", low=0, high=120, meaning="length of a break")
    set_up_min: float = quantity(
        10, unit="min", low=0, high=240, meaning="tuning and balance before the first cue"
    )

    @model_validator(mode="after")
    def _takes_rise(self) -> SessionTime:
        if not self.takes_quick <= self.takes_usual <= self.takes_slow:
            message = "takes_quick, takes_usual and takes_slow must not fall in this order"
            raise ValueError(message)
        return self
