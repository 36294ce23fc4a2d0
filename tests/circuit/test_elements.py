"""Elements: what lies between two nodes, for every kind of part."""

from __future__ import annotations

import pytest

from boardvet.circuit.elements import Element, ElementKind, Elements, is_p_channel
from boardvet.testing import circuit_of

GROUND = "R9 1k GND GND2\n"


def of(part: str, reference: str) -> tuple[Element, ...]:
    return circuit_of(GROUND + part).view(Elements).of_part(reference)


@pytest.mark.parametrize(
    ("part", "reference", "kind"),
    [
        ("R1 1k A B", "R1", ElementKind.RESISTOR),
        ("C1 1u A B", "C1", ElementKind.CAPACITOR),
        ("L1 10u A B", "L1", ElementKind.INDUCTOR),
        ("FB1 600R A B", "FB1", ElementKind.FERRITE),
        ("F1 500mA A B", "F1", ElementKind.FUSE),
        ("TH1 10k A B", "TH1", ElementKind.THERMISTOR),
        ("M1 motor A B", "M1", ElementKind.COIL),
        ("D1 diode A B", "D1", ElementKind.DIODE),
        ("D1 zener A B", "D1", ElementKind.ZENER),
        ("D1 tvs A B", "D1", ElementKind.CLAMP),
        ("D1 led A B", "D1", ElementKind.LED),
        ("SW1 switch A B", "SW1", ElementKind.CONTACT),
    ],
)
def test_a_part_with_two_ends_is_one_element(part: str, reference: str, kind: ElementKind) -> None:
    (element,) = of(part, reference)

    assert element.kind is kind
    assert {element.a, element.b} == {"A", "B"}


def test_a_junction_runs_from_anode_to_cathode() -> None:
    (element,) = of("D1 led 1:K LOW 2:A HIGH", "D1")

    assert (element.a, element.b) == ("HIGH", "LOW")


def test_without_pin_names_pin_one_is_the_cathode() -> None:
    (element,) = of("D1 diode 1: LOW 2: HIGH", "D1")

    assert (element.a, element.b) == ("HIGH", "LOW")


def test_both_ends_on_one_node_make_no_element() -> None:
    assert of("R1 1k A A", "R1") == ()
    assert of("D1 led A A", "D1") == ()


def test_a_part_that_is_not_fitted_makes_none() -> None:
    assert of("R1? 1k A B", "R1") == ()


def test_colours_are_paired_by_name() -> None:
    found = of("D1 led 1:RA A 2:GA B 3:GK D 4:RK C", "D1")

    assert {(e.name, e.a, e.b) for e in found} == {("ra", "A", "C"), ("ga", "B", "D")}


def test_a_common_pin_is_shared_by_all_colours() -> None:
    found = of("D1 led 1:A TOP 2:RK R 3:GK G 4:BK B", "D1")

    assert [(e.name, e.a, e.b) for e in found] == [
        ("rk", "TOP", "R"),
        ("gk", "TOP", "G"),
        ("bk", "TOP", "B"),
    ]


@pytest.mark.parametrize(
    ("channel", "anode", "cathode"), [("n", "SRC", "DRN"), ("p", "DRN", "SRC")]
)
def test_a_fet_is_a_channel_and_a_body_diode(channel: str, anode: str, cathode: str) -> None:
    found = of(f"Q1 fet 1:G GATE 2:S SRC 3:D DRN = channel {channel}", "Q1")
    by_kind = {e.kind: e for e in found}

    assert by_kind[ElementKind.CHANNEL].control == "GATE"
    body = by_kind[ElementKind.BODY_DIODE]
    assert (body.a, body.b) == (anode, cathode)


def test_a_fet_of_unknown_type_has_no_body_diode() -> None:
    found = of("Q1 fet/made-up 1:G GATE 2:S SRC 3:D DRN", "Q1")

    assert [e.kind for e in found] == [ElementKind.CHANNEL]


def test_the_type_of_a_transistor_is_read_from_its_words() -> None:
    circuit = circuit_of(GROUND + "Q1 bipolar-transistor/PNP 1:B A 2:E B 3:C C")

    assert is_p_channel(circuit, "Q1") is True


def test_a_change_over_switch_closes_one_side_or_the_other() -> None:
    found = of("SW1 switch 1: A 2: COMMON 3: B", "SW1")

    assert [(e.a, e.b, e.position) for e in found] == [("A", "COMMON", 0), ("COMMON", "B", 1)]


def test_a_four_leg_button_closes_across_its_pairs() -> None:
    found = of("SW1 button 1: A 2: A 3: B 4: B", "SW1")

    assert {(e.a, e.b) for e in found} == {("A", "B")}


def test_a_resistor_network_is_paired_by_its_pin_names() -> None:
    found = of("RN1 resistor-network 1:R1.1 A 2:R2.1 B 3:R1.2 C 4:R2.2 D", "RN1")

    assert {(e.a, e.b) for e in found} == {("A", "C"), ("B", "D")}


def test_elements_are_found_by_node() -> None:
    elements = circuit_of(GROUND + "R1 1k A B\nC1 1u B C").view(Elements)

    assert [e.reference for e in elements.at("B")] == ["R1", "C1"]
    assert [e.reference for e in elements.at("B", ElementKind.CAPACITOR)] == ["C1"]
    assert elements.at("B")[0].other("B") == "A"
