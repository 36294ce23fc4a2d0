"""View: which lights are on when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple, Self

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.handle import Circuit
from boardvet.intent import PatternEntry

__all__ = ["Lit", "Pattern"]


class Lit(NamedTuple):
    """How one light is lit by one entry of the pattern.

    `duration` and `period` are None for a light that is always on. [s] `listed` is all lights of
    the entry, `in_turn` whether one after another, `dimmed` for which share it is really on.
    """

    name: str
    duration: float | None
    period: float | None
    together: tuple[str, ...]
    stated: bool
    listed: tuple[str, ...] = ()
    in_turn: bool = False
    dimmed: float = 1.0

    @property
    def duty(self) -> float:
        """Share of the time that it is lit, 1 where it is always on."""
        if self.duration is None or not self.period:
            return 1.0
        return min(self.duration / self.period, 1.0)


@dataclass(frozen=True)
class Pattern:
    """When each LED is lit, and what is lit with it.

    Parameters
    ----------
    of_light : mapping of str to tuple of Lit
        By reference; LEDs that no entry names are taken as always on, and alone, which is the
        pessimistic pattern for the light itself.
    stated : bool
        True if the intent page has a pattern.
    """

    of_light: Mapping[str, tuple[Lit, ...]]
    stated: bool

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Read the pattern of the page, in every mode."""
        entries = [*circuit.intent.pattern]
        for mode in circuit.intent.modes:
            entries.extend(mode.pattern)
        of_light: dict[str, list[Lit]] = {}
        for entry in entries:
            for lit_by, light in _lights(entry, entries):
                of_light.setdefault(light, []).append(lit_by)
        if not entries and circuit.view(Elements).of_kind(ElementKind.LED):
            circuit.assume(
                "pattern",
                "each light always on, alone for its own current",
                "",
                "assumed: no pattern is stated, so the pessimistic one",
            )
        return cls({light: tuple(found) for light, found in of_light.items()}, bool(entries))

    def lit(self, reference: str) -> tuple[Lit, ...]:
        """Return how a light is lit."""
        always = (Lit("always on", None, None, (reference,), False),)
        return self.of_light.get(reference, always)


def _lights(entry: PatternEntry, entries: list[PatternEntry]) -> Iterator[tuple[Lit, str]]:
    steady = tuple(
        light
        for other in entries
        if other.duration is None and other is not entry
        for light in other.lights
    )
    duration = entry.duration.value if entry.duration else None
    period = entry.every.value if entry.every else None
    for light in entry.lights:
        group = (light,) if entry.in_turn else entry.lights
        together = tuple(dict.fromkeys((*group, *steady)))
        dimmed = entry.pwm.value if entry.pwm else 1.0
        listed = entry.lights
        yield (
            Lit(entry.name, duration, period, together, True, listed, entry.in_turn, dimmed),
            light,
        )
