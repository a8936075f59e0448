from pathlib import Path

from click.testing import CliRunner

import mockcheck
from mockcheck.cli.brief import command
from mockcheck.config import read_brief
from tests.phrases import midi_bytes


def test_the_starter_brief_is_valid_and_gives_the_same_findings(tmp_path: Path) -> None:
    path = tmp_path / "mockup.mid"
    path.write_bytes(
        midi_bytes(
            "Violin 1 spicc 4/4 q=100 | A4:2 F3:2 |", "Flute 4/4 | A5:4 |", "Vc 4/4 | C3:4 |"
        )
    )
    result = CliRunner().invoke(command, [str(path)])
    assert result.exit_code == 0
    brief = tmp_path / "brief.toml"
    brief.write_text(result.output)
    values = read_brief(brief)
    assert values["players"]["Violin 1"] >= 1
    before, after = mockcheck.review(path), mockcheck.review(path, brief)
    assert [f.id for f in after.findings] == [f.id for f in before.findings]
    assert [t.left_out is None for t in after.tracks] == [t.left_out is None for t in before.tracks]


def test_a_hostile_track_name_stays_inside_its_comment(tmp_path: Path) -> None:
    path = tmp_path / "mockup.mid"
    path.write_bytes(midi_bytes('Violin "1"\n[players]\nx\t 4/4 q=100 | A4:4 |'))
    result = CliRunner().invoke(command, [str(path)])
    brief = tmp_path / "brief.toml"
    brief.write_text(result.output)
    mockcheck.review(path, brief)
    assert list(read_brief(brief)) == ["level", "style", "middle_c", "players", "tracks"]
