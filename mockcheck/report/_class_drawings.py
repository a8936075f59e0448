"""Small drawings of the sheet: the findings along a piece, and the points of the class."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from mockcheck.grade.points import Grade
from mockcheck.model.words import count_of
from mockcheck.report._page_svg import drawing, px, tag, words

_SPARK_COLUMNS = 24
_SPARK_WIDTH, _SPARK_HEIGHT = 120.0, 24.0
_FULL_WEIGHT = 12.0
"""Weight of findings at which a column is full: two impossible places of the rubric's scale."""
_WEIGHTS = {1: 0.5, 2: 2.0, 3: 4.0, 4: 6.0}
_BAR_WIDTH, _BAR_GAP, _HEIGHT = 44.0, 6.0, 120.0
_TOP, _BOTTOM = 18.0, 20.0


def findings_along(grade: Grade) -> Markup:
    """How the findings lie along the pieces, worse ones higher; all sheets share one scale."""
    seconds = grade.submission.seconds
    heights = [0.0] * _SPARK_COLUMNS
    starts: dict[str, float] = {}
    before = 0.0
    for piece in grade.submission.pieces:
        first_s = min((float(part.onset_s[0]) for part in piece.music.parts), default=0.0)
        starts[piece.name] = before - first_s
        before += piece.music.seconds
    for charge in grade.charges:
        finding = charge.mark.finding
        at_s = finding.start.time_s + starts[charge.mark.piece]
        column = int(at_s / seconds * _SPARK_COLUMNS) if seconds > 0 else 0
        heights[min(max(column, 0), _SPARK_COLUMNS - 1)] += _WEIGHTS[int(finding.severity)]
    width = _SPARK_WIDTH / _SPARK_COLUMNS
    floor = _SPARK_HEIGHT - 1
    bars = "".join(
        f"M{px(row * width)} {px(floor)}v{px(-floor * min(height / _FULL_WEIGHT, 1))}"
        f"h{px(width - 1)}V{px(floor)}z"
        for row, height in enumerate(heights)
        if height
    )
    base = tag("path", d=f"M0 {px(floor + 0.5)}H{px(_SPARK_WIDTH)}", class_="spark-base")
    label = f"{count_of(len(grade.charges), 'finding')} along the piece"
    inside = [base, tag("path", d=bars, class_="spark")] if bars else [base]
    return drawing(_SPARK_WIDTH, _SPARK_HEIGHT, inside, label)


def histogram(columns: Sequence[int], total: float) -> Markup:
    """Students by points, in columns of equal width from 0 to the total."""
    width = len(columns) * (_BAR_WIDTH + _BAR_GAP) + _BAR_GAP
    floor = _TOP + _HEIGHT
    most = max([*columns, 1])
    inside, told = [], []
    for row, number in enumerate(columns):
        left = _BAR_GAP + row * (_BAR_WIDTH + _BAR_GAP)
        low, high = row * total / len(columns), (row + 1) * total / len(columns)
        inside.append(words(f"{low:g}", left, floor + 14, class_="tick-left"))
        if number:
            height = _HEIGHT * number / most
            inside.append(
                tag("rect", x=left, y=floor - height, width=_BAR_WIDTH, height=height,
                    class_="hist")
            )  # fmt: skip
            middle = left + _BAR_WIDTH / 2
            inside.append(words(f"{number}", middle, floor - height - 5, text_anchor="middle"))
            told.append(f"{number} from {low:g} to {high:g}")
    inside.append(words(f"{total:g}", width, floor + 14, text_anchor="end"))
    inside.append(tag("path", d=f"M0 {px(floor)}H{px(width)}", class_="hist-base"))
    label = f"Students by points: {', '.join(told)}"
    return drawing(width, floor + _BOTTOM, inside, label)
