"""A review as JSON, in the fixed shape that outside scripts read.

The shape is `review.schema.json` beside this module; its name and version stand in ``schema``.
The inner types of a review may change under it. Nothing in it depends on time, host or duration,
so that equal input gives equal text.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from importlib.resources import files
from typing import Any

from boardvet._version import __version__
from boardvet.board import Place
from boardvet.review.budget import Budget
from boardvet.review.review import Review
from boardvet.review.verdict import Finding, Number, SubjectName, Undetermined

__all__ = ["json_schema", "to_json", "to_json_many"]

Json = dict[str, Any]


def to_json(review: Review) -> str:
    """Return one review as text of the schema "boardvet-review/1"."""
    return _text(_review(review))


def to_json_many(reviews: Iterable[Review]) -> str:
    """Return several reviews as text of the schema "boardvet-reviews/1", in the order given."""
    return _text({"schema": "boardvet-reviews/1", "reviews": [_review(item) for item in reviews]})


def json_schema() -> Json:
    """Return the JSON schema (draft 2020-12) that both texts keep."""
    text = files("boardvet.report").joinpath("review.schema.json").read_text("utf-8")
    schema: Json = json.loads(text)
    return schema


def _text(value: Json) -> str:
    text = json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False) + "\n"
    # Half of a surrogate pair cannot be written as UTF-8; its JSON escape can.
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def _review(review: Review) -> Json:
    counts = review.counts
    return {
        "schema": "boardvet-review/1",
        "tool": {
            "name": "boardvet",
            "version": __version__,
            "packs": [{"name": pack.name, "version": pack.version} for pack in review.packs],
        },
        "board": {
            "name": review.board,
            "parts": review.parts,
            "nets": review.nets,
            "files": [
                {"path": file.path, "kind": str(file.kind), "sha256": file.sha256}
                for file in review.files
            ],
        },
        "outcome": review.outcome,
        "counts": {name: getattr(counts, name) for name in counts.__slots__},
        "gate": {"level": review.gate, "strict": review.strict, "tripped": review.tripped},
        "findings": [_finding(item) for item in review.findings],
        "undetermined": [_undetermined(item) for item in review.undetermined],
        "clear": [
            {"rule": item.rule, "parts": list(item.parts), "nets": list(item.nets)}
            for item in review.clear
        ],
        "no_subject": list(review.no_subject),
        "broken": [
            {"rule": item.rule, "subject": _subject(item.subject), "error": item.error}
            for item in review.broken
        ],
        "cured": [],
        "assumptions": [
            {
                "what": item.what,
                "value": item.value if isinstance(item.value, str) else _six(item.value),
                "unit": item.unit,
                "source": item.source,
                "used_by": list(item.used_by),
            }
            for item in review.assumptions
        ],
        "settings": [
            {"rule": item.rule, "name": item.name, "value": item.value, "default": item.default}
            for item in review.settings
        ],
        "budget": _budget(review.budget),
    }


def _budget(budget: Budget) -> Json:
    """Return the budget; its fields are null where nothing could be computed."""
    hours = None if budget.run_time is None else budget.run_time / 3600.0
    return {
        "run_time_hours": _six_or_none(hours),
        "mean_current_a": _six_or_none(budget.mean_current),
        "stop_voltage": _six_or_none(budget.stop_voltage),
        "stop_reason": budget.stop_reason or None,
        "charge_stranded_c": _six_or_none(budget.stranded),
        "consumers": [
            {"part": each.part, "current_a": _six(each.current), "share": _six(each.share)}
            for each in budget.consumers
        ],
        "modes": [
            {"name": each.name, "share": _six(each.share), "mean_current_a": _six(each.current)}
            for each in budget.modes
        ],
    }


def _six_or_none(value: float | None) -> float | None:
    return None if value is None else _six(value)


def _finding(finding: Finding) -> Json:
    waived = finding.waived
    return {
        "rule": finding.rule,
        "area": finding.area,
        "level": finding.level.value,
        "subject": _subject(finding.subject),
        "parts": list(finding.parts),
        "nets": list(finding.nets),
        "message": finding.message,
        "why": finding.why,
        "fix": finding.fix,
        "numbers": [_number(number) for number in finding.numbers],
        "at": _place(finding.at),
        "related": [
            {"file": item.place.file, "line": item.place.line, "what": item.what}
            for item in finding.related
        ],
        "state": finding.state or None,
        "fingerprint": finding.fingerprint,
        "waived": waived and {"because": waived.because, "until": waived.until or None},
        "since": finding.since,
        "follows": finding.follows,
    }


def _undetermined(item: Undetermined) -> Json:
    return {
        "rule": item.rule,
        "area": item.area,
        "level": item.level.value,
        "subject": _subject(item.subject),
        "parts": list(item.parts),
        "nets": list(item.nets),
        "missing": item.missing,
        "how": item.how,
    }


def _subject(subject: SubjectName) -> Json:
    return {"kind": subject.kind, "name": subject.name}


def _number(number: Number) -> Json:
    return {
        "name": number.name,
        "value": _six(number.value),
        "unit": number.unit,
        "source": number.source,
    }


def _place(place: Place | None) -> Json | None:
    return place and {"file": place.file, "line": place.line}


def _six(value: float) -> float | None:
    """Return the value to six significant figures; None where JSON has no number for it."""
    return float(f"{value:.6g}") if math.isfinite(value) else None
