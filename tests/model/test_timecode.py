import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.session import Session
from mockcheck.model.timecode import FRAME_RATES, frame_number, timecode_at, timecode_of_frame
from tests.phrases import played

DROP = FRAME_RATES["29.97 drop"]

# SMPTE ST 12-1, drop-frame counting: ten minutes are 17,982 frames, an hour 107,892.


def test_drop_frame_identities() -> None:
    assert frame_number("00:10:00;00", DROP) == 17_982
    assert frame_number("01:00:00;00", DROP) == 107_892
    assert timecode_of_frame(107_892, DROP) == "01:00:00;00"
    assert timecode_of_frame(1799, DROP) == "00:00:59;29"
    assert timecode_of_frame(1800, DROP) == "00:01:00;02"
    assert timecode_of_frame(17_981, DROP) == "00:09:59;29"
    assert timecode_of_frame(17_982, DROP) == "00:10:00;00"


def test_drop_frame_keeps_up_with_the_clock_and_non_drop_falls_behind() -> None:
    assert timecode_at(3599.99, "29.97 drop", None) == "00:59:59;29"
    assert timecode_at(3600, "29.97 drop", None) == "01:00:00;00"
    assert timecode_at(3600, "29.97", None) == "00:59:56:12"


def test_film_and_television_rates() -> None:
    assert timecode_at(1.5, "25", "01:00:00:00") == "01:00:01:12"
    assert timecode_at(1.5, "24", None) == "00:00:01:12"
    assert timecode_at(1001 / 1000, "23.976", None) == "00:00:01:00"
    assert timecode_at(0.5, "30", "23:59:59:20") == "00:00:00:05"


@pytest.mark.parametrize("minute", range(60))
def test_each_minute_but_every_tenth_leaves_two_numbers_out(minute: int) -> None:
    last = frame_number(f"00:{minute:02d}:59;29", DROP)
    after = timecode_of_frame(last + 1, DROP)
    hour, beginning = divmod(minute + 1, 60)
    first = "00" if (minute + 1) % 10 == 0 else "02"
    assert after == f"{hour:02d}:{beginning:02d}:00;{first}"


def test_ten_minutes_never_drop_and_an_hour_drops_108_numbers() -> None:
    assert [frame_number(f"00:{tens}0:00;00", DROP) for tens in range(6)] == [
        17_982 * tens for tens in range(6)
    ]
    assert frame_number("01:00:00:00", FRAME_RATES["29.97"]) - 107_892 == 108
    assert frame_number("23:59:59;29", DROP) + 1 == 24 * 107_892 == 2_589_408


def test_a_day_of_drop_frame_is_off_by_less_than_three_frames() -> None:
    # SMPTE ST 12-1: what is left is about 86 ms a day.
    day = 24 * 107_892 / DROP.per_second
    assert float(24 * 3600 - day) == pytest.approx(0.0864, abs=1e-4)
    assert timecode_at(24 * 3600, "29.97 drop", None) == "00:00:00;02"


@pytest.mark.parametrize(
    "wrong", ["24:00:00:00", "00:61:00:00", "00:00:60:00", "00:00:00:30", "00:01:00;00"]
)
def test_numbers_that_do_not_exist_are_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match=wrong):
        frame_number(wrong, DROP)


def frames_of_a_day(name: str) -> int:
    rate = FRAME_RATES[name]
    return frame_number(f"23:59:59:{rate.nominal - 1:02d}", rate) + 1


RATE_AND_FRAME = st.sampled_from(list(FRAME_RATES)).flatmap(
    lambda name: st.tuples(st.just(name), st.integers(0, frames_of_a_day(name) - 1))
)


@given(RATE_AND_FRAME)
def test_every_frame_of_a_day_reads_back_as_itself(case: tuple[str, int]) -> None:
    name, frame = case
    rate = FRAME_RATES[name]
    timecode = timecode_of_frame(frame, rate)
    assert frame_number(timecode, rate) == frame
    assert timecode_of_frame(frame + frames_of_a_day(name), rate) == timecode


@given(RATE_AND_FRAME)
def test_the_second_at_which_a_frame_begins_shows_that_frame(case: tuple[str, int]) -> None:
    name, frame = case
    rate = FRAME_RATES[name]
    begins_s = float(frame / rate.per_second)
    assert timecode_at(begins_s, name, None) == timecode_of_frame(frame, rate)
    just_before = float((frame + 1) / rate.per_second) - 1e-4
    assert timecode_at(just_before, name, None) == timecode_of_frame(frame, rate)


@given(RATE_AND_FRAME, st.integers(0, 3600 * 24))
def test_a_start_shifts_every_timecode_by_its_frames(case: tuple[str, int], passed: int) -> None:
    name, first = case
    rate = FRAME_RATES[name]
    start = timecode_of_frame(first, rate)
    at = timecode_at(float(passed / rate.per_second), name, start)
    assert at == timecode_of_frame(first + passed, rate)


def test_locations_carry_timecode_when_the_brief_names_a_frame_rate() -> None:
    session = Session(frame_rate="25", start_timecode="10:00:00:00")
    part = played("violin 4/4 q=60 | A4:4 | B4:4 |", session=session).parts[0]
    assert part.locate_onset(1920).timecode == "10:00:04:00"
    plain = played("violin 4/4 q=60 | A4:4 |").parts[0]
    assert plain.locate_onset(0).timecode is None
