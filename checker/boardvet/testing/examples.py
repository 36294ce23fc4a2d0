"""The examples of a rule's page as boards, and a runner for one rule."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping

from boardvet.circuit.handle import Circuit
from boardvet.review.packs import LoadedPack
from boardvet.review.review import Review
from boardvet.review.rule import Rule
from boardvet.review.runner import run
from boardvet.testing.notation import circuit_of

__all__ = ["examples_of", "judge"]

_EXAMPLE = re.compile(
    r"^(Wrong|Right)(?: \(([^)]*)\))?::\n\n((?:[ ]{4}.*\n|\s*\n)+)", re.MULTILINE
)


def examples_of(rule: Rule) -> Mapping[str, tuple[str, ...]]:
    """Return the boards under ``Wrong::`` and ``Right::`` of a rule's page, as notation."""
    found: dict[str, list[str]] = {"Wrong": [], "Right": []}
    for match in _EXAMPLE.finditer(rule.page + "\n"):
        found[match[1]].append(textwrap.dedent(match[3]).strip() + "\n")
    return {word: tuple(texts) for word, texts in found.items()}


def judge(rule: Rule, board: str | Circuit, *, assume_nothing: bool = False) -> Review:
    """Run one rule on a board, given in notation or as a circuit, and return the review."""
    circuit = (
        board if isinstance(board, Circuit) else circuit_of(board, assume_nothing=assume_nothing)
    )
    return run(circuit, [LoadedPack("one rule", "0", (rule,))], budget=False)
