"""What is known of parts, each fact with its source."""

from __future__ import annotations

from boardvet.facts.book import FactBook
from boardvet.facts.family import Family

__all__ = ["FactBook", "Family"]
