"""Which cells feed a board: where they are recognised, their poles, curve and highest voltage.

Voltages and resistances are stated by the tests, or those of RULES.md ("Which end of the range":
lithium coin 3.35 V, alkaline 1.65 V a cell).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.circuit.drawn import drawn

from boardvet.board import Board, Bom, BomLine, Part, Place
from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.handle import Circuit
from boardvet.circuit.sources import SourceKind, Sources
from boardvet.errors import MissingFact
from boardvet.facts import FactBook
from boardvet.intent import Intent
from boardvet.testing import circuit_of

LOAD = "U1 mcu VCC+ VBAT GND- GND\n"


def only_cell(text: str) -> Cell:
    (cell,) = circuit_of(text).view(Cells).all
    return cell


def of_part(part: Part, *, line: BomLine | None = None) -> Cell:
    """The cell of one drawn part, with a line of the BOM."""
    alone = replace(part, pins=tuple(pin._replace(net=None) for pin in part.pins))
    bom = Bom((line,), {}) if line else None
    board = Board("drawn", {part.reference: alone}, {}, bom)
    (cell,) = Circuit(board, Intent.empty(), FactBook(board, Intent.empty())).view(Cells).all
    return cell


def bought(reference: str, **cells: str) -> BomLine:
    texts = {"value": "", "footprint": "", "part_number": "", "description": ""} | cells
    return BomLine(
        (reference,),
        texts["value"],
        texts["footprint"],
        texts["part_number"],
        "",
        texts["description"],
        1.0,
        True,
        {},
        Place("parts.csv", 4),
    )


NETLIST = [
    drawn("BT1", value="CR2032"),
    drawn("BT1", footprint="holders:Coin_CR2032"),
    drawn("BT1", "Holder_CR2032"),
    drawn("BT1", description="holder for a CR2032 coin"),
]


@pytest.mark.parametrize("part", NETLIST, ids=["value", "footprint", "symbol", "description"])
def test_the_netlist_s_texts_tell_the_cell(part: Part) -> None:
    cell = of_part(part)

    assert cell.designation == "CR2032"
    assert cell.source == "netlist drawn.net:7"


@pytest.mark.parametrize("column", ["value", "part_number", "description", "footprint"])
def test_the_bom_line_tells_the_cell_where_the_netlist_does_not(column: str) -> None:
    cell = of_part(drawn("BT1", value="Battery"), line=bought("BT1", **{column: "CR2450"}))

    assert cell.designation == "CR2450"
    assert cell.source == "bom parts.csv:4"


def test_what_is_bought_says_more_than_a_holder_s_footprint() -> None:
    """A rechargeable LIR2032 fits where a CR2032 fits, and must not be taken for a primary."""
    part = drawn("BT1", value="Battery", footprint="Coin_CR2032")
    cell = of_part(part, line=bought("BT1", part_number="LIR2032"))

    assert cell.designation == "LIR2032"


@pytest.mark.parametrize(
    ("value", "designation"),
    [("2032 4.2V", ""), ("2032 3V", "CR2032"), ("LiPo 3.7V", "lithium-ion"), ("LiPo 7.4V", "")],
)
def test_a_voltage_beside_the_name_must_be_the_cell_s_own(value: str, designation: str) -> None:
    assert of_part(drawn("BT1", value=value, footprint="Coin_CR2032")).designation == designation


def test_a_voltage_may_be_that_of_all_cells_in_the_holder() -> None:
    cell = of_part(drawn("BT1", value="2xAAA 3V"))

    assert (cell.designation, cell.series) == ("LR03", 2)


def test_the_intent_page_counts_before_the_netlist() -> None:
    cell = only_cell(f"BT1 CR2032 VBAT GND\n{LOAD}~ cell: {{part: BT1, type: CR2450}}\n")

    assert cell.designation == "CR2450"
    assert cell.source.startswith("intent")


def test_a_cell_stated_without_a_part_is_that_of_the_only_holder() -> None:
    assert only_cell(f"BT1 cell + VBAT - GND\n{LOAD}~ cell: {{type: CR2450}}\n").designation == (
        "CR2450"
    )


def test_a_part_stated_as_the_cell_is_one_whatever_it_is_drawn_as() -> None:
    cell = only_cell(f"X1 thing VBAT GND\n{LOAD}~ cell: {{part: X1, type: LR6, series: 2}}\n")

    assert (cell.reference, cell.designation, cell.series) == ("X1", "LR6", 2)


CONNECTORS = [
    "J1 connector/BATTERY 1: VIN1 2: GND",
    "J1 connector/LiPo 1: VIN1 2: GND",
    "J1 connector/conn 1: VBAT 2: GND",
    "J1 connector/conn 1: +BATT 2: GND",
    "J1 connector/conn 1: VBAT_RAW 2: GND",
    "J1 connector @Battery_JST 1: VIN1 2: GND",
]


@pytest.mark.parametrize("connector", CONNECTORS)
def test_a_connector_of_two_poles_that_says_battery_is_one(connector: str) -> None:
    cell = only_cell(connector + "\n" + LOAD)

    assert cell.reference == "J1"
    assert cell.minus == "GND"
    assert cell.plus != "GND"
    assert cell.plugged


NO_BATTERY = [
    "J1 connector/conn 1: VCC 2: GND",
    "J1 connector/conn 1: VBAT_SENSE 2: GND",
    "J1 connector/conn 1: BAT_LED 2: GND",
    "J1 connector/conn 1: BATCH 2: GND",
    "J1 connector/conn 1: VBAT 2: SDA 3: SCL 4: GND",
    "J1 connector/accurate 1: VIN1 2: GND",
    "J1 connector/BATTERY 1: A 2: B 3: C 4: GND",
    "J1? connector/BATTERY 1: VIN1 2: GND",
    "TP1 test-point/BAT 1: VBAT",
]


@pytest.mark.parametrize("connector", NO_BATTERY)
def test_other_connectors_are_none(connector: str) -> None:
    assert circuit_of(connector + "\nU1 mcu VCC+ VCC GND- GND\n").view(Cells).all == ()


def test_a_connector_on_the_net_of_a_holder_is_no_second_cell() -> None:
    text = f"BT1 CR2032 VBAT GND\nJ1 connector/conn 1: VBAT 2: GND\n{LOAD}"

    assert only_cell(text).reference == "BT1"


def test_of_two_connectors_on_one_battery_net_the_first_counts() -> None:
    text = f"J1 connector/a 1: VBAT 2: GND\nJ2 connector/b 1: VBAT 2: GND\n{LOAD}"

    assert only_cell(text).reference == "J1"


CHARGER = "U2 charger VCC+ VBUS GND- GND BAT {} PROG P\n"


@pytest.mark.parametrize(
    "way", [CHARGER.format("_N1"), CHARGER.format("CELL") + "SW1 switch _N1 CELL\n"]
)
def test_a_connector_at_a_charger_s_battery_pin_holds_the_battery(way: str) -> None:
    cell = only_cell("J1 connector/conn 1: _N1 2: GND\n" + way)

    assert (cell.reference, cell.plus) == ("J1", "_N1")


def test_a_battery_s_third_wire_is_not_its_pole() -> None:
    """Packs bring a thermistor out on a third wire."""
    cell = only_cell(f"J1 connector/BATTERY 1: NTC 2: VBAT 3: GND\n{LOAD}")

    assert (cell.plus, cell.minus) == ("VBAT", "GND")


@pytest.mark.parametrize(
    ("ends", "plus", "minus"),
    [
        ("+ VBAT - GND", "VBAT", "GND"),
        ("1:- GND 2:+ VBAT", "VBAT", "GND"),
        ("1: GND 2: VBAT", "VBAT", "GND"),
        ("1: TOP 2: LOW", "TOP", "LOW"),
    ],
    ids=["by name", "by name in the other order", "minus on ground", "pin 1 is plus"],
)
def test_poles_are_told_by_name_then_by_ground_then_by_number(
    ends: str, plus: str, minus: str
) -> None:
    cell = only_cell(f"BT1 cell {ends}\nU1 mcu VCC+ VBAT GND- GND\n")

    assert (cell.plus, cell.minus) == (plus, minus)


def test_holders_in_series_are_two_cells_of_which_one_stands_on_the_other() -> None:
    lower, upper = circuit_of(f"BT1 LR6 MID GND\nBT2 LR6 VBAT MID\n{LOAD}").view(Cells).all

    assert upper.minus == lower.plus == "MID"


def test_two_cells_in_one_holder_double_voltage_and_resistance() -> None:
    """By hand: 1.5 V and 0.2 ohm a cell are 3.0 V and 0.4 ohm for two in series."""
    cell = only_cell(
        f"BT1 cell + VBAT - GND\n{LOAD}~ cell: {{part: BT1, type: LR6, series: 2,"
        " voltage: 1.5 V at 0 % and 1.0 V at 100 %, resistance: 0.2 ohm}\n"
    )

    assert cell.voltages()[0] == pytest.approx(3.0)
    assert cell.voltages()[-1] == pytest.approx(2.0)
    assert cell.curve.resistance_points[0][1] == pytest.approx(0.4)


def test_two_cells_side_by_side_halve_the_resistance_and_keep_the_voltage() -> None:
    """By hand: 0.2 ohm beside 0.2 ohm are 0.1 ohm."""
    cell = only_cell(
        f"BT1 cell + VBAT - GND\n{LOAD}~ cell: {{part: BT1, type: LR6, parallel: 2,"
        " voltage: 1.5 V at 0 % and 1.0 V at 100 %, resistance: 0.2 ohm}\n"
    )

    assert cell.voltages()[0] == pytest.approx(1.5)
    assert cell.curve.resistance_points[0][1] == pytest.approx(0.1)


def test_a_stated_curve_is_used_as_given_and_cited() -> None:
    cell = only_cell(
        f"BT1 CR2032 VBAT GND\n{LOAD}~ cell: {{part: BT1, type: CR2032,"
        " voltage: 3.1 V at 0 % and 2.9 V at 50 % and 2.0 V at 100 %, resistance: 12 ohm}\n"
    )

    assert cell.voltages()[5] == pytest.approx(3.0)
    assert cell.curve_source.startswith("intent")
    assert cell.resistance_source.startswith("intent")
    assert cell.highest().value == pytest.approx(3.1)
    assert cell.highest().source.startswith("intent")


def test_a_curve_that_nobody_states_is_that_of_the_type() -> None:
    cell = only_cell(f"BT1 CR2032 VBAT GND\n{LOAD}")

    assert not cell.curve_source.startswith("intent")
    assert not cell.resistance_source.startswith("intent")


@pytest.mark.parametrize(
    ("value", "volts"), [("CR2032", 3.35), ("LR6", 1.65), ("2xLR6", 3.3), ("LiPo", 4.25)]
)
def test_the_highest_voltage_is_that_of_a_fresh_cell_times_the_cells(
    value: str, volts: float
) -> None:
    """RULES.md: lithium coin 3.35 V, alkaline 1.65 V, lithium-ion 4.25 V a cell."""
    assert only_cell(f"BT1 {value} VBAT GND\n{LOAD}").highest().value == pytest.approx(volts)


@pytest.mark.parametrize(
    ("holder", "line"),
    [
        ("BT1 cell + VBAT - GND", "cell: {part: BT1, type: CR2032}"),
        ("J1 connector/BATTERY 1: VBAT 2: GND", "cell: {part: J1, type: LiPo}"),
    ],
)
def test_a_cell_of_unknown_type_is_undetermined_with_a_line_to_paste(
    holder: str, line: str
) -> None:
    cell = only_cell(f"{holder}\n{LOAD}")

    for ask in (cell.need_chemistry, cell.voltages, cell.highest, lambda: cell.curve_source):
        with pytest.raises(MissingFact) as raised:
            ask()
        assert raised.value.key == "cell"
        assert raised.value.how.startswith(line)


def test_the_line_to_paste_makes_the_cell_known() -> None:
    with pytest.raises(MissingFact) as raised:
        only_cell(f"BT1 cell + VBAT - GND\n{LOAD}").need_chemistry()

    assert only_cell(f"BT1 cell + VBAT - GND\n{LOAD}~ {raised.value.how}\n").type is not None


@pytest.mark.parametrize(
    ("board", "line"),
    [
        ("J1 connector/x 1: SDA 2: SCL\nJ2 connector/y 1: VIN 2: GND", "cell: {part: J2, type: "),
        ("J1 connector/x 1: SDA 2: SCL\nJ2 connector/y 1: VCC 2: GND 3: A", "cell: {part: J2, "),
        ("R1 1k VBAT GND", "cell: {type: "),
    ],
    ids=["two poles", "a supply and ground", "nothing"],
)
def test_a_board_without_a_cell_asks_for_it_at_a_part_that_is_there(board: str, line: str) -> None:
    with pytest.raises(MissingFact) as raised:
        circuit_of(f"{board}\n{LOAD}").view(Cells).need_any()

    assert raised.value.of == "board"
    assert raised.value.how.startswith(line)


def test_a_holder_that_is_not_fitted_is_no_cell() -> None:
    assert circuit_of(f"BT1? CR2032 VBAT GND\n{LOAD}").view(Cells).all == ()


def test_each_cell_is_a_source_at_its_plus() -> None:
    sources = circuit_of(f"BT1 CR2032 VBAT GND\n{LOAD}").view(Sources)

    (source,) = sources.all
    assert (source.reference, source.kind, source.node) == ("BT1", SourceKind.CELL, "VBAT")


def test_an_assumed_curve_is_listed_as_an_assumption() -> None:
    circuit = circuit_of("BT1 CR2032 VBAT GND\nC1 1u VBAT GND")

    with circuit.noting() as noted:
        circuit.view(Cells).all[0].rest_on_curve(circuit, resistance=True)

    assert {what.split(" of ")[0] for what in noted} == {"voltage", "resistance"}
    assert all(assumed.source.startswith("assumed") for assumed in noted.values())


def test_a_stated_curve_is_no_assumption() -> None:
    circuit = circuit_of(
        "BT1 CR2032 VBAT GND\nC1 1u VBAT GND\n"
        "~ cell: {part: BT1, voltage: 3 V at 0 % and 2 V at 100 %, resistance: 15 ohm}"
    )

    with circuit.noting() as noted:
        circuit.view(Cells).all[0].rest_on_curve(circuit, resistance=True)

    assert noted == {}


def test_without_defaults_an_assumed_curve_is_a_missing_fact() -> None:
    circuit = circuit_of("BT1 CR2032 VBAT GND\nC1 1u VBAT GND", assume_nothing=True)

    with pytest.raises(MissingFact, match="only assumed") as missing:
        circuit.view(Cells).all[0].rest_on_curve(circuit)

    assert missing.value.key == "voltage"


def test_capacity_is_stated_then_printed_then_that_of_the_type() -> None:
    """By hand: 200 mAh are 720 C, 500 mAh 1800 C; the encyclopaedia's CR2032 has 225 mAh."""
    page = "~ cell: {part: J1, capacity: 200 mAh}\n"
    pouch = "J1 connector/LiPo_500mAh 1: VBAT 2: GND"
    stated = only_cell(f"{pouch}\n{LOAD}{page}").capacity
    printed = only_cell(f"{pouch}\n{LOAD}").capacity
    table = only_cell(f"BT1 CR2032 VBAT GND\n{LOAD}").capacity

    assert stated is not None
    assert printed is not None
    assert table is not None
    assert (stated.value, printed.value, table.value) == pytest.approx((720, 1800, 810))
    assert stated.source.startswith("intent")
    assert printed.source.startswith("netlist")
    assert table.source.startswith("facts")


def test_what_is_printed_counts_only_for_the_cell_that_is_fitted() -> None:
    """The page states another cell than the drawing: the drawing's capacity is not its own."""
    cell = only_cell(f"BT1 CR2032_225mAh VBAT GND\n{LOAD}~ cell: {{part: BT1, type: LIR2032}}\n")
    assert cell.capacity is not None
    assert cell.capacity.value == pytest.approx(40 * 3.6)


@pytest.mark.parametrize("kind", ["LiPo", "lithium-ion"])
def test_what_is_printed_counts_where_the_page_names_the_same_cell(kind: str) -> None:
    page = f"~ cell: {{part: J1, type: {kind}}}\n"
    cell = only_cell(f"J1 connector/LiPo_500mAh 1: VBAT 2: GND\n{LOAD}{page}")

    assert cell.capacity is not None
    assert cell.capacity.value == pytest.approx(1800)


def test_cells_side_by_side_multiply_what_belongs_to_one_cell() -> None:
    """By hand: 2 · 225 mAh, 2 · 3 mA, 2 · 15 mA; a stated capacity is that of the holder."""
    page = "~ cell: {part: BT1, type: CR2032, parallel: 2"
    two = only_cell(f"BT1 CR2032 VBAT GND\n{LOAD}{page}}}\n")
    said = only_cell(f"BT1 CR2032 VBAT GND\n{LOAD}{page}, capacity: 400 mAh}}\n")

    assert two.capacity is not None
    assert said.capacity is not None
    assert two.continuous_current is not None
    assert two.pulse_current is not None
    assert two.capacity.value == pytest.approx(450 * 3.6)
    assert said.capacity.value == pytest.approx(400 * 3.6)
    assert two.continuous_current.value == pytest.approx(6e-3)
    assert two.pulse_current.value == pytest.approx(30e-3)


def test_cells_in_a_row_leave_the_capacity_and_raise_the_end() -> None:
    """By hand: two alkaline cells of 0.8 V end at 1.6 V."""
    cell = only_cell(f"BT1 2xLR6 VBAT GND\n{LOAD}")

    assert cell.capacity is not None
    assert cell.capacity.value == pytest.approx(2900 * 3.6)
    assert cell.end_voltage.value == pytest.approx(1.6)


def test_a_stated_stop_is_that_of_the_holder() -> None:
    page = "~ cell: {part: BT1, type: 2xLR6, stop: 2.2 V}\n"
    end = only_cell(f"BT1 cell + VBAT - GND\n{LOAD}{page}").end_voltage

    assert end.value == pytest.approx(2.2)
    assert end.source.startswith("intent")


def test_an_unknown_capacity_is_undetermined_with_a_line_to_paste() -> None:
    board = f"J1 connector/LiPo 1: VBAT 2: GND\n{LOAD}"
    with pytest.raises(MissingFact) as raised:
        only_cell(board).need_capacity()

    assert (raised.value.of, raised.value.key) == ("J1", "capacity")
    assert only_cell(f"{board}~ {raised.value.how}\n").need_capacity().value > 0


@pytest.mark.parametrize("kind", ["LiPo", "LIR2032"])
def test_the_rating_of_a_rechargeable_follows_its_stated_capacity(kind: str) -> None:
    """1 C of 400 mAh is 400 mA, an assumption of the chemistry; the table's LIR2032 has 40 mAh."""
    page = f"~ cell: {{part: J1, type: {kind}, capacity: 400 mAh}}\n"
    current = only_cell(f"J1 connector/LiPo 1: VBAT 2: GND\n{LOAD}{page}").continuous_current

    assert current is not None
    assert current.value == pytest.approx(0.4)
    assert current.assumed


@pytest.mark.parametrize(
    ("milliamperes", "share"),
    [(0.05, 1.0), (0.2, 1.0), (0.5, 0.95), (3.0, 0.6), (30.0, 0.6)],
)
def test_a_coin_cell_gives_less_at_a_higher_current(milliamperes: float, share: float) -> None:
    """Nordic, "Improve battery life": most at 0.5 mA steady, 60 % at 3 mA; rated at 0.2 mA."""
    cell = only_cell(f"BT1 CR2032 VBAT GND\n{LOAD}")

    assert cell.share_left(milliamperes * 1e-3) == pytest.approx(share, abs=0.005)
    assert cell.rate.source.startswith("assumed")


@pytest.mark.parametrize(
    "stated", ["capacity: 225 mAh", "voltage: 3 V at 0 % and 2 V at 100 %", "resistance: 15 ohm"]
)
def test_a_stated_cell_is_used_as_given_at_every_rate(stated: str) -> None:
    page = f"~ cell: {{part: BT1, type: CR2032, {stated}}}\n"
    cell = only_cell(f"BT1 CR2032 VBAT GND\n{LOAD}{page}")

    assert cell.share_left(3e-3) == 1.0
    assert cell.rate.source.startswith("intent")


def test_self_discharge_is_that_of_the_chemistry() -> None:
    """Energizer CR2032: 1 to 2 % a year, so 1.5 % in 8766 h."""
    loss = only_cell(f"BT1 CR2032 VBAT GND\n{LOAD}").self_discharge

    assert loss is not None
    assert loss.value * 8766 * 3600 == pytest.approx(0.015)
    assert only_cell(f"BT1 cell + VBAT - GND\n{LOAD}").self_discharge is None
