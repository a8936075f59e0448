"""A whole review: what was read, what was heard, what was found."""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict, dataclass
from typing import Any

from mockcheck.model.acceptance import UnusedAcceptance
from mockcheck.model.finding import CheckOutcome, Finding, Severity, severity_counts
from mockcheck.model.played import PlayedScore
from mockcheck.model.reading import LOAD_COMPONENTS
from mockcheck.model.time import Location

SCHEMA = "mockcheck.review/1"


@dataclass(frozen=True)
class TrackSummary:
    """One row of the review's track list; None where a number does not apply."""

    index: int
    name: str
    instrument: str | None
    part: str
    players: int
    confidence: float
    evidence: str
    notes: int
    left_out: str | None
    lowest: int | None = None
    highest: int | None = None
    peak_notes_per_s: float | None = None
    mean_notes_per_s: float | None = None
    headroom: float | None = None
    headroom_at: Location | None = None
    slides: int = 0
    slides_per_100_transitions: float = 0.0
    slides_per_minute: float = 0.0
    articulations: tuple[tuple[str, float], ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """As in review.json."""
        row = asdict(self)
        row["articulations"] = dict(self.articulations)
        row["headroom_at"] = self.headroom_at.to_dict() if self.headroom_at else None
        return row


@dataclass(frozen=True)
class Review:
    """Everything a report needs; reports read it and compute nothing."""

    played: PlayedScore
    tracks: tuple[TrackSummary, ...]
    findings: tuple[Finding, ...]
    outcomes: tuple[CheckOutcome, ...]
    brief: dict[str, Any]
    unused_acceptances: tuple[UnusedAcceptance, ...] = ()

    @property
    def counts(self) -> Counter[Severity]:
        """Findings by severity, accepted ones left out."""
        return severity_counts(self.findings)

    def worst(self) -> Severity | None:
        """The worst severity that was not accepted; None for a clean review."""
        return max(self.counts, default=None)

    def to_dict(self) -> dict[str, Any]:
        """The contract `mockcheck.review/1`; plain Python values, ready for JSON."""
        score = self.played.score
        source: dict[str, Any] = {
            "file": score.file,
            "sha256": score.sha256,
            "smf_format": score.smf_format,
        }
        if score.ticks_per_quarter is not None:
            source["ticks_per_quarter"] = score.ticks_per_quarter
        else:
            source["ticks_per_second"] = score.ticks_per_second
        source["duration_s"] = round(score.duration_s, 6)
        source["bars"] = score.bar_count
        source["events"] = score.event_count
        session = self.played.session
        named = {} if session.named_level is None else {"level_name": session.level_name}
        return {
            "schema": SCHEMA,
            "source": source,
            "level": str(session.level),
            **named,
            "brief": self.brief,
            "warnings": [asdict(warning) for warning in score.warnings],
            "tracks": [track.to_dict() for track in self.tracks],
            "articulations": self._articulations(),
            "slides": self._slides(),
            "dynamics": self._dynamics(),
            "reading": self._reading(),
            "findings": [finding_dict(finding) for finding in self.findings],
            "accepted_in_vain": [
                {
                    "accept": unused.acceptance.words,
                    "reason": unused.acceptance.reason,
                    "nearest": [finding.id for finding in unused.nearest],
                }
                for unused in self.unused_acceptances
            ],
            "checks": [
                {"check": o.check, "track": o.track, "outcome": str(o.outcome), "reason": o.reason}
                for o in self.outcomes
            ],
        }

    def _articulations(self) -> list[dict[str, Any]]:
        return [
            {
                "track": zone.track,
                "start": part.locate_onset(zone.onset_ticks).to_dict(),
                "end": part.locate(zone.release_ticks).to_dict(),
                "articulation": zone.articulation,
                "confidence": round(zone.confidence, 3),
                "evidence": zone.evidence,
            }
            for part in self.played.parts
            for zone in part.zones
        ]

    def _slides(self) -> list[dict[str, Any]]:
        return [
            {
                "track": slide.track,
                "start": part.locate_onset(slide.onset_ticks).to_dict(),
                "end": part.locate(slide.release_ticks).to_dict(),
                "from_pitch": round(slide.from_pitch, 2),
                "to_pitch": round(slide.to_pitch, 2),
                "duration_ms": round(slide.duration_ms, 1),
                "kind": slide.kind,
                "source": slide.source,
                "confidence": round(slide.confidence, 3),
            }
            for part in self.played.parts
            for slide in part.slides
        ]

    def _dynamics(self) -> list[dict[str, Any]]:
        return [
            {
                "track": curve.track,
                "source": curve.source,
                "confidence": round(curve.confidence, 3),
                "ticks": curve.ticks.tolist(),
                "loudness": [round(value, 1) for value in curve.loudness.tolist()],
            }
            for part in self.played.parts
            for curve in part.dynamics
        ]

    def _reading(self) -> list[dict[str, Any]]:
        """Of each part the bars in which something begins, as columns."""
        rows = []
        for part in self.played.parts:
            if part.reading is None or not part.roles:
                continue
            heard = part.reading.load > 0
            row: dict[str, Any] = {
                "track": part.roles[0].index,
                "part": part.name,
                "bars": (part.reading.bar_index[heard] + 1).tolist(),
            }
            for name in ("load", *LOAD_COMPONENTS):
                row[name] = [
                    round(value, 3) for value in part.reading.component(name)[heard].tolist()
                ]
            rows.append(row)
        return rows


def finding_dict(finding: Finding) -> dict[str, Any]:
    """One finding as in review.json."""
    row = asdict(finding)
    row["severity"] = finding.severity.label
    row["start"] = finding.start.to_dict()
    row["end"] = finding.end.to_dict()
    row["pitches"] = list(finding.pitches)
    row["evidence"] = [asdict(item) for item in finding.evidence]
    row["confidence"] = round(finding.confidence, 3)
    return row
