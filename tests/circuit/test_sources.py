"""What can feed a board besides cells: USB, solar cells, stated inputs, programming headers."""

from __future__ import annotations

import pytest

from boardvet.circuit.sources import Source, SourceKind, Sources, is_programming_header
from boardvet.testing import circuit_of

MCU = "U1 mcu VCC+ VDD GND- GND RESET< NRST MISO MI MOSI MO SCK CK\n"


def sources(text: str, kind: SourceKind) -> list[Source]:
    return list(circuit_of(text).view(Sources).of_kind(kind))


def is_header(text: str) -> bool:
    return is_programming_header(circuit_of(text + "\n" + MCU), "J1")


@pytest.mark.parametrize(
    "pins",
    [
        "VBUS VUSB D+ P D- N GND GND",
        "1:VCC VUSB 2:D- N 3:D+ P 4:GND GND",
        "A1: GND A4: VUSB A6: P A7: N B1: GND",
        "1: VUSB 2: N 3: P 4: GND",
    ],
    ids=["VBUS", "VCC", "numbers of Type-C", "numbers of the older connectors"],
)
def test_a_usb_connector_feeds_the_net_of_its_supply_pin(pins: str) -> None:
    """USB Type-C table 3-4: A4, A9, B4, B9 are VBUS. USB 2.0 table 6-1: contact 1 is VBUS."""
    (found,) = sources(f"J1 usb-connector {pins}\n{MCU}", SourceKind.USB)

    assert found.node == "VUSB"
    assert found.highest == 5.5


def test_a_usb_connector_with_named_pins_and_no_supply_feeds_nothing() -> None:
    assert sources(f"J1 usb-connector D+ P D- N GND GND\n{MCU}", SourceKind.USB) == []


def test_a_connector_is_no_source_until_somebody_states_it() -> None:
    board = f"J1 connector/inlet 1: VIN 2: GND\n{MCU}"
    assert circuit_of(board).view(Sources).all == ()

    (found,) = sources(board + "~ sources: {J1: {voltage: 4 to 6 V}}\n", SourceKind.STATED)

    assert (found.node, found.highest) == ("VIN", 6.0)


def test_a_stated_usb_connector_counts_as_stated_only() -> None:
    board = f"J1 usb-connector VBUS VUSB GND GND\n{MCU}~ sources: {{J1: {{voltage: 5 V}}}}\n"

    assert [s.kind for s in circuit_of(board).view(Sources).all] == [SourceKind.STATED]


@pytest.mark.parametrize("ends", ["+ SUN - GND", "1:- GND 2:+ SUN", "1: GND 2: SUN"])
def test_a_solar_cell_feeds_its_plus(ends: str) -> None:
    (found,) = sources(f"PV1 solar-cell {ends}\n{MCU}", SourceKind.SOLAR)

    assert found.node == "SUN"


HEADERS = [
    "J1 connector/SWD 1: VDD 2: GND",
    "J1 connector/ISP 1: VDD 2: GND",
    "J1 connector/x @Tag-Connect_6 1: VDD 2: GND",
    "J1 connector/x 1: VDD 2: SWDIO 3: SWCLK 4: GND",
    "J1 connector/x 1: VDD 2: DUT_SWDIO 3: DUT_SWDCLK 4: GND",
    "J1 connector/x 1:TMS A 2:TCK B 3: VDD 4: GND",
    "J1 connector/x 1: VDD 2: UPDI 3: GND",
    "J1 connector/x 1: PGD 2: PGC 3: VDD 4: GND",
    "J1 connector/x 1:MISO MI 2:MOSI MO 3:SCK CK 4: NRST 5: VDD 6: GND",
    "J1 connector/x 1: DTR 2: TXD 3: RXD 4: VDD 5: GND",
]


@pytest.mark.parametrize("header", HEADERS)
def test_words_or_a_pair_of_its_lines_make_a_programming_header(header: str) -> None:
    assert is_header(header)


OTHERS = [
    "J1 connector/DISPLAY 1: VDD 2: GND",
    "J1 connector/PROGRESS 1: VDD 2: GND",
    "J1 connector/x 1: TFT_MOSI 2: TFT_SCK 3: TFT_RST 4: TFT_CS 5: VDD 6: GND",
    "J1 connector/card 1:MISO MI 2:MOSI MO 3:SCK CK 4: CS 5: VDD 6: GND",
    "J1 connector/x 1: TXD 2: RXD 3: VDD 4: GND",
    "J1 connector/x 1: SWDIO 2: GND",
    "J1 connector/x " + " ".join(f"{n}: N{n}" for n in range(1, 30)) + " 30: SWDIO 31: SWCLK",
]


@pytest.mark.parametrize("header", OTHERS)
def test_a_display_a_card_or_an_extension_is_no_programming_header(header: str) -> None:
    assert not is_header(header)


def test_a_header_feeds_each_supply_that_it_carries() -> None:
    board = f"J1 connector/SWD 1: VDD 2: VBUS 3: GND 4: SWDIO\n{MCU}"

    assert [s.node for s in sources(board, SourceKind.HEADER)] == ["VDD", "VBUS"]


def test_a_header_without_a_supply_feeds_nothing() -> None:
    assert sources(f"J1 connector/SWD 1: SWDIO 2: SWCLK 3: GND\n{MCU}", SourceKind.HEADER) == []


def test_everyday_sources_are_neither_cells_nor_headers() -> None:
    board = (
        "BT1 CR2032 VDD GND\nJ1 connector/SWD 1: VDD 2: GND\n"
        f"J2 usb-connector VBUS VUSB GND GND\n{MCU}"
    )
    found = circuit_of(board).view(Sources)

    assert [s.reference for s in found.besides_cells] == ["J2"]
    assert [s.label for s in found.all] == ["BT1", "J2 (USB)", "J1 (programmer)"]
