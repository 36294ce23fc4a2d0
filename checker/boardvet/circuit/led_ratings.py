"""What an LED stands in the pulse in which it is lit.

The direct-current rating counts for pulses of 10 ms or more and for a duty above 1/10, else the
peak rating. Common practice in LED data sheets, which state peak ratings for a duty of 1/10 and
0.1 ms to 10 ms.
"""

from __future__ import annotations

from typing import NamedTuple, cast

from boardvet.circuit.handle import Circuit
from boardvet.circuit.pattern import Lit
from boardvet.circuit.timeline import SCAN, lights_at_once
from boardvet.known import Known
from boardvet.quantity.statement import Points

__all__ = ["LedRating", "Pulse", "led_rating", "pulse_of"]

SHORT_PULSE = 10e-3
"""Pulses from here on are as hot as direct current. [s]"""

SMALL_DUTY = 0.1
"""A duty above this is as hot as direct current."""

_LENIENT = 2.0
"""Up to this many times its direct-current rating an LED may well stand a short pulse."""

_DIMMING = 10e-3
"""Longest period of dimming that is not seen to flicker, 100 Hz (common practice). [s]"""


class Pulse(NamedTuple):
    """How long a light is on without a break, None for good [s], and for which share of time."""

    duration: float | None
    duty: float

    @property
    def short(self) -> bool:
        """True where a peak rating counts."""
        if self.duration is None:
            return False
        return self.duration < SHORT_PULSE and self.duty <= SMALL_DUTY


class LedRating(NamedTuple):
    """What an LED stands.

    Parameters
    ----------
    allowed : Known of float
        The rating for the pulse. [A]
    pulse : Pulse
        The pulse.
    unsure : bool
        True for short pulses of an LED of which only the direct-current rating is known.
    """

    allowed: Known[float]
    pulse: Pulse
    unsure: bool

    def surely_exceeded(self, current: float) -> bool:
        """Tell whether a current is too much whatever the peak rating may be, in amperes."""
        return current > self.allowed.value * (_LENIENT if self.unsure else 1.0)


def pulse_of(circuit: Circuit, lit: Lit) -> Pulse:
    """Return the pulse of a light as an entry of the pattern lights it.

    Lights that share the pins of an array are lit in turn even where the entry does not say so.
    """
    duration, duty = lit.duration, lit.duty
    turns = len(lit.listed) if lit.in_turn else len(lights_at_once(circuit, lit.listed))
    if turns > 1 and not (lit.in_turn and duration is not None):
        duration = (duration or lit.period or SCAN) / turns
        duty /= turns
    if lit.dimmed < 1.0:
        duration = min(duration or _DIMMING, lit.dimmed * _DIMMING)
        duty *= lit.dimmed
    return Pulse(duration, duty)


def led_rating(circuit: Circuit, reference: str, lit: Lit) -> LedRating:
    """Return what an LED stands as an entry of the pattern lights it.

    Raises
    ------
    MissingFact
        Where its direct-current rating is not known.
    """
    rated = cast("Known[float]", circuit.need(reference, "current_max"))
    pulse = pulse_of(circuit, lit)
    if not pulse.short:
        return LedRating(rated, pulse, unsure=False)
    peak = circuit.known(reference, "current_peak")
    if peak is None:
        return LedRating(rated, pulse, unsure=True)
    points = cast("Points", peak.value)
    fitting = [p.value for p in points if p.at is None or p.at >= pulse.duty * (1.0 - 1e-9)]
    return LedRating(
        Known(max(fitting, default=rated.value), "A", peak.source), pulse, unsure=False
    )
