import numpy as np

from mockcheck.infer.found_switches import found_switches, named_switches
from mockcheck.infer.unnamed_switches import UnnamedKey
from mockcheck.model.notes import concatenate_notes
from mockcheck.model.played import FoundSwitch
from mockcheck.model.score import ChannelCurves
from mockcheck.model.session import Switch
from tests.infer.tracks import Row, curve, line, notes_of, role_of, track_of

SCALE = [69, 71, 72, 74, 76, 74, 72, 71]
MUSIC = notes_of(*line(SCALE, 0.5, 1.1, begin_s=1.0), *line(SCALE, 0.5, 0.4, begin_s=5.0))


def key(pitch: int, is_held: bool = False) -> UnnamedKey:
    return UnnamedKey(pitch, 1, is_held, "pressed once", 0.9)


def found(
    *presses: Row, keys: tuple[UnnamedKey, ...], curves: ChannelCurves | None = None,
    switches: tuple[Switch, ...] = (),
) -> tuple[tuple[FoundSwitch, ...], list[int]]:  # fmt: skip
    track = track_of(MUSIC, {1: curves} if curves else None)
    switch, in_force = found_switches(MUSIC, notes_of(*presses), keys, track, role_of(), switches)
    return switch, in_force.tolist()


def named(*switches: Switch, curves: ChannelCurves | None = None) -> list[FoundSwitch]:
    pressed = notes_of((24, 0.9, 1.0), (24, 4.9, 5.0))
    both, _ = concatenate_notes([MUSIC, pressed])
    track = track_of(both, {1: curves} if curves else None)
    return list(named_switches(both, MUSIC, track, role_of(), switches))


def test_a_tapped_key_holds_until_the_next_and_says_what_follows() -> None:
    switches, in_force = found((24, 1.2, 1.3), (26, 4.9, 5.0), keys=(key(24), key(26)))
    assert in_force == [-1] + [0] * 7 + [1] * 8
    assert [item.follows for item in switches] == [
        "long connected notes follow",
        "short notes follow",
    ]
    assert [(item.pitch, item.is_held, item.articulation) for item in switches] == [
        (24, False, None),
        (26, False, None),
    ]


def test_a_held_key_holds_while_it_is_down_and_counts_before_a_tapped_one() -> None:
    _, in_force = found((24, 0.9, 1.0), (26, 4.9, 6.1), keys=(key(24), key(26, is_held=True)))
    assert in_force == [0] * 8 + [1] * 3 + [0] * 5


def test_a_key_counts_before_a_controller_and_the_controller_before_nothing() -> None:
    thrown = ChannelCurves({32: curve([(0.9, 5), (4.9, 60), (7.0, 5)])})
    switches, in_force = found((26, 4.9, 6.1), keys=(key(26, is_held=True),), curves=thrown)
    assert [(item.pitch, item.controller, item.low) for item in switches] == [
        (26, None, 0),
        (None, 32, 5),
        (None, 32, 60),
    ]
    assert in_force == [1] * 8 + [0] * 3 + [2] + [1] * 4


def test_what_the_brief_names_is_not_found_again() -> None:
    thrown = ChannelCurves({32: curve([(0.9, 5), (4.9, 60), (7.0, 5)])})
    switch = Switch("spiccato", controller=32, low=50, high=70)
    assert found(keys=(), curves=thrown, switches=(switch,)) == ((), [-1] * 16)


def test_nothing_found_is_in_force_nowhere() -> None:
    assert found(keys=()) == ((), [-1] * 16)


def test_switches_of_the_brief_are_certain_whatever_throws_them() -> None:
    curves = ChannelCurves(
        {32: curve([(0.5, 10), (1.0, 12), (4.9, 60), (6.0, 11)])},
        program=curve([(0.0, 45), (3.0, 40), (5.0, 45)], default=-1),
    )
    switches = named(
        Switch("legato", key=24),
        Switch("spiccato", controller=32, low=10, high=20),
        Switch("pizzicato", program=45),
        Switch("tremolo", channel=1),
        curves=curves,
    )
    assert [(item.articulation, item.presses) for item in switches] == [
        ("legato", 2),
        ("spiccato", 2),
        ("pizzicato", 2),
        ("tremolo", 1),
    ]
    assert all(item.confidence == 1 for item in switches)
    assert all(str(item.articulation) in item.evidence for item in switches)


def test_switches_of_the_brief_that_are_never_thrown_are_not_listed() -> None:
    assert named(Switch("legato", key=25), Switch("tremolo", controller=32, high=9)) == []


def test_a_key_with_two_meanings_is_one_switch() -> None:
    (both,) = named(Switch("legato", key=24), Switch("portamento", key=24, held=True))
    assert both.articulation == "legato and portamento"


def test_two_zones_of_one_controller_are_two_switches() -> None:
    curves = ChannelCurves({32: curve([(0.5, 10), (4.9, 60)])})
    low = Switch("legato", controller=32, low=0, high=20)
    high = Switch("spiccato", controller=32, low=50, high=70)
    assert [(item.low, item.high) for item in named(low, high, curves=curves)] == [
        (0, 20),
        (50, 70),
    ]
    assert np.all([item.pitch is None for item in named(low, high, curves=curves)])
