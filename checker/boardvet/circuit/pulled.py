"""What pulses pull below what it needs: a part that a cell feeds, or a booster that starves."""

from __future__ import annotations

from boardvet.circuit.boosting import Boosting
from boardvet.circuit.converters import Regulator
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import SuppliedPart
from boardvet.circuit.sags import Sags
from boardvet.errors import MissingFact
from boardvet.vocabulary.kinds import Kind

__all__ = ["pulled_low"]


def pulled_low(circuit: Circuit, node: str | None = None) -> SuppliedPart | Regulator | None:
    """Return the first that pulses pull too low on a node, or on any; None if they pull none.

    A booster takes constant power, so that its input has no voltage of its own to fall to: it is
    looked at as a regulator, every other part by its floor.

    Raises
    ------
    MissingFact
        As the view `Sags`. What is not known of a booster says nothing here.
    """
    sags = circuit.view(Sags)
    for part in SuppliedPart.on(circuit):
        if part.part_kind is Kind.REGULATOR or node not in {None, part.node}:
            continue
        floor = sags.floor_of(part.reference, part.node)
        if floor is not None and sags.first(sags.of_floor(floor)) is not None:
            return part
    return next((each for each in Regulator.on(circuit) if _starves(circuit, each, node)), None)


def _starves(circuit: Circuit, regulator: Regulator, node: str | None) -> bool:
    if node is not None and node not in regulator.inputs:
        return False
    try:
        boost = circuit.view(Boosting).boost(regulator)
    except MissingFact:
        return False
    return boost is not None and boost.why is not None
