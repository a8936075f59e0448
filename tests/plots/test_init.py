import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from mockcheck.plots import page_name, save_plots
from tests.report.synthetic import BAR, VIOLIN, part_of, review_of, studio_review


def test_the_overview_and_every_reviewed_track_are_written(tmp_path: Path) -> None:
    written = save_plots(studio_review(), tmp_path / "plots", formats=("png", "svg"))
    names = ["overview", "00-violin-1", "01-violin-2", "02-viola", "03-cello"]
    assert [path.name for path in written] == [f"{n}.{k}" for n in names for k in ("png", "svg")]
    assert sorted(written) == sorted((tmp_path / "plots").iterdir())
    with Image.open(written[0]) as picture:
        assert round(picture.info["dpi"][0]) == 150
    assert b"<svg" in written[1].read_bytes()


def test_the_same_review_gives_the_same_files(tmp_path: Path) -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, BAR)])
    first, second = (
        save_plots(review_of([part]), tmp_path / name, ("png", "svg")) for name in ("a", "b")
    )
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]


@pytest.mark.parametrize(
    ("part", "name"),
    [
        ("Violin 1", "07-violin-1"),
        ("../../etc/passwd", "07-etc-passwd"),
        ("Violín / Ö", "07-violin-o"),
        ("ヴァイオリン", "07"),
        ("con", "07-con"),
        ("x" * 300, f"07-{'x' * 40}"),
        ("", "07"),
    ],
)
def test_a_file_name_is_plain_whatever_the_part_is_called(part: str, name: str) -> None:
    assert page_name(7, part) == name


def test_parts_of_one_name_never_share_a_file() -> None:
    assert len({page_name(row, "Violin") for row in range(200)}) == 200


def test_neither_layout_nor_text_report_loads_the_drawing_library() -> None:
    code = (
        "import sys; from tests.report.synthetic import studio_review;"
        "from mockcheck.plots.overview import layout_overview;"
        "from mockcheck.plots.track import layout_track;"
        "from mockcheck.report.terminal import render_terminal;"
        "from mockcheck.report.review_json import render_json;"
        "import mockcheck.report.tables;"
        "r = studio_review(); layout_overview(r); layout_track(r, 0);"
        "render_terminal(r, False); render_json(r);"
        "assert not {'matplotlib', 'pandas'} & set(sys.modules), 'loaded'"
    )
    root = Path(__file__).parent.parent.parent
    subprocess.run([sys.executable, "-c", code], check=True, cwd=root)
