"""What goes wrong in a spot, at which clicks it is practised and who waits, in plain words."""

from __future__ import annotations

import re
from collections.abc import Sequence

from mockcheck.model.finding import Finding
from mockcheck.model.session_time import SessionTime
from mockcheck.model.time import Timeline
from mockcheck.model.words import bars_words, last_bar, place_words, printable, shortened
from mockcheck.plan.heavy_bars import HeavyBar
from mockcheck.plan.ladders import Ladder
from mockcheck.plan.minutes import Cue
from mockcheck.plan.rehearsal import Exercise
from mockcheck.plan.spots import Spot, SpotPart
from mockcheck.plan.to_read import PartToRead

HEADPHONES = (
    "A click in headphones: begin quietly, raise it no further than needed and take breaks. Loud"
    " clicks over hours can harm hearing; ask a hearing specialist or the studio's own rules about"
    " levels."
)
ANCHOR = (
    "An estimate, not a promise. In the trade three to five finished minutes an hour count as safe,"
    " five to six with fast players and well prepared parts."
)
TO_READ = "To look through before playing: much to read, though nothing is too fast"
_SHARES = {0.5: "half", 0.75: "three quarters", 0.875: "seven eighths", 1.0: "as written"}
_CLAUSE = re.compile(r"[:;] ")
_MOST_FINDINGS = 3
_MOST_NAMES = 8
_MOST_BARS = 6


def share_words(share: float) -> str:
    """'half', 'seven eighths', 'as written'."""
    return _SHARES.get(share, f"{share:.0%}")


def spot_bars(spot: Spot) -> str:
    """'bar 26', 'bars 27-29'."""
    return bars_words(range(spot.first_bar_index + 1, spot.last_bar_index + 2))


def name_words(name: str, longest: int | None = None) -> str:
    """A section's name in one line, cut to a length if one is given."""
    told = printable(name)
    return told if longest is None else shortened(told, longest)


def names_words(names: Sequence[str], longest: int | None = None) -> str:
    """Names of sections, of many only the first."""
    told = [name_words(name, longest) for name in names[:_MOST_NAMES]]
    more = [f"{len(names) - _MOST_NAMES} more"] if len(names) > _MOST_NAMES else []
    return ", ".join([*told, *more])


def waiting_words(exercise: Exercise, longest: int | None = None) -> str:
    """Who has nothing to do meanwhile."""
    waiting = exercise.waiting
    return f"waiting: {names_words(waiting, longest)}" if waiting else "nobody waits"


def clicks_words(ladder: Ladder) -> str:
    """'quarter = 62, 94, 109, 125'."""
    tempos = ", ".join(f"{rung.click_bpm:.0f}" for rung in ladder.rungs)
    return f"{ladder.beat} = {tempos}{' at its beginning' if ladder.tempos_change else ''}"


def seconds_words(ladder: Ladder) -> str:
    """'19 + 13 + 11 + 10 s'."""
    return f"{' + '.join(f'{rung.seconds:.0f}' for rung in ladder.rungs)} s"


def troubles(part: SpotPart, *, briefly: bool = False) -> list[str]:
    """What goes wrong for one section, worst first, one line each; `briefly` without the cause."""
    lines = [finding_words(f, briefly=briefly) for f in part.findings[:_MOST_FINDINGS]]
    if len(part.findings) > _MOST_FINDINGS:
        lines.append(f"{len(part.findings) - _MOST_FINDINGS} more places that are too fast")
    # Where something is too fast, that is what makes the bar heavy.
    told = {
        bar
        for f in part.findings
        for bar in range(f.start.bar or 0, (last_bar(f.start, f.end) or 0) + 1)
    }
    heavy = [bar for bar in part.heavy if bar.bar_index + 1 not in told]
    if heavy:
        lines.append(f"{_bars_of(heavy)}: much to read ({_reasons(heavy)})")
    return lines


def reading_words(row: PartToRead, longest: int | None = None) -> str:
    """Who looks through which bars, and what makes them much to read."""
    return f"{name_words(row.part, longest)}, {_bars_of(row.bars)}: {_reasons(row.bars)}"


def _bars_of(heavy: Sequence[HeavyBar]) -> str:
    return bars_words((bar.bar_index + 1 for bar in heavy), _MOST_BARS)


def _reasons(heavy: Sequence[HeavyBar]) -> str:
    """The two reasons named first, those of the heaviest bar before others."""
    by_load = sorted(heavy, key=lambda bar: -bar.load)
    return ", ".join(list(dict.fromkeys(reason for bar in by_load for reason in bar.reasons))[:2])


def finding_words(finding: Finding, *, briefly: bool = False) -> str:
    """Where, and what the review says of it; `briefly` its first clause only."""
    message = printable(finding.message)
    if briefly:
        message = _CLAUSE.split(message)[0].rstrip(".")
    return f"{place_words(finding.start, finding.end)}: {message}"


def grouped_changes(findings: Sequence[Finding], longest: int | None = None) -> list[str]:
    """What is to be changed, the same trouble of a section once with all its bars."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.part, finding.check), []).append(finding)
    lines = []
    for (part, _), own in groups.items():
        bars = bars_words((f.start.bar for f in own if f.start.bar is not None), _MOST_BARS)
        among = "" if len(own) == 1 else f" (the first of {len(own)})"
        lines.append(f"{name_words(part, longest)}, {bars}: {printable(own[0].message)}{among}")
    return lines


def limits_words(spot: Spot, timeline: Timeline) -> str | None:
    """What practice cannot do here; None where it can."""
    bpm = timeline.tempo.bpm_at(spot.start_ticks)
    if bpm is None or spot.headroom >= 1:
        return None
    goes = f"read at sight it goes up to quarter = {int(spot.headroom * bpm)}"
    if spot.is_hopeless:
        return f"Too fast even for a soloist; {goes}. Change it, or expect its shape only."
    return f"{goes[0].upper()}{goes[1:]}; written {bpm:.0f}."


def minutes_words(seconds: float) -> str:
    """'16 min', '1 h 20 min'."""
    minutes = round(seconds / 60)
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{minutes} min"


def length_words(seconds: float) -> str:
    """'1 min 40 s', '55 s'."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


def estimate_words(cue: Cue) -> str:
    """Minutes as a range, and what that makes of a studio hour."""
    own = cue.estimate
    slow, usual, quick = (cue.per_hour(s) for s in (own.slow_s, own.usual_s, own.quick_s))
    return (
        f"{minutes_words(own.quick_s)} to {minutes_words(own.slow_s)}, as a rule"
        f" {minutes_words(own.usual_s)}, for {length_words(cue.demands.music_s)} of music:"
        f" {slow:.1f} to {quick:.1f} finished minutes in a studio hour, as a rule {usual:.1f}"
    )


def assumed_words(assumed: SessionTime) -> str:
    """What the estimate rests on; every number of it can be changed."""
    a = assumed
    return (
        f"Assumed: once through at {a.read_through:g} times its length; {a.takes_quick:g} to"
        f" {a.takes_slow:g} takes, as a rule {a.takes_usual:g}, with {a.reset_s:g} s between;"
        f" {a.talk_s:g} s of talk, {a.spot_talk_s:g} s more for each spot;"
        f" {a.slips_in_heaviest_bar:g} repairs of {a.repair_s:g} s in a bar of reading load 1,"
        f" {a.slips_quick:g} to {a.slips_slow:g} times as many; a take heard back"
        f" ({a.listen_back:g} times its length); {a.set_up_min:g} min of set-up; {a.hour_min:g} min"
        f" of playing, then {a.break_min:g} of rest. [session_time] in the brief changes each."
    )
