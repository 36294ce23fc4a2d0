"""What current each light has while it is lit, over the life of the cells."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple, cast

import numpy as np

from boardvet.circuit.elements import Element
from boardvet.circuit.handle import Circuit
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.strings import Strings
from boardvet.circuit.workload import Solved, Workloads
from boardvet.known import Known
from boardvet.physics.discharge import first_below

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["DARK", "Faded", "currents_lit", "first_faded", "lit_in", "meant"]

DARK = 20e-6
"""A light with less is dark: a thousandth of the 20 mA at which light is usually stated (common
practice, no source). [A]"""

_LEAST_WEIGHT = 1e-12


class Faded(NamedTuple):
    """A light that has too little current, and the share of charge used from which on."""

    light: str
    used: float


def lit_in(circuit: Circuit, meeting: Meeting) -> frozenset[Element]:
    """Return the lights that are lit in a meeting."""
    strings = circuit.view(Strings)
    return frozenset(s.light for name in meeting.lights for s in strings.of_light(name))


def currents_lit(circuit: Circuit) -> dict[Element, Floats]:
    """Return the mean current of each light while it is lit, at each share used, in amperes.

    At 25 °C, with reservoirs; where several modes light it, that of the mode in which it is least.
    Raises as the view `Workloads`.
    """
    found: dict[Element, Floats] = {}
    for workload in circuit.view(Workloads).on_cell():
        for light, current in _in_mode(circuit, workload.typical).items():
            found[light] = np.minimum(found[light], current) if light in found else current
    return found


def _in_mode(circuit: Circuit, solved: Solved) -> dict[Element, Floats]:
    weights: dict[Element, float] = {}
    charges: dict[Element, Floats] = {}
    for meeting, operating in solved:
        for light in lit_in(circuit, meeting) & operating.junctions.keys():
            # Weights may be differences, so that those of one light may even add up to nothing.
            current = meeting.weight * operating.junctions[light]
            charges[light] = charges[light] + current if light in charges else current
            weights[light] = weights.get(light, 0.0) + meeting.weight
    return {
        light: charge / weights[light]
        for light, charge in charges.items()
        if weights[light] > _LEAST_WEIGHT
    }


def meant(circuit: Circuit) -> dict[Element, float]:
    """Return what each light is meant to have: stated, else what fresh cells give it, in amperes.

    A light that the fitted cells leave dark, and of which nothing is stated, is left out. Raises
    as the view `Workloads`.
    """
    found: dict[Element, float] = {}
    for light, current in currents_lit(circuit).items():
        stated = cast("Known[float] | None", circuit.known(light.reference, "wanted_current"))
        wanted = stated.value if stated is not None else float(current[0])
        if stated is not None or wanted >= DARK:
            found[light] = wanted
    return found


def first_faded(
    used: Floats, currents: Mapping[Element, Floats], wanted: Mapping[Element, float], share: float
) -> Faded | None:
    """Return the light that first has less than a share of what it is meant to have, if any.

    Parameters
    ----------
    used : array, shape (U,)
        Shares of the charge used.
    currents : mapping of Element to array, shape (U,)
        As from `currents_lit`. [A]
    wanted : mapping of Element to float
        As from `meant`; a light that is missing in `currents` counts as dark. [A]
    share : float
        0 to 1.
    """
    nothing = np.zeros(len(used))
    faded = [
        Faded(
            light.reference, float(first_below(used, currents.get(light, nothing), share * least))
        )
        for light, least in wanted.items()
    ]
    first = min(faded, key=lambda each: each.used, default=None)
    return first if first is not None and first.used <= 1.0 else None
