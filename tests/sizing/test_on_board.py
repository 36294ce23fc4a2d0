"""Chargers, crystals, pull-ups, bases, gates and dividers on a board: put back and solved."""

from __future__ import annotations

import pytest

from boardvet.circuit.charging import Charger, Charging
from boardvet.circuit.handle import Circuit
from boardvet.circuit.values import Values
from boardvet.circuit.what_if import with_value
from boardvet.quantity import show
from boardvet.sizing import names
from boardvet.sizing.on_board import find, given_on_board
from boardvet.sizing.on_board import names as board_names
from boardvet.sizing.on_board._outcome import NotSized, Outcome, Sized
from boardvet.testing import circuit_of

CHARGER = """
J1 connector/in 1: VBUS 2: GND
~ sources: {J1: {net: VBUS, voltage: 5 V}}
BT1 lithium-ion CELL GND
~ cell: {part: BT1, type: lithium-ion, capacity: 250 mAh}
U1 charger/MCP73831 VDD+ VBUS VSS- GND VBAT> CELL PROG SET = program_gain 1000 V
R1 2k SET GND
"""

CRYSTAL = """
BT1 CR2032 VDD GND
U1 mcu VCC+ VDD GND- GND XTAL1 X1 XTAL2 X2
Y1 crystal/32.768kHz X1 X2 = load_capacitance 6 pF
C1 22p X1 GND
C2 22p X2 GND
"""

BUS = """
J1 connector/in 1: VDD 2: GND
~ sources: {J1: {net: VDD, voltage: 3.3 V}}
U1 mcu VCC+ VDD GND- GND PB0 SDA
U2 sensor VDD+ VDD GND- GND SDA SDA
R1 10k VDD SDA
~ nets: {SDA: {bus: i2c, speed: 400 kHz, capacitance: 200 pF}}
"""

TRANSISTOR = """
J1 connector/in 1: VDD 2: GND
~ sources: {J1: {net: VDD, voltage: 3.0 V}}
U1 mcu VCC+ VDD GND- GND PB0 ON = pin_resistance 1 mohm at 3 V
R1 10k ON B
Q1 bipolar-transistor/MMBT3904 B B C K E GND = channel npn
R2 100 VDD N1
D1 led N1 K = forward_voltage 1.95 V at 10 mA
"""

GATE = """
J1 connector/in 1: VDD 2: GND
~ sources: {J1: {net: VDD, voltage: 3.2 V}}
U1 mcu VCC+ VDD GND- GND PB0 ON = pin_resistance 1 mohm at 3 V = pin_current_max 20 mA
R1 10 ON G
R2 1M G GND
Q1 fet/2N7002 G G D K S GND = channel n
"""

DIVIDER = """
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 4.2 V}}
U1 mcu VCC+ VIN GND- GND PB0< SENSE
R1 100k VIN SENSE
R2 100k SENSE GND
"""

FEEDBACK = """
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 5 V}}
U1 regulator VIN VIN GND- GND VOUT> VOUT FB FB = output 3.0 V = reference_voltage 0.6 V
R1 100k VOUT FB
R2 100k FB GND
"""


def sized(name: str, board: str, **given: object) -> tuple[Circuit, Sized]:
    circuit = circuit_of(board)
    (found,) = find(name, circuit, given)
    assert isinstance(found, Sized), found
    return circuit, found


def refused(name: str, board: str, **given: object) -> NotSized:
    (found,) = find(name, circuit_of(board), given)
    assert isinstance(found, NotSized), found
    return found


def changes(found: Sized) -> dict[str, str]:
    return {change.reference: change.after for change in found.changes}


def put_back(circuit: Circuit, found: Sized) -> Circuit:
    for change in found.changes:
        circuit = with_value(circuit, change.reference, change.after)
    return circuit


def none(name: str, board: str, **given: object) -> list[Outcome]:
    return list(find(name, circuit_of(board), given))


def test_what_can_be_sized_on_a_board_can_be_sized_without_one() -> None:
    from boardvet.sizing import calculation

    for name in board_names():
        fields = {field.name for field in calculation(name).fields()}
        assert set(given_on_board(name)) <= fields
    assert set(board_names()) <= set(names())


class TestCharge:
    def test_the_set_resistor_is_put_back_and_the_charger_asked(self) -> None:
        """By hand: 1000 V / 100 mA = 10 kΩ; 100 mA over 250 mAh is 0.4 C."""
        circuit, found = sized("charge", CHARGER, current=0.1)

        assert changes(found) == {"R1": "10 kΩ"}
        after = put_back(circuit, found)
        (charger,) = Charger.on(after)
        reached = after.view(Charging).setting(charger).highest.value
        assert reached == pytest.approx(0.1)
        assert found.solved == (f"U1 charges with {show(reached, 'A')}",)
        assert "0.4 C" in found.answer.notes[0]

    def test_a_value_that_is_right_stays(self) -> None:
        _, found = sized("charge", CHARGER.replace("R1 2k", "R1 10K"), current=0.1)
        assert [change.stays for change in found.changes] == [True]

    @pytest.mark.parametrize(
        ("board", "given", "missing"),
        [
            (CHARGER, {}, "the current that U1 is meant to charge with is not known"),
            (CHARGER, {"current": 0.6}, "over the 500 mA"),
            (CHARGER, {"current": 0.01}, "under the 15 mA"),
            (CHARGER.replace("R1 2k SET GND", "R1 2k SET N1\nR2 2k N1 GND"), {"current": 0.1},
             "no single resistor sets its current"),
            (CHARGER.replace("R1 2k SET GND", "R1 2k SET N1\nSW1 switch N1 GND"),
             {"current": 0.1}, "no single resistor sets its current"),
        ],
        ids=["no wish", "too much", "too little", "two resistors", "switched"],
    )  # fmt: skip
    def test_what_stands_against_it(
        self, board: str, given: dict[str, object], missing: str
    ) -> None:
        assert missing in refused("charge", board, **given).missing


class TestCrystal:
    def test_both_capacitors_are_put_back(self) -> None:
        """STM32F103, DocID13587 s. 5.3.6: CL 6 pF, Cstray 2 pF: 8 pF each; E12 has 8.2 pF.

        By hand: 4.1 pF + 2 pF = 6.1 pF.
        """
        from boardvet.quantity.statement import Span

        circuit, found = sized("crystal", CRYSTAL, stray=Span(2e-12, 2e-12))

        assert changes(found) == {"C1": "8.2 pF", "C2": "8.2 pF"}
        values = put_back(circuit, found).view(Values).of_part
        assert values["C1"].value == values["C2"].value == pytest.approx(8.2e-12)
        assert found.solved == ("Y1 sees 6.1 pF and is made for 6 pF",)

    def test_what_is_fitted_stays_where_it_is_nearer(self) -> None:
        from boardvet.quantity.statement import Span

        board = CRYSTAL.replace("22p", "8p")
        _, found = sized("crystal", board, stray=Span(2e-12, 2e-12))
        assert found.answer.chosen[0].series == "as fitted"

    @pytest.mark.parametrize(
        ("board", "missing"),
        [
            (CRYSTAL.replace(" = load_capacitance 6 pF", ""), "load capacitance of Y1"),
            (CRYSTAL.replace("C2 22p X2 GND\n", ""), "it has 1 and 0 capacitors at its pins"),
        ],
    )
    def test_what_is_missing(self, board: str, missing: str) -> None:
        assert missing in refused("crystal", board).missing


class TestPullup:
    def test_the_line_is_solved_while_it_is_held_low(self) -> None:
        """TI SLVA689 s. 4: 966.667 Ω to 1.77 kΩ. By hand: (3.3 − 0.4) V / 1.2 kΩ = 2.417 mA."""
        _, found = sized("pullup", BUS)

        assert changes(found) == {"R1": "1.2 kΩ"}
        assert found.solved == ("2.42 mA while held at 400 mV; rises in 203 ns",)

    def test_a_pull_up_between_the_limits_stays(self) -> None:
        _, found = sized("pullup", BUS.replace("10k", "1k5"))

        assert (changes(found), found.answer.chosen[0].series) == ({"R1": "1.5 kΩ"}, "as fitted")

    def test_what_is_stated_on_the_command_line_counts_first(self) -> None:
        """By hand: 1000 ns / (0.8473 · 200 pF) = 5.9 kΩ; √(967 · 5901) = 2389; E12 2.2 kΩ."""
        _, found = sized("pullup", BUS, speed=100e3)
        assert changes(found) == {"R1": "2.2 kΩ"}

    @pytest.mark.parametrize(
        ("board", "missing", "how"),
        [
            (BUS.replace(", capacitance: 200 pF", ""), "capacitance of SDA is not known",
             "nets: {SDA: {capacitance: 60 pF}}, or say capacitance behind pullup"),
            (BUS.replace("speed: 400 kHz, ", ""), "speed of SDA is not known", "speed: 400 kHz"),
            (BUS.replace("R1 10k VDD SDA\n", ""), "no resistors on the board pull SDA up", "one"),
            (BUS.replace("R1 10k VDD SDA", "R1 10k VDD SDA\nR2 10k VDD SDA"), "2 resistors",
             "one"),
        ],
        ids=["no capacitance", "no speed", "no pull-up", "two"],
    )  # fmt: skip
    def test_what_is_missing_is_said(self, board: str, missing: str, how: str) -> None:
        found = refused("pullup", board)
        assert missing in found.missing
        assert how in found.how


class TestBase:
    def test_the_current_of_the_light_behind_it_decides(self) -> None:
        """About 10 mA through D1: by hand (3.0 − 1.95) V / (100 + 10) Ω = 9.5 mA; 2.15 V / 0.95 mA
        = 2.26 kΩ; below it E12 has 2.2 kΩ. A small junction drops 0.70 V − 45 mV · ln 9 − 5 mV =
        0.596 V at 1.1 mA, so the base takes 2.404 V / 2.2 kΩ = 1.09 mA.
        """
        _, found = sized("base", TRANSISTOR)

        assert found.answer.chosen[0].wanted == pytest.approx(2260, rel=0.03)
        assert changes(found) == {"R1": "2.2 kΩ"}
        fresh = float(found.solved[0].split(" mA")[0])
        assert fresh == pytest.approx(1.093, abs=0.005)

    def test_a_stated_current_counts_before_it(self) -> None:
        """By hand: 2.15 V / 2 mA = 1075 Ω; E12 below it 1.0 kΩ."""
        _, found = sized("base", TRANSISTOR, collector_current=20e-3)
        assert changes(found) == {"R1": "1 kΩ"}

    def test_a_load_of_unknown_current_is_asked_for(self) -> None:
        board = TRANSISTOR.replace(
            "D1 led N1 K = forward_voltage 1.95 V at 10 mA", "M1 motor N1 K"
        )
        found = refused("base", board)
        assert found.missing == "the current that Q1 switches is not known"
        assert 'collector_current="20 mA" behind base' in found.how


class TestGate:
    def test_both_resistors_are_put_back_and_the_gate_solved(self) -> None:
        """By hand: 3.2 V / 20 mA = 160 Ω of E24; 0.25 V / 1 µA = 250 kΩ, E24 below it 240 kΩ.

        3.2 V · 240 / 240.16 = 3.198 V at the gate; 3.2 V / 240.16 kΩ = 13.3 µA.
        """
        _, found = sized("gate", GATE, threshold=0.5)

        assert changes(found) == {"R1": "160 Ω", "R2": "240 kΩ"}
        assert found.solved == ("gate at 3.2 V while on, fresh; the pin carries 13.3 µA then",)

    def test_resistors_on_the_right_side_of_their_limits_stay(self) -> None:
        board = GATE.replace("R1 10 ", "R1 1k ").replace("R2 1M", "R2 100k")
        _, found = sized("gate", board, threshold=0.5)
        assert [chosen.series for chosen in found.answer.chosen] == ["as fitted", "as fitted"]
        assert changes(found) == {"R1": "1 kΩ", "R2": "100 kΩ"}

    def test_a_resistor_that_is_not_drawn_is_suggested(self) -> None:
        _, found = sized("gate", GATE.replace("R2 1M G GND\n", ""), threshold=0.5)
        assert [(change.reference, change.after) for change in found.changes] == [
            ("R1", "160 Ω"),
            ("", "240 kΩ"),
        ]

    def test_a_gate_tied_to_ground_or_a_rail_has_no_resistors(self) -> None:
        tied = GATE.replace("G G D", "G GND D").replace("PB0 ON", "PB0 ON PB1 BOOT")
        assert none("gate", tied + "R3 10k BOOT GND\n", threshold=0.5) == []

    def test_the_threshold_is_asked_for(self) -> None:
        found = refused("gate", GATE)
        assert found.missing == "lowest gate threshold of Q1 is not known"


class TestDivider:
    def test_a_stated_target_is_reached_when_solved(self) -> None:
        """4.2 V to 1.1 V within 25 µA · 1.2. By hand: any pair of ratio 0.2619 within 1 %."""
        _, found = sized("divider", DIVIDER, input=4.2, output=1.1)

        volts = found.solved[0].split(" V ")[0]
        assert float(volts) == pytest.approx(1.1, rel=0.0105)
        assert found.subject == "SENSE"

    def test_it_draws_no_more_than_a_little_more_than_before(self) -> None:
        """By hand: 200 kΩ draw 21 µA at 4.2 V; a fifth more is 25.2 µA, so 167 kΩ or more."""
        _, found = sized("divider", DIVIDER, input=4.2, output=1.1)
        assert 166e3 <= sum(chosen.value for chosen in found.answer.chosen) <= 370e3

    def test_without_a_target_its_purpose_is_not_guessed(self) -> None:
        assert none("divider", DIVIDER) == []

    def test_a_stated_target_is_not_that_of_a_regulator(self) -> None:
        _, found = sized("divider", FEEDBACK, input=4.2, output=1.1)
        top, bottom = (chosen.value for chosen in found.answer.chosen)
        assert top / bottom == pytest.approx(4.0, rel=0.02)

    def test_that_of_a_regulator_has_its_target_from_the_part(self) -> None:
        """By hand: 0.6 V of 3.0 V is a fifth: 4 to 1, such as 120 and 30 kΩ."""
        _, found = sized("divider", FEEDBACK)

        top, bottom = (chosen.value for chosen in found.answer.chosen)
        assert top / bottom == pytest.approx(4.0, rel=0.02)
        assert found.subject == "U1"
        assert found.solved[0].endswith("at FB for 3 V")

    def test_a_regulator_of_unknown_reference_is_asked_for_it(self) -> None:
        found = refused("divider", FEEDBACK.replace(" = reference_voltage 0.6 V", ""))
        assert "reference voltage of U1 is not known" in found.missing
