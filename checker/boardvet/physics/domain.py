"""Ranges of arguments: what is outside of one ends with its name, value and unit."""

from __future__ import annotations

import math

from boardvet.errors import PhysicsDomainError

__all__ = ["require_at_least_zero", "require_positive", "require_share"]


def require_positive(name: str, value: float, unit: str) -> None:
    """Refuse what is not finite and more than 0.

    Raises
    ------
    PhysicsDomainError
        With the argument, its value and its unit.
    """
    if not (math.isfinite(value) and value > 0):
        raise PhysicsDomainError(name, value, unit, "finite and more than 0")


def require_at_least_zero(name: str, value: float, unit: str) -> None:
    """Refuse what is not finite and at least 0.

    Raises
    ------
    PhysicsDomainError
        With the argument, its value and its unit.
    """
    if not (math.isfinite(value) and value >= 0):
        raise PhysicsDomainError(name, value, unit, "finite and at least 0")


def require_share(name: str, value: float) -> None:
    """Refuse what is not more than 0 and less than 1.

    Raises
    ------
    PhysicsDomainError
        With the argument and its value.
    """
    if not 0 < value < 1:
        raise PhysicsDomainError(name, value, "", "more than 0 and less than 1")
