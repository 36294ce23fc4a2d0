"""A capacitor sees more voltage than it is rated for.

On the bench
------------
The capacitor breaks down, at once or after months, and shorts its rail; a tantalum one can catch
fire as it does.

What is judged
--------------
Each fitted capacitor: the highest voltage across it in any state against its rating. Hold above
the rating at what the sources show typically; query where only the highest they may show exceeds
it. Query above the share of the rating that practice allows: ceramic, film and aluminium 0.9;
tantalum with manganese dioxide 0.5, or 0.67 behind 10 Ω or more, such as a coin cell; polymer 0.9
up to 10 V and 0.8 above. A ceramic capacitor up to 100 nF with no stated rating is taken for one
of 6.3 V, the lowest on sale. One between signals sees no more than the highest rail: if it stands
that, it is clear.

Left undetermined
-----------------
The rating is not known, the voltage of the rail is not known, or the verdict turns on what an
electrolytic capacitor is made of.

Cure
----
Fit one of the next higher rating; the finding names it.

Settings
--------
unstated : rating of a ceramic capacitor up to 100 nF that states none. Default 6.3 V.

Wrong::

    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 4.75 to 5.25 V}}
    C1 10u/4V/X5R @0603 VIN GND

Wrong (half of its rating is all that this kind of tantalum stands for long)::

    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    C1 47u/6.3V VIN GND = dielectric tantalum

Right::

    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 4.75 to 5.25 V}}
    C1 10u/10V/X5R @0603 VIN GND

Sources
-------
Tantalum at half of its rating, polymer at 0.9 and 0.8: KEMET, answers on derating, 2015. 0.67
behind series resistance, and 0.9 for ceramic and aluminium: common practice, no source. Lowest
rating of small ceramic chips: Multicomp MC0402 and MC0603 sheet, X7R from 6.3 V.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple, cast

from boardvet.circuit.capacitors import (
    Across,
    Capacitor,
    HighestRail,
    Technology,
    series_resistance,
)
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import Rails, node_label
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

SMALL = 100e-9
"""Up to here every ceramic chip that is sold stands some volts; larger ones come with less. [F]"""

SOFT_SOURCE = 10.0
"""From this series resistance on a tantalum capacitor stands a larger share. [ohm]"""

RATINGS = (2.5, 4.0, 6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 100.0, 200.0, 450.0)
"""Ratings that are sold, from memory of makers' voltage codes. [V]"""

MARGINS = {
    Technology.CERAMIC: 0.9,
    Technology.FILM: 0.9,
    Technology.ALUMINIUM: 0.9,
    Technology.SUPERCAPACITOR: 0.9,
}
STRICTEST, LOOSEST = 0.5, 0.9
"""Margins between which an electrolytic capacitor of unknown making lies."""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """What small ceramic capacitors without a stated rating are taken for."""

    unstated: Annotated[float, "V"] = 6.3


class Stress(NamedTuple):
    """Voltage against rating, and where it is."""

    across: Across
    rating: Known[float]
    margin: float

    @property
    def numbers(self) -> tuple[Number, ...]:
        """What the verdict rests on."""
        because = next(iter(self.across.fed.because), "highest voltage of the rail")
        return (
            Number("voltage across it", self.across.typical, "V", f"computed: {because}"),
            Number("highest voltage across it", self.across.highest, "V", f"computed: {because}"),
            Number("rating", self.rating.value, "V", self.rating.source),
        )


@rule(level=Level.HOLD)
def check(
    capacitor: Capacitor, circuit: Circuit, feeding: Feeding, settings: Settings
) -> Found | Clear:
    """Judge one capacitor by the highest voltage across it."""
    across = capacitor.worst(circuit)
    if across is None:
        return _off_the_rails(capacitor, circuit, feeding, settings)
    rating = _rating(capacitor, circuit, across.highest, settings)
    margin = _margin(capacitor, circuit, across, rating.value)
    stress = Stress(across, rating, margin)
    if across.typical > rating.value:
        return _broken(capacitor, circuit, stress, Level.HOLD)
    if across.highest > rating.value:
        return _broken(capacitor, circuit, stress, Level.QUERY)
    if across.typical > margin * rating.value:
        return _close(capacitor, circuit, stress)
    return Clear(stress.numbers)


def _rating(
    capacitor: Capacitor, circuit: Circuit, volts: float, settings: Settings
) -> Known[float]:
    stated = circuit.known(capacitor.reference, "voltage_rating")
    if stated is not None:
        return cast("Known[float]", stated)
    small = capacitor.ceramic and capacitor.value is not None and capacitor.value.value <= SMALL
    if small and not circuit.assume_nothing and volts <= LOOSEST * settings.unstated:
        source = "assumed: small ceramic chips are sold from this rating on"
        circuit.assume("rating of ceramic capacitors up to 100 nF", settings.unstated, "V", source)
        return Known(settings.unstated, "V", source)
    raise circuit.facts.missing(capacitor.reference, "voltage_rating")


def _margin(capacitor: Capacitor, circuit: Circuit, across: Across, rating: float) -> float:
    technology = capacitor.technology
    if technology in MARGINS:
        return MARGINS[technology]
    if technology is Technology.TANTALUM:
        return 0.67 if series_resistance(circuit, across) >= SOFT_SOURCE else 0.5
    if technology is Technology.POLYMER:
        return 0.9 if rating <= 10.0 else 0.8
    if STRICTEST * rating < across.typical <= LOOSEST * rating:
        raise circuit.facts.missing(capacitor.reference, "dielectric")
    return LOOSEST


def _off_the_rails(
    capacitor: Capacitor, circuit: Circuit, feeding: Feeding, settings: Settings
) -> Clear:
    """Compare one between signals with the highest rail: it cannot see more."""
    if any(circuit.view(Rails).rail_at(n) for n in capacitor.nets if not feeding.ever(n)):
        return Clear()  # its rail is not fed, which is the finding of another rule
    highest = circuit.view(HighestRail).volts
    if highest is None:
        raise MissingFact(
            "board",
            "cell",
            "no cell was found on the board",
            "cell: {part: BT1, type: CR2032}   # the holder or connector, and the type fitted",
        )
    rating = _rating(capacitor, circuit, highest, settings)
    if highest > rating.value:
        raise MissingFact(
            capacitor.reference,
            "voltage",
            f"the voltage across {capacitor.reference} is not known: some rail has "
            f"{show(highest, 'V')}, it stands {show(rating.value, 'V')}",
            f"waivers: [{{rule: capacitor-voltage, at: {capacitor.reference}, "
            "because: it sees no more than 3.3 V}]   # if so",
        )
    return Clear((Number("highest rail", highest, "V", "computed: highest of all rails"),))


def _broken(capacitor: Capacitor, circuit: Circuit, stress: Stress, level: Level) -> Found:
    burns = capacitor.technology in {Technology.TANTALUM, Technology.POLARISED}
    typical = level is Level.HOLD
    volts = stress.across.typical if typical else stress.across.highest
    return Found(
        bench=f"{THIS} breaks down and shorts {_where(capacitor, circuit)}"
        f"{'; it can burn' if burns else ''}.",
        sum=f"{'It sees' if typical else 'It may see'} {show(volts, 'V')} and stands "
        f"{show(stress.rating.value, 'V')}.",
        fix=_fix(stress),
        numbers=stress.numbers,
        level=level,
        state=stress.across.state.name,
    )


def _close(capacitor: Capacitor, circuit: Circuit, stress: Stress) -> Found:
    share = stress.across.typical / stress.rating.value
    return Found(
        bench=f"{THIS} fails early and then shorts {_where(capacitor, circuit)}.",
        sum=f"It sees {show(stress.across.typical, 'V')}, {share:.2f} of its "
        f"{show(stress.rating.value, 'V')}; practice with a {capacitor.technology} one is "
        f"{stress.margin:.2g} at most.",
        fix=_fix(stress),
        numbers=stress.numbers,
        level=Level.QUERY,
        state=stress.across.state.name,
    )


def _where(capacitor: Capacitor, circuit: Circuit) -> str:
    return " and ".join(node_label(circuit, node) for node in capacitor.nets)


def _fix(stress: Stress) -> str:
    wanted = max(stress.across.typical / stress.margin, stress.across.highest)
    rating = next((volts for volts in RATINGS if volts >= wanted), wanted)
    return f"fit one of {show(rating, 'V')} or more in place of {THIS}"
