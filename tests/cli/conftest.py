"""A stand-in for the engine, so that the command line is tested by itself."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from boardvet.review.review import Review

Engine = Callable[..., SimpleNamespace]


@pytest.fixture
def engine(monkeypatch: pytest.MonkeyPatch) -> Engine:
    """Return a function that puts an engine in place which gives these answers, one a board.

    An answer that is an exception is raised. The namespace it returns collects the calls.
    """

    def install(*answers: Review | BaseException) -> SimpleNamespace:
        calls = SimpleNamespace(review=[], jobs=[])
        left = list(answers)

        def jobs(paths: Sequence[str]) -> list[SimpleNamespace]:
            calls.jobs.append(list(paths))
            return [SimpleNamespace(name=f"board-{number}") for number in range(len(answers))]

        def review(board: SimpleNamespace, **options: Any) -> Review:
            options.pop("progress")
            calls.review.append((board.name, options))
            answer = left.pop(0)
            if isinstance(answer, BaseException):
                raise answer
            return answer

        fake = ModuleType("boardvet.api")
        fake.__dict__.update(jobs=jobs, review=review)
        monkeypatch.setitem(sys.modules, "boardvet.api", fake)
        return calls

    return install
