from mockcheck.playing.times import MotionTimes, effort_for, uncertain_times

TIMES = MotionTimes()


def test_fastest_strokes_agree_with_what_was_measured() -> None:
    # Score-to-recording alignments: counted tremolo up to 15.6 a second. Press reports of the
    # speed record on the violin: 13 to 14.3 separate notes a second.
    assert abs(1 / TIMES.repeated_s - 15.6) < 0.2
    assert 13 <= 1 / TIMES.separate_s <= 14.3


def test_heavier_instruments_need_more_force() -> None:
    efforts = [effort_for(length) for length in (328.0, 375.0, 690.0, 1060.0)]
    assert [effort.finger for effort in efforts] == sorted(effort.finger for effort in efforts)
    assert efforts[0].bow == efforts[0].finger == 1
    assert efforts[3].bow > efforts[2].bow > 1


def test_uncertain_times_lie_on_both_sides() -> None:
    least, most = uncertain_times(TIMES)
    for name in MotionTimes.model_fields:
        if name.endswith("_s"):
            assert getattr(least, name) <= getattr(TIMES, name) <= getattr(most, name)
    assert least.shift_s < TIMES.shift_s < most.shift_s
