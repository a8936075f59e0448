"""Seconds as hours, minutes, seconds and frames, for a spotting sheet.

Source: SMPTE ST 12-1: at 29.97 frames a second drop-frame counting leaves out the numbers 00 and
01 of every minute except each tenth, so that the count keeps up with the clock; no frame is lost.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

_DROPPED = 2
_HOURS_A_DAY = 24


@dataclass(frozen=True)
class FrameRate:
    """Frames a second, the number it counts to in a second, and whether it drops numbers."""

    per_second: Fraction
    nominal: int
    is_drop: bool = False


FRAME_RATES = {
    "23.976": FrameRate(Fraction(24000, 1001), 24),
    "24": FrameRate(Fraction(24), 24),
    "25": FrameRate(Fraction(25), 25),
    "29.97": FrameRate(Fraction(30000, 1001), 30),
    "29.97 drop": FrameRate(Fraction(30000, 1001), 30, is_drop=True),
    "30": FrameRate(Fraction(30), 30),
}


def frame_number(timecode: str, rate: FrameRate) -> int:
    """Frames since 00:00:00:00 of a timecode 'hh:mm:ss:ff' (or ';' before the frames).

    Raises ValueError for hours, minutes, seconds or frames that do not exist at this rate.
    """
    hours, minutes, seconds, frames = (int(part) for part in timecode.replace(";", ":").split(":"))
    if hours >= _HOURS_A_DAY or minutes > 59 or seconds > 59 or frames >= rate.nominal:
        message = (
            f"{timecode}: hours end at 23, minutes and seconds at 59, frames at {rate.nominal - 1}"
        )
        raise ValueError(message)
    if rate.is_drop and frames < _DROPPED and seconds == 0 and minutes % 10:
        message = f"{timecode}: drop-frame counting leaves this number out"
        raise ValueError(message)
    counted = rate.nominal * (3600 * hours + 60 * minutes + seconds) + frames
    if not rate.is_drop:
        return counted
    whole_minutes = 60 * hours + minutes
    return counted - _DROPPED * (whole_minutes - whole_minutes // 10)


def timecode_of_frame(frame: int, rate: FrameRate) -> str:
    """The timecode of a frame; a day later it begins again."""
    if rate.is_drop:
        frame += _dropped_before(frame, rate)
    seconds, frames = divmod(frame, rate.nominal)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    mark = ";" if rate.is_drop else ":"
    return f"{hours % _HOURS_A_DAY:02d}:{minutes:02d}:{seconds:02d}{mark}{frames:02d}"


def _dropped_before(frame: int, rate: FrameRate) -> int:
    minute = 60 * rate.nominal - _DROPPED
    ten_minutes = 10 * minute + _DROPPED
    tens, rest = divmod(frame, ten_minutes)
    # The first minute of ten is whole; each later one begins two numbers late.
    later = max(0, (rest - _DROPPED) // minute)
    return _DROPPED * (9 * tens + later)


def timecode_at(time_s: float, rate_name: str, start: str | None) -> str:
    """Timecode of a second of the music, counted from `start` ('00:00:00:00' when None)."""
    rate = FRAME_RATES[rate_name]
    # A rounding error of the tempo map must not show the frame before.
    passed = int(Fraction(time_s) * rate.per_second + Fraction(1, 10**6))
    first = frame_number(start, rate) if start is not None else 0
    return timecode_of_frame(first + passed, rate)
