import xml.etree.ElementTree as ET
from pathlib import Path

import mockcheck
from mockcheck.export.spots import spots
from mockcheck.model.finding import Severity
from tests.notation.test_musicxml import assert_valid
from tests.phrases import midi_bytes

RUN = " ".join(
    f"{name}:1/8" for name in "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 F#5 G5 A5 B5 C#6 D6 E6".split() * 2
)
MUSIC = (
    f"violin 4/4 q=180 players=8 | D4:4 | {RUN} | D4:4 |",
    "viola 4/4 q=180 players=6 | C4:4 | C4:4 | B2:4 |",
)


def test_each_finding_above_a_remark_has_its_bars(tmp_path: Path) -> None:
    path = tmp_path / "music.mid"
    path.write_bytes(midi_bytes(*MUSIC))
    review = mockcheck.review(path)
    found = dict(spots(review))
    told = [f for f in review.findings if f.severity is not Severity.REMARK]
    assert len(found) == len(told) >= 2
    for name, document in found.items():
        assert_valid(document)
        assert name.startswith("bar-")
    (run,) = [document for name, document in found.items() if "run-too-fast" in name]
    root = ET.fromstring(run)
    assert [measure.get("number") for measure in root.iter("measure")] == ["2"]
    assert len(list(root.iter("fingering"))) >= 16
    (low,) = [document for name, document in found.items() if "note-below" in name]
    assert not list(ET.fromstring(low).iter("fingering"))
    assert "Viola, bar 3" in (ET.fromstring(low).findtext(".//work-title") or low)
