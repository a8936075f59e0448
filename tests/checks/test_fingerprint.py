from mockcheck.checks._fingerprint import fingerprint
from mockcheck.model.identity import FindingId
from tests.phrases import phrase

TUNE = "violin 4/4 q=100 | A4:1 B4:1 C5:1 D5:1 | E5:1 F5:1 D5:1 C5:1 | B4:1 A4:1 B4:1 C5:1 |"
ROWS = [4, 5]


def named(text: str, rows: list[int] | None = None) -> FindingId:
    return fingerprint("run-too-fast", phrase(text), rows or ROWS)


def test_tempo_velocity_and_bars_further_away_change_nothing() -> None:
    assert named(TUNE.replace("q=100", "q=173")) == named(TUNE)
    assert named(TUNE.replace("| A4", "| v33 A4", 1)) == named(TUNE)
    later = TUNE.replace("|", "| G4:4 | r:4 |", 1)
    assert named(later, [row + 1 for row in ROWS]) == named(TUNE)


def test_pitch_rhythm_and_length_are_the_music() -> None:
    music = named(TUNE).music
    assert named(TUNE.replace("F5:1", "G5:1")).music != music
    assert named(TUNE.replace("E5:1 F5:1 D5:1", "E5:1/2 F5:3/2 D5:1")).music != music
    assert named(TUNE.replace("F5:1 D5:1 C5:1", "F5:2 C5:1")).music != music


def test_each_side_and_the_part_stand_for_themselves() -> None:
    here = named(TUNE)
    before = named(TUNE.replace("C5:1 D5:1 | E5", "C5:1 C5:1 | E5"))
    after = named(TUNE.replace("F5:1 D5:1", "F5:1 E5:1"))
    renamed = named(TUNE.replace("violin", "violin 2"))
    assert (before.music, before.before == here.before, before.after) == (
        here.music,
        False,
        here.after,
    )
    assert (after.music, after.before, after.after == here.after) == (
        here.music,
        here.before,
        False,
    )
    assert (renamed.music, renamed.part == here.part) == (here.music, False)
