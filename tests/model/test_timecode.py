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


@pytest.mark.parametrize("wrong", ["00:61:00:00", "00:00:60:00", "00:00:00:30", "00:01:00;00"])
def test_numbers_that_do_not_exist_are_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match=wrong):
        frame_number(wrong, DROP)


@given(st.integers(0, 24 * 3600 * 24 - 1), st.sampled_from(list(FRAME_RATES)))
def test_every_frame_reads_back_as_itself(frame: int, name: str) -> None:
    rate = FRAME_RATES[name]
    assert frame_number(timecode_of_frame(frame, rate), rate) == frame


def test_locations_carry_timecode_when_the_brief_names_a_frame_rate() -> None:
    session = Session(frame_rate="25", start_timecode="10:00:00:00")
    part = played("violin 4/4 q=60 | A4:4 | B4:4 |", session=session).parts[0]
    assert part.locate_onset(1920).timecode == "10:00:04:00"
    plain = played("violin 4/4 q=60 | A4:4 |").parts[0]
    assert plain.locate_onset(0).timecode is None
