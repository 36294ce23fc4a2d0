"""What kind a part is, by which evidence, and which parts stay unknown.

The symbol names are generic words of the trade; designators are those of IEEE 315 and IEC 81346
and of habit (from memory). No numbers are judged here.
"""

from __future__ import annotations

import pytest
from tests.circuit.drawn import circuit_with, drawn, told

from boardvet.board import Part
from boardvet.circuit.kinds import Kinds
from boardvet.testing import circuit_of
from boardvet.vocabulary.kinds import Kind

SYMBOLS = [
    ("R", Kind.RESISTOR),
    ("R_US", Kind.RESISTOR),
    ("RES", Kind.RESISTOR),
    ("C", Kind.CAPACITOR),
    ("C_Polarized", Kind.CAPACITOR),
    ("CAP", Kind.CAPACITOR),
    ("L", Kind.INDUCTOR),
    ("Ferrite_Bead", Kind.FERRITE),
    ("D", Kind.DIODE),
    ("D_Schottky", Kind.DIODE),
    ("D_Zener", Kind.ZENER),
    ("D_TVS", Kind.TVS),
    ("D_Photo", Kind.SENSOR),
    ("LED", Kind.LED),
    ("Crystal", Kind.CRYSTAL),
    ("Polyfuse", Kind.FUSE),
    ("Thermistor_NTC", Kind.THERMISTOR),
    ("SW_SPST", Kind.SWITCH),
    ("SW_Push", Kind.BUTTON),
    ("Battery_Cell", Kind.CELL),
    ("Button_Cell_Holder", Kind.CELL),
    ("Solar_Cell", Kind.SOLAR_CELL),
    ("Conn_01x02", Kind.CONNECTOR),
    ("LED_Conn", Kind.CONNECTOR),
    ("Screw_Terminal_01x02", Kind.CONNECTOR),
    ("USB_C_Receptacle", Kind.USB_CONNECTOR),
    ("NetTie_2", Kind.JOINED_GROUND),
    ("SolderJumper_2_Open", Kind.JUMPER),
    ("TestPoint", Kind.TEST_POINT),
    ("Buzzer", Kind.BUZZER),
    ("Motor_DC", Kind.MOTOR),
    ("Relay_SPDT", Kind.RELAY),
    ("Antenna", Kind.ANTENNA),
]


@pytest.mark.parametrize(("name", "kind"), SYMBOLS, ids=[name for name, _ in SYMBOLS])
def test_a_symbol_s_name_tells_the_kind_whatever_the_designator(name: str, kind: Kind) -> None:
    assert told(drawn("ZZ1", name)).kind is kind


LETTERS = [
    (drawn("R1"), Kind.RESISTOR),
    (drawn("D2"), Kind.DIODE),
    (drawn("VD2"), Kind.DIODE),
    (drawn("LED3"), Kind.LED),
    (drawn("BT1"), Kind.CELL),
    (drawn("J1"), Kind.CONNECTOR),
    (drawn("XS1"), Kind.CONNECTOR),
    (drawn("H2", pins=4), Kind.CONNECTOR),
    (drawn("H1", pins=1), Kind.HOLE),
    (drawn("T1", pins=6), Kind.TRANSFORMER),
    (drawn("M1"), Kind.MOTOR),
    (drawn("U1", pins=8), Kind.INTEGRATED_CIRCUIT),
]


@pytest.mark.parametrize(("part", "kind"), LETTERS, ids=[part.reference for part, _ in LETTERS])
def test_a_designator_tells_the_kind_where_nothing_else_does(part: Part, kind: Kind) -> None:
    found = told(part)

    assert found.kind is kind
    assert f"designator {part.reference}" in found.evidence


TEXTS = [
    (drawn("ZZ1", footprint="CAPC1608X90N"), Kind.CAPACITOR, "footprint"),
    (drawn("ZZ1", footprint="RESC1005X40N"), Kind.RESISTOR, "footprint"),
    (drawn("A7", footprint="CAPC1608X90N"), Kind.CAPACITOR, "footprint"),
    (drawn("D1", footprint="lamps:LED_0603"), Kind.LED, "footprint"),
    (drawn("ZZ1", footprint="CONN-HEADER-1x4", pins=4), Kind.CONNECTOR, "footprint"),
    (drawn("B1", footprint="BAT-HOLDER-CR2032"), Kind.CELL, "footprint"),
    (drawn("G1", value="CR2032"), Kind.CELL, "value"),
    (drawn("U7", "CR2032-HOLD-1"), Kind.CELL, "symbol"),
    (drawn("X1", value="16MHz"), Kind.CRYSTAL, "value"),
    (drawn("X1", value="32.768kHz"), Kind.CRYSTAL, "value"),
    (drawn("L2", "L", "600R@100MHz"), Kind.FERRITE, "value"),
    (drawn("S1", footprint="SW_TACT_6x6", pins=4), Kind.BUTTON, "footprint"),
    (drawn("S2", description="Tactile switch", pins=4), Kind.BUTTON, "description"),
    (drawn("D4", description="Zener, 3.3 V"), Kind.ZENER, "description"),
    (drawn("U2", description="Low-dropout, 3.3 V", pins=5), Kind.REGULATOR, "description"),
    (drawn("U3", library="Sensor_Humidity", pins=8), Kind.SENSOR, "library"),
    (drawn("ZZ1", library="OurButtons_keys", pins=2), Kind.BUTTON, "library"),
    (drawn("IC3", pins=["SW", "FB", "GND", "EN"]), Kind.REGULATOR, "pins"),
    (drawn("IC4", pins=["IN", "OUT", "GND"]), Kind.REGULATOR, "pins"),
    (drawn("T1", pins=["B", "C", "E"]), Kind.TRANSISTOR, "base"),
    (drawn("VT1", pins=["G", "D", "S"]), Kind.FET, "gate"),
    (drawn("Q2", description="PNP, 40 V", pins=3), Kind.TRANSISTOR, "words"),
    (drawn("Y1", pins=["VDD", "OE", "GND", "CLK"]), Kind.OSCILLATOR, "supply"),
    (drawn("D3", "LED", pins=["VDD", "DOUT", "GND", "DIN"]), Kind.ADDRESSABLE_LED, "data"),
    (drawn("U1", "Teensy4", pins=30), Kind.MODULE, "name"),
]


@pytest.mark.parametrize(("part", "kind", "why"), TEXTS)
def test_other_texts_and_pins_tell_the_kind(part: Part, kind: Kind, why: str) -> None:
    found = told(part)

    assert found.kind is kind
    assert why in found.evidence


ACCIDENTS = [
    (drawn("R3", "CR0603-FX", footprint="CR0603"), Kind.RESISTOR),
    (drawn("R3", value="10k", footprint="CR2032"), Kind.RESISTOR),
    (drawn("SW2", "BATTERY_SWITCH"), Kind.SWITCH),
    (drawn("J5", "CELL_BALANCE", pins=8), Kind.CONNECTOR),
    (drawn("TP4", footprint="BATT_PAD", pins=1), Kind.TEST_POINT),
    (drawn("U3", "LDO_AA", pins=3), Kind.REGULATOR),
    (drawn("U3", "BATT_GAUGE", pins=["VDD", "GND", "SDA", "SCL"]), Kind.INTEGRATED_CIRCUIT),
    (drawn("SW1", pins=["VCC", "GND", "A", "B"]), Kind.INTEGRATED_CIRCUIT),
    (drawn("DS1", "Graphic_LCD", pins=20), Kind.DISPLAY),
    (drawn("U2", "AnalogOut", pins=5), Kind.INTEGRATED_CIRCUIT),
    (drawn("SW5", "SW_SPDT", "latching push"), Kind.SWITCH),
    (
        drawn("U5", library="moist-sensor-rescue", pins=["VCC", "GND", "A"]),
        Kind.INTEGRATED_CIRCUIT,
    ),
    (drawn("D9", "USBLC9", pins=["I/O1", "VBUS", "GND"]), Kind.DIODE),
]


@pytest.mark.parametrize(("part", "kind"), ACCIDENTS)
def test_the_accident_of_a_name_makes_nothing_of_a_part(part: Part, kind: Kind) -> None:
    assert told(part).kind is kind


UNKNOWN = [
    drawn("ZZ1"),
    drawn("X1", value="PHOENIX"),
    drawn("X1", "CR1206", footprint="CR1206"),
    drawn("BAT_LED1"),
    drawn("USB_LED1"),
    drawn("BT3", pins=1),
    drawn("K1", pins=5),
    drawn("Q3", value="MYSTERY", pins=3),
    drawn("Q4", "Q_SCR_KAG", pins=["K", "A", "G"]),
    drawn("M7", pins=9),
    drawn("T7"),
    drawn("X3", "thing", library="led-lamp-cache"),
]


@pytest.mark.parametrize("part", UNKNOWN, ids=lambda part: f"{part.reference} {part.name}")
def test_a_part_that_nothing_tells_stays_unknown(part: Part) -> None:
    assert told(part).kind is Kind.UNKNOWN


def test_a_part_without_pins_is_a_graphic_unless_its_symbol_says_more() -> None:
    assert told(drawn("XX1", "Note", library="usb-pads", pins=0)).kind is Kind.GRAPHIC
    assert told(drawn("H1", "MountingHole", pins=0)).kind is Kind.HOLE


def test_intent_counts_before_the_drawing() -> None:
    kinds = circuit_of("U1 mystery 1:A N1 2:B N2 3:C N3 = kind module\n").view(Kinds)

    assert kinds.kind("U1") is Kind.MODULE
    assert kinds.evidence("U1").startswith("intent")


def test_the_fact_of_a_part_counts_before_its_symbol() -> None:
    """A socket's symbol with the number of a diode in its value is a place for that diode."""
    found = told(drawn("U9", "Thing", "BAT54C", pins=3))

    assert found.kind is Kind.DIODE
    assert found.evidence.startswith("facts")


def test_a_header_named_for_a_sensor_is_where_its_module_is_plugged_in() -> None:
    assert told(drawn("J9", "Conn_01x04", "BME280", pins=4)).kind is Kind.CONNECTOR
    assert told(drawn("P1", "", "BME280", pins=4)).kind is Kind.CONNECTOR
    assert told(drawn("U9", "", "BME280", pins=8)).kind is Kind.SENSOR


def test_pins_of_a_gate_deny_the_fact_of_a_diode() -> None:
    assert told(drawn("Q1", "", "BAT54", pins=["G", "D", "S"])).kind is Kind.FET
    assert told(drawn("Q1", "", "BAT54", pins=["A", "K", "S"])).kind is Kind.DIODE


def test_a_usb_connector_without_pin_names_stays_one() -> None:
    assert told(drawn("J1", "USB_C_Receptacle", pins=16)).kind is Kind.USB_CONNECTOR
    other = drawn("J1", "USB_Shield", pins=["A", "B"])
    assert told(other).kind is Kind.CONNECTOR


def test_a_part_marked_not_fitted_is_not_fitted_and_one_stated_so_neither() -> None:
    kinds = circuit_of("R1? 1k A B\nR2 1k A B = fitting not fitted\nR3 1k A B\n").view(Kinds)

    assert kinds.fitted == {"R3"}
    assert kinds.fitted_of(Kind.RESISTOR) == ("R3",)


COPPER = [
    drawn("P3", "USB-PADS", footprint="edge:USB_Card_Edge", fitted=False),
    drawn("AE1", "Antenna", footprint="rf:PCB_Trace_Antenna", pins=1, fitted=False),
    drawn("JP1", "SolderJumper_2_Bridged", fitted=False),
    drawn("TP1", "TestPoint", footprint="TestPoint_Pad_D1.0mm", pins=1, fitted=False),
]


@pytest.mark.parametrize("part", COPPER, ids=lambda part: part.reference)
def test_copper_drawn_as_a_part_is_always_there(part: Part) -> None:
    assert part.reference in circuit_with(part).view(Kinds).fitted


def test_a_header_or_resistor_not_fitted_is_not_copper() -> None:
    for part in (
        drawn("J1", "Conn_01x02", footprint="PinHeader_1x02", fitted=False),
        drawn("R1", "R", footprint="R_0603_Pad1.0x0.9mm", fitted=False),
    ):
        assert circuit_with(part).view(Kinds).fitted == frozenset()


def test_a_part_that_is_not_on_the_board_is_unknown() -> None:
    assert circuit_of("R1 1k A B\n").view(Kinds).kind("R9") is Kind.UNKNOWN
