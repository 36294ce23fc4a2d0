"""The handle: views are built once, and every assumption is known to all who rest on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Self

import pytest

from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

BOARD = "BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND\nD1 led A GND\n"


@dataclass(frozen=True)
class Inner:
    """A view that assumes something."""

    built: ClassVar[list[int]] = []

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        cls.built.append(1)
        circuit.assume("inner", 1.0, "V", "assumed: for the test")
        return cls()


@dataclass(frozen=True)
class Outer:
    """A view that rests on the other."""

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        circuit.view(Inner)
        return cls()


@dataclass(frozen=True)
class Unbuilt:
    """A view that lacks a fact, and assumed something before it said so."""

    built: ClassVar[list[int]] = []

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        cls.built.append(1)
        circuit.assume("before", 2.0, "V", "assumed: for the test")
        raise MissingFact("U9", "output", "the output of U9 is not known", "parts: {U9: {}}")


@pytest.fixture(autouse=True)
def _unbuilt_views() -> None:
    Inner.built.clear()
    Unbuilt.built.clear()


def test_a_view_is_built_once() -> None:
    circuit = circuit_of(BOARD)

    assert circuit.view(Inner) is circuit.view(Inner)
    assert len(Inner.built) == 1


def test_two_circuits_share_no_views() -> None:
    assert circuit_of(BOARD).view(Kinds) is not circuit_of(BOARD).view(Kinds)


def test_what_a_nested_view_assumed_is_known_to_whoever_asks_later() -> None:
    circuit = circuit_of(BOARD)
    with circuit.noting() as first:
        circuit.view(Outer)
    with circuit.noting() as again:
        circuit.view(Outer)

    assert list(first) == ["inner"]
    assert again == first
    assert len(Inner.built) == 1


def test_what_a_view_assumed_is_not_charged_to_who_did_not_ask() -> None:
    circuit = circuit_of(BOARD)
    with circuit.noting() as outer, circuit.noting() as inner:
        circuit.view(Inner)

    assert list(inner) == ["inner"]
    assert outer == {}


def test_a_view_that_lacks_a_fact_says_the_same_each_time() -> None:
    circuit = circuit_of(BOARD)
    raised = []
    for _ in range(2):
        with pytest.raises(MissingFact) as caught:
            circuit.view(Unbuilt)
        raised.append(caught.value)

    assert raised[0] is raised[1]
    assert (raised[0].of, raised[0].key) == ("U9", "output")
    assert len(Unbuilt.built) == 1


def test_what_was_assumed_before_a_fact_was_missing_is_kept_too() -> None:
    circuit = circuit_of(BOARD)
    for _ in range(2):
        with circuit.noting() as noted, pytest.raises(MissingFact):
            circuit.view(Unbuilt)
        assert list(noted) == ["before"]


def test_a_failure_inside_the_block_ends_its_noting() -> None:
    circuit = circuit_of(BOARD)
    with pytest.raises(MissingFact), circuit.noting():
        circuit.view(Unbuilt)
    with circuit.noting() as noted:
        pass
    circuit.assume("late", 3.0, "V", "assumed: for the test")

    assert noted == {}


def test_a_default_that_is_used_is_an_assumption_and_a_stated_value_is_none() -> None:
    silent = circuit_of("D1 led/red A GND\n")
    stated = circuit_of("D1 led/red A GND = current_max 20 mA\n")
    with silent.noting() as assumed:
        known = silent.known("D1", "current_max")
    with stated.noting() as nothing:
        stated.known("D1", "current_max")

    assert known is not None
    assert known.assumed
    assert list(assumed) == ["current_max of D1"]
    assert nothing == {}


@pytest.mark.parametrize(
    ("part", "key", "shown"),
    [  # the defaults as facts/data/defaults.yaml has them
        ("D1 led/blue A GND", "forward_voltage", "3.15 V at 20 mA"),
        ("U1 mcu VCC+ A GND- GND", "pin_resistance", "30 Ω at 3 V"),
        ("U1 regulator VIN+ A VOUT> B GND- GND", "efficiency", "80 % at 10 mA"),
    ],
)
def test_a_default_of_several_numbers_is_noted_as_a_page_states_it(
    part: str, key: str, shown: str
) -> None:
    circuit = circuit_of(f"{part}\n")
    with circuit.noting() as assumed:
        circuit.known(part[:2], key)

    (one,) = assumed.values()
    assert (one.value, one.unit) == (shown, "")


def test_where_nothing_may_be_assumed_a_default_is_not_known() -> None:
    circuit = circuit_of("D1 led/red A GND\n", assume_nothing=True)

    assert circuit.known("D1", "current_max") is None
    with pytest.raises(MissingFact) as raised:
        circuit.need("D1", "current_max")
    assert "current_max" in raised.value.how


def test_a_part_that_is_not_on_the_board_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        circuit_of(BOARD).part("Z9")
