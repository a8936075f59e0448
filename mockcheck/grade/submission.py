"""What one student handed in: the reviews of all their files, counted together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from mockcheck.grade.music import PieceMusic
from mockcheck.model.finding import Finding, Outcome
from mockcheck.model.record import ReviewRecord


@dataclass(frozen=True)
class Piece:
    """One file: the record of its review, and its notes."""

    name: str
    record: ReviewRecord
    music: PieceMusic


@dataclass(frozen=True)
class Mark:
    """A finding, the file it is in, and the share of that file's length which it spans, 0-1."""

    piece: str
    finding: Finding
    span: float = 0.0


@dataclass(frozen=True)
class Submission:
    """The files of one student that could be read, as one piece of work.

    Lengths are added and findings stand together, so a long file weighs more than a short one.
    """

    student: str
    pieces: tuple[Piece, ...]

    @property
    def played_bars(self) -> float:
        """Bars in which a part plays, over all parts and files."""
        return sum(piece.music.played_bars for piece in self.pieces)

    @property
    def bars(self) -> int | None:
        """Bars from first to last note, added up; None where a file has none."""
        spans = [piece.music.bars for piece in self.pieces]
        known = [span for span in spans if span is not None]
        return sum(known) if len(known) == len(spans) else None

    @property
    def seconds(self) -> float:
        """Length from first to last note, added up, s."""
        return sum(piece.music.seconds for piece in self.pieces)

    @property
    def notes(self) -> int:
        """Notes of all files."""
        return sum(piece.music.note_count for piece in self.pieces)

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of the parts that play, over all files."""
        names = {part.part for piece in self.pieces for part in piece.music.parts}
        return tuple(sorted(names))

    @property
    def instruments(self) -> tuple[str, ...]:
        """Instruments that play, over all files."""
        names = {part.instrument for piece in self.pieces for part in piece.music.parts}
        return tuple(sorted(names))

    @property
    def strokes_s(self) -> Counter[str]:
        """How long each way of playing is heard, added over tracks, s."""
        seconds: Counter[str] = Counter()
        for piece in self.pieces:
            for track in piece.record.tracks:
                for name, heard_s in track.articulations:
                    seconds[name] += heard_s  # type: ignore[assignment]  # counters add fractions
        return seconds

    @property
    def headroom(self) -> float | None:
        """The least fastest-playable over written tempo of any part; None where nothing told."""
        told = [
            track.headroom
            for piece in self.pieces
            for track in piece.record.tracks
            if track.headroom is not None
        ]
        return min(told, default=None)

    def marks(self) -> Iterator[Mark]:
        """Every finding, accepted ones included, file by file in order of time.

        The order hangs on the music alone, not on that of the tracks.
        """
        for piece in self.pieces:
            rows = sorted(piece.record.findings, key=_by_time)
            yield from (Mark(piece.name, finding, _span(finding, piece.music)) for finding in rows)

    def could_look(self, check: str) -> bool:
        """Whether a check ran on some track of every file."""
        return all(
            any(o.check == check and o.outcome is Outcome.RAN for o in piece.record.outcomes)
            for piece in self.pieces
        )

    def without(self, check: str) -> Submission:
        """The same work with the findings of one check cured; accepted ones stay."""
        return replace(self, pieces=tuple(_cured(piece, check) for piece in self.pieces))


def _cured(piece: Piece, check: str) -> Piece:
    kept = tuple(
        finding
        for finding in piece.record.findings
        if finding.check != check or finding.accepted is not None
    )
    return replace(piece, record=replace(piece.record, findings=kept))


def _span(finding: Finding, music: PieceMusic) -> float:
    lasts_s = finding.end.time_s - finding.start.time_s
    return lasts_s / music.seconds if music.seconds > 0 else 0.0


def _by_time(finding: Finding) -> tuple[float, str, str, str]:
    return finding.start.time_s, finding.part, finding.check, finding.id
