"""How much of its capacitance a capacitor of the board keeps under a direct voltage."""

from __future__ import annotations

import re
from typing import cast

from boardvet.circuit.capacitors import Capacitor, Technology
from boardvet.circuit.handle import Circuit
from boardvet.circuit.values import BomLines, missing_value
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.physics.bias import Dielectric, capacitance_kept
from boardvet.quantity import case_size, show

__all__ = ["case_of", "dielectric_of", "kept", "least_kept"]

CURVE = "assumed: an own curve through rules of thumb for class 2 ceramic (ufcapacitors.com/5455)"
"""Where the share kept comes from."""

_STABLE = re.compile(r"\b([CU][0O2][GHJ]|NP[0O])\b", re.IGNORECASE)
_STRONG = re.compile(r"\b[YZ]\d[UV]\b", re.IGNORECASE)
_FERROELECTRIC = re.compile(r"\b[XYZ]\d[A-Z]\b", re.IGNORECASE)


def kept(
    circuit: Circuit, capacitor: Capacitor, volts: float, *, unrated: float | None = None
) -> Known[float]:
    """Return the share of its nominal capacitance that a capacitor keeps.

    Parameters
    ----------
    circuit : Circuit
        The board.
    capacitor : Capacitor
        One of its capacitors. All but ceramic ones keep everything.
    volts : float
        Direct voltage across it. [V]
    unrated : float, optional
        Rated voltage that stands in where none is known, as an assumption. [V]

    Raises
    ------
    MissingFact
        Where the rated voltage or the capacitance of a class 2 ceramic is not known, or no
        assumption may be used.
    """
    dielectric = dielectric_of(circuit, capacitor)
    if dielectric is None:
        return Known(1.0, "", f"standard: {capacitor.technology} keeps its capacitance under bias")
    if dielectric is Dielectric.STABLE:
        return Known(1.0, "", "standard: class 1 ceramic keeps its capacitance under bias")
    if capacitor.value is None:
        raise missing_value(capacitor.reference)
    rated = _rating(circuit, capacitor.reference, unrated)
    if circuit.assume_nothing:
        raise MissingFact(
            capacitor.reference,
            "dielectric",
            f"what {capacitor.reference} keeps of its capacitance under bias is only assumed",
            f"parts: {{{capacitor.reference}: {{dielectric: C0G}}}}   # if so; else look it up",
        )
    share = capacitance_kept(
        volts,
        rated,
        dielectric,
        capacitance=capacitor.value.value,
        case=case_of(circuit, capacitor.reference),
    )
    circuit.assume(
        "capacitance of ceramic capacitors under bias",
        "an own curve over voltage, rating and density; tolerance not counted",
        "",
        CURVE,
    )
    return Known(share, "", CURVE)


def least_kept(circuit: Circuit, capacitor: Capacitor, volts: float) -> float:
    """Return the least share that a capacitor keeps which is rated for its voltage at all.

    On the curve of `kept` a part rated for just its voltage keeps less than any of a higher
    rating, so this needs no rating.

    Raises
    ------
    MissingFact
        Where the capacitance of a class 2 ceramic is not known.
    """
    dielectric = dielectric_of(circuit, capacitor)
    if dielectric is None or not volts:
        return 1.0
    if capacitor.value is None:
        raise missing_value(capacitor.reference)
    case = case_of(circuit, capacitor.reference)
    size = capacitor.value.value
    return capacitance_kept(volts, abs(volts), dielectric, capacitance=size, case=case)


def dielectric_of(circuit: Circuit, capacitor: Capacitor) -> Dielectric | None:
    """Return the class of a ceramic capacitor, None for any other kind.

    A ceramic one that nobody calls otherwise is of class 2: so are nearly all from 10 nF on.
    """
    stated = circuit.known(capacitor.reference, "dielectric")
    word = str(stated.value) if stated is not None else ""
    if _STABLE.search(word):
        return Dielectric.STABLE
    if _STRONG.search(word):
        return Dielectric.STRONG
    if _FERROELECTRIC.search(word):
        return Dielectric.FERROELECTRIC
    return Dielectric.FERROELECTRIC if capacitor.technology is Technology.CERAMIC else None


def _rating(circuit: Circuit, reference: str, unrated: float | None) -> float:
    stated = circuit.known(reference, "voltage_rating")
    if stated is not None:
        return cast("float", stated.value)
    if unrated is None or circuit.assume_nothing:
        raise circuit.facts.missing(reference, "voltage_rating")
    source = f"assumed: no rating is stated, so {show(unrated, 'V')}"
    circuit.assume(f"voltage_rating of {reference}", unrated, "V", source)
    return unrated


def case_of(circuit: Circuit, reference: str) -> str | None:
    """Return the case code of a chip by its footprint or its line of the BOM."""
    line = circuit.view(BomLines).of_part.get(reference)
    texts = [circuit.board.parts[reference].footprint.rpartition(":")[2]]
    if line is not None:
        texts += [line.footprint, line.value]
    return next((case for case in map(case_size, texts) if case is not None), None)
