"""How many switches are found without being told, and what else is taken for one."""

from __future__ import annotations

from collections import Counter

from mockcheck.model.played import FoundSwitch
from tests.listening.figures import Found
from tests.listening.hearing import Hearing, chunk_of_rows
from tests.listening.truth import Trigger

_NONE = -1


def triggers_of(switch: FoundSwitch) -> set[tuple[str, int]]:
    """Kind and number of what a found switch is thrown by."""
    kinds = {
        "key": switch.pitch,
        "controller": switch.controller,
        "program": switch.program,
        "channel": switch.channel,
    }
    return {(kind, number) for kind, number in kinds.items() if number is not None}


def switches_found(hearing: Hearing) -> Found:
    """Switches of all kinds, one for each key, value zone, program or channel of a track.

    A controller zone is right when it holds one true value and no other of that controller.
    """
    true: dict[tuple[int, str, int], list[int]] = {}
    for switch in hearing.rendering.switches:
        kind, number, value = switch.trigger
        true.setdefault((switch.track, kind, number), []).append(value)
    result = Found(true=len(hearing.rendering.switches))
    seen: set[tuple[int, Trigger]] = set()
    for part in hearing.played.parts:
        chunk = chunk_of_rows(part)
        for heard in part.switches:
            for kind, number in triggers_of(heard):
                result.claimed += 1
                values = true.get((chunk[heard.track], kind, number), [])
                inside = [v for v in values if v == _NONE or heard.low <= v <= heard.high]
                if len(inside) == 1:
                    key = (chunk[heard.track], (kind, number, inside[0]))
                    result.right += key not in seen
                    seen.add(key)
    return result


def presses_found(hearing: Hearing) -> Found:
    """Key presses taken out of the music: switches found, and notes lost with them."""
    kinds = Counter(switch.trigger[0] for switch in hearing.rendering.switches)
    true = sum(s.presses for s in hearing.rendering.switches if s.trigger[0] == "key")
    lost = sum(note.articulation is None for note in hearing.notes)
    taken = true - hearing.extra if kinds["key"] else 0
    return Found(true=true, claimed=taken + lost, right=taken)
