"""How long a board runs: against plain integrations, worked examples, and at the limits."""

from __future__ import annotations

import math

import pytest
from tests.circuit.emptied import Light, Sloping, mean_over_charge, run_time
from tests.circuit.lives import FLAT, HOUR, REGULATOR, SLOPE, controller, discharge, drawing, taken

from boardvet.circuit.discharge import Discharge
from boardvet.errors import InputErrors, MissingFact
from boardvet.testing import circuit_of

# Against 2,000 steps


@pytest.mark.parametrize("ohms", [10, 100, 10_000])
def test_a_resistor_on_a_sloping_curve_runs_as_long_as_in_2000_steps(ohms: int) -> None:
    def drawn(volts: float, own: float) -> float:
        return volts / (ohms + own)

    found = discharge(f"R1 {ohms} VBAT GND", cell=SLOPE)

    assert found.run_time == pytest.approx(run_time(SLOPE, drawn), rel=1e-3)


def test_capacity_over_mean_current_is_more_than_a_tenth_off_the_discharge() -> None:
    """10 ohm on 10 to 60 ohm: its current falls to a sixth, and the mean of it over the curve of
    the cell would say a fifth less time than it takes."""

    def drawn(volts: float, own: float) -> float:
        return volts / (10.0 + own)

    divided = SLOPE.charge / mean_over_charge(SLOPE, drawn)
    exact = run_time(SLOPE, drawn)
    found = discharge("R1 10 VBAT GND", cell=SLOPE)

    assert abs(divided / exact - 1) > 0.10
    assert found.run_time == pytest.approx(exact, rel=1e-3)
    assert found.mean_current == pytest.approx(SLOPE.charge / exact, rel=1e-3)


@pytest.mark.parametrize(
    ("light", "end"),
    [
        pytest.param(Light(1.9, 2.0, 6.0, 47.0), 0.1, id="red, to the last"),
        pytest.param(Light(1.9, 2.0, 6.0, 330.0), 2.2, id="red, to 2.2 V"),
        pytest.param(Light(2.6, 2.5, 15.0, 47.0), 0.1, id="goes dark on the way"),
        pytest.param(Light(2.6, 2.5, 15.0, 1000.0), 2.4, id="dim when it ends"),
        pytest.param(Light(3.0, 2.5, 15.0, 47.0), 2.4, id="white, dark long before the end"),
        pytest.param(Light(3.0, 2.5, 15.0, 0.0), 2.6, id="white, no resistor"),
    ],
)
def test_a_light_runs_as_long_as_in_2000_steps(light: Light, end: float) -> None:
    def lasts(volts: float, own: float) -> bool:
        return volts - light.drawn(volts, own) * own >= end

    board = (f"R1 {light.ohms} VBAT N1", f"D1 led N1 GND{light.facts}")
    found = discharge(*board, cell=SLOPE, stop=f"{end} V")

    assert found.run_time == pytest.approx(run_time(SLOPE, light.drawn, lasts), rel=0.01)


def test_a_regulator_that_falls_out_runs_as_long_as_in_2000_steps() -> None:
    """100 ohm behind 2.5 V: 25 mA and 10 µA; out of regulation 2 ohm (100 mV at 50 mA) more in
    the way, until the controller has less than its 1.8 V."""

    def drawn(volts: float, own: float) -> float:
        held = 25e-3 + 10e-6
        if volts - held * own >= 2.5 + 2.0 * 25e-3:
            return held
        return (volts - 10e-6 * own) / (own + 102.0) + 10e-6

    def lasts(volts: float, own: float) -> bool:
        return (drawn(volts, own) - 10e-6) * 100.0 >= 1.8

    found = discharge(REGULATOR, controller(node="VOUT"), "R1 100 VOUT GND", cell=SLOPE)

    assert "U1 needs 1.8 V" in found.stop.reason
    assert 0.2 < found.stop.used < 0.8
    assert found.run_time == pytest.approx(run_time(SLOPE, drawn, lasts), rel=5e-3)


def test_a_pattern_of_pulses_runs_as_long_as_in_2000_steps() -> None:
    """20 mA for 100 ms of each second beside a resistor, until the pulse pulls below 1.8 V."""

    def loaded(volts: float, own: float, load: float) -> float:
        return (volts - load * own) / (1.0 + own / 200.0)

    def drawn(volts: float, own: float) -> float:
        pulse = loaded(volts, own, 20e-3) / 200.0 + 20e-3
        return 0.1 * pulse + 0.9 * loaded(volts, own, 0.0) / 200.0

    def lasts(volts: float, own: float) -> bool:
        return loaded(volts, own, 20e-3) >= 1.8

    found = discharge(
        controller(),
        drawing("current: 20 mA, for: 100 ms, every: 1 s"),
        "R1 200 VBAT GND",
        cell=SLOPE,
    )

    assert 0.2 < found.stop.used < 0.8
    assert found.run_time == pytest.approx(run_time(SLOPE, drawn, lasts), rel=5e-3)


def test_a_light_behind_a_pin_that_flashes_runs_as_long_as_in_2000_steps() -> None:
    light = Light(1.9, 2.0, 6.0, 100.0 + 30.0)

    def drawn(volts: float, own: float) -> float:
        return 0.02 * light.drawn(volts, own) + 1e-6

    found = discharge(
        "U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance 30 ohm = sleep_current 1 uA"
        " = supply 1.0 to 3.6 V",
        "R1 100 P0 N1",
        f"D1 led N1 GND{light.facts}",
        "~ pattern: [{lights: [D1], for: 20 ms, every: 1 s}]",
        cell=SLOPE,
    )

    assert found.run_time == pytest.approx(run_time(SLOPE, drawn), rel=5e-3)


@pytest.mark.parametrize(
    ("entry", "share"),
    [
        pytest.param("lights: [D1], pwm: 10 %", 0.1, id="dimmed all the time"),
        pytest.param("lights: [D1], pwm: 25 %, for: 100 ms, every: 1 s", 0.025, id="and flashed"),
        pytest.param("lights: [D1, D2], in_turn: yes, for: 100 ms, every: 1 s", 0.1, id="in turn"),
    ],
)
def test_a_light_counts_for_the_share_of_the_time_that_it_is_on(entry: str, share: float) -> None:
    light = Light(1.9, 2.0, 6.0, 130.0)
    lights = "".join(f"R{n} 100 P{n} N{n}\nD{n} led N{n} GND{light.facts}\n" for n in (1, 2))
    pins = "U1 mcu VCC+ VBAT GND- GND PB1 P1 PB2 P2 = pin_resistance 30 ohm = sleep_current 0 A"
    page = f"~ pattern: [{{{entry}}}]"
    found = discharge(f"{pins} = supply 1.0 to 5 V", lights + page, cell=FLAT)

    assert taken(found, "D1", "lit").current == pytest.approx(
        share * light.drawn(3.0, 0.0), rel=2e-3
    )


# Worked examples


@pytest.mark.parametrize(
    ("share", "low", "high"),
    [
        pytest.param("", 4.0, 5.0, id="always"),
        pytest.param(", for: 100 ms, every: 1 s", 40.0, 50.0, id="a tenth of the time"),
        pytest.param(", for: 10 ms, every: 1 s", 400.0, 500.0, id="a hundredth of the time"),
    ],
)
def test_five_leds_at_10_ma_on_an_ideal_coin_cell(share: str, low: float, high: float) -> None:
    """Common practice, no source: 200 to 250 mAh give 50 mA for 4 to 5 hours, at 10 % duty for 40
    to 50, at 1 % for hundreds. Of those, self-discharge takes a thousandth."""
    hours = [
        discharge(
            controller(), drawing(f"current: 50 mA{share}"), cell=FLAT._replace(charge=charge)
        ).run_time
        / HOUR
        for charge in (200e-3 * HOUR, 250e-3 * HOUR)
    ]

    assert hours == pytest.approx([low, high], rel=2e-3)


def test_a_real_coin_cell_gives_50_ma_for_less_than_half_an_hour_and_says_why() -> None:
    """20 ohm fresh make 1 V of dip: at 30 ohm or 3.0 V it is at its end of 2.0 V."""
    found = discharge(controller(), drawing("current: 50 mA"))

    assert 0.0 < found.run_time < 0.5 * HOUR
    assert found.stop.reason == "BT1 (CR2032) is at its end of 2 V"
    assert found.stop.used < 0.2


def test_a_real_coin_cell_does_not_start_a_part_that_needs_more_and_says_which() -> None:
    """By hand: 3.25 V − 20 ohm · 50 mA = 2.25 V, and the part needs 2.7 V."""
    found = discharge(controller("2.7 to 3.6 V"), drawing("current: 50 mA"))

    assert found.run_time == 0.0
    assert found.stop.reason == "U1 needs 2.7 V on VBAT"
    assert found.stop.floor is not None
    assert found.stop.floor.reference == "U1"
    assert found.stranded == found.capacity.value


def test_a_clock_of_500_na_on_48_mah_runs_96_000_h_without_self_discharge() -> None:
    """Maxim, "Design considerations for Dallas real-time clocks", Ex. 1, divides 48 mAh by 500 nA.

    The cell also loses 1.5 % a year, 82 nA, which makes it 82 500 h: both are told apart.
    """
    cell = FLAT._replace(charge=48e-3 * HOUR)
    found = discharge(controller(), drawing("current: 500 nA"), cell=cell)
    clock, lost = taken(found, "U1"), taken(found, "BT1", "self-discharge")

    assert found.capacity.value / clock.current / HOUR == pytest.approx(96_000, rel=1e-3)
    assert lost.current == pytest.approx(0.015 * 48e-3 / 8766, rel=1e-3)
    together = 48e-3 / (500e-9 + 0.015 * 48e-3 / 8766)
    assert found.run_time / HOUR == pytest.approx(together, rel=1e-3)


@pytest.mark.parametrize("way", ["~ cell: {part: BT1, type: CR2032, series: 2,", "two holders"])
def test_a_bipolar_555_empties_two_coin_cells_in_75_h(way: str) -> None:
    """Common practice, no source: it wants 4.5 V, so two cells, and 225 mAh / 3 mA = 75 h."""
    timer = "U1 logic/NE555 VCC+ VBAT GND- GND = sleep_current 3 mA = supply 4.5 to 16 V"
    flat = "capacity: 225 mAh, voltage: 3.0 V, resistance: 0 ohm"
    if way == "two holders":
        board = "BT1 CR2032 VBAT MID\nBT2 CR2032 MID GND\n~ cell:\n" + "".join(
            f"~ - {{part: {part}, type: CR2032, {flat}}}\n" for part in ("BT1", "BT2")
        )
    else:
        board = f"BT1 cell/holder VBAT GND\n{way} {flat}}}\n"
    found = circuit_of(board + timer).view(Discharge)

    assert found.run_time / HOUR == pytest.approx(75.0, rel=2e-3)


def test_a_bipolar_555_does_not_start_on_one_coin_cell() -> None:
    found = discharge(
        "U1 logic/NE555 VCC+ VBAT GND- GND = sleep_current 3 mA = supply 4.5 to 16 V"
    )

    assert found.run_time == 0.0
    assert found.stop.reason == "U1 needs 4.5 V on VBAT"


@pytest.mark.parametrize(("milliamperes", "left"), [(3.0, 0.6), (0.5, 0.95), (0.2, 1.0)])
@pytest.mark.parametrize(
    ("cells", "count"),
    [
        pytest.param("BT1 CR2032 VBAT GND", 1, id="one"),
        pytest.param("BT1 CR2032 VBAT MID\nBT2 CR2032 MID GND", 1, id="in series"),
        pytest.param("BT1 CR2032 VBAT GND\nBT2 CR2032 VBAT GND", 2, id="side by side"),
    ],
)
def test_a_real_coin_cell_gives_less_charge_at_a_high_current(
    milliamperes: float, left: float, cells: str, count: int
) -> None:
    """Nordic, "Improve battery life": a steady 0.5 mA leaves most of the charge, taken as 95 %,
    3 mA some 60 %; it is rated at 0.2 mA. At 3 mA each mA uses up 1/0.6 mA, and the rest is named
    as lost. Two cells side by side share the current."""
    amperes = milliamperes * 1e-3 * count
    part = f"U1 mcu VCC+ VBAT GND- GND = sleep_current {amperes} A = supply 1.0 to 7 V"
    found = circuit_of(f"{cells}\n{part}").view(Discharge)
    lost = [each.share for each in found.consumers if each.what == "lost at this rate"]

    assert found.mean_current == pytest.approx(amperes / left, rel=5e-3)
    assert sum(lost) == pytest.approx(1.0 - left, abs=2e-3)


# Limits


def test_a_board_that_draws_nothing_is_emptied_by_self_discharge_alone() -> None:
    """1.5 % a year: 67 years."""
    found = discharge(controller(), drawing("current: 0 A"))

    assert found.run_time / (365.25 * 86400) == pytest.approx(1 / 0.015, rel=1e-3)
    assert [(each.part, each.what) for each in found.consumers] == [("BT1", "self-discharge")]


def test_a_light_that_never_lights_draws_nothing() -> None:
    found = discharge(
        "R1 100 VBAT N1", "D1 led N1 GND = forward_voltage 4.5 V at 5 mA = colour blue"
    )

    assert found.mean_current == pytest.approx(0.015 * 225e-3 / 8766, rel=1e-2)


def test_a_cell_without_resistance_does_not_dip() -> None:
    """By hand: 3.2 V − 1.2 V · u = 2.6 V half way, whatever is drawn."""
    for current in ("1 mA", "100 mA"):
        found = discharge(
            controller("2.6 to 5 V"),
            drawing(f"current: {current}"),
            cell=Sloping(3.2, 2.0, 0.0, 0.0),
        )
        assert found.stop.used == pytest.approx(0.5, abs=1e-6)


def test_a_resistor_of_nothing_ends_it_at_once() -> None:
    found = discharge("R1 0 VBAT GND", cell=SLOPE)

    assert found.run_time == 0.0
    assert found.stop.reason == "BT1 (CR2032) is at its end of 100 mV"


@pytest.mark.parametrize("volts", [1.5, 0.0])
def test_a_cell_stated_as_empty_does_not_start_it(volts: float) -> None:
    found = discharge(controller(), cell=Sloping(volts, volts, 10.0, 10.0), stop="1.0 V")

    assert found.run_time == 0.0
    assert found.stop.reason == "U1 needs 1.8 V on VBAT"


def test_a_pulse_as_long_as_its_period_is_always_on() -> None:
    pulsed = discharge(controller(), drawing("current: 2 mA, for: 1 s, every: 1 s"), cell=SLOPE)
    steady = discharge(controller(), drawing("current: 2 mA"), cell=SLOPE)

    assert pulsed.run_time == pytest.approx(steady.run_time)
    assert pulsed.stop.used == pytest.approx(steady.stop.used)


def test_a_pulse_longer_than_its_period_is_refused_by_line() -> None:
    with pytest.raises(InputErrors, match="3 s is longer than every 1 s"):
        discharge(controller(), drawing("current: 2 mA, for: 3 s, every: 1 s"), cell=SLOPE)


@pytest.mark.parametrize(
    ("lines", "of", "key"),
    [
        pytest.param(
            "R1 100 VBAT N1\nD1 led N1 GND = forward_voltage 2.5 V at 1 mA and 1.9 V at 10 mA",
            "D1",
            "forward_voltage",
            id="forward voltages that contradict each other",
        ),
        pytest.param("R1 R VBAT GND", "R1", "value", id="a resistor without a value"),
        pytest.param(
            "~ modes:\n~   a: {closed: {}}\n~   b: {closed: {}}",
            "modes",
            "share",
            id="modes without a share",
        ),
    ],
)
def test_what_cannot_be_computed_is_asked_for(lines: str, of: str, key: str) -> None:
    with pytest.raises(MissingFact) as missing:
        discharge(lines)
    assert (missing.value.of, missing.value.key) == (of, key)
    assert missing.value.how


def test_a_board_without_a_cell_is_asked_for_one() -> None:
    with pytest.raises(MissingFact) as missing:
        circuit_of("R1 10k VBAT GND").view(Discharge)
    assert missing.value.key == "cell"


def test_a_part_of_which_nobody_knows_what_it_draws_is_named() -> None:
    circuit = circuit_of("BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND = supply 1.8 to 3.6 V")
    found = circuit.view(Discharge)

    assert found.unknown == ("U1",)
    with pytest.raises(MissingFact) as missing:
        found.need_known(circuit)
    assert (missing.value.of, missing.value.key) == ("U1", "sleep_current")


def test_a_part_of_which_nobody_knows_what_it_needs_is_named() -> None:
    found = discharge("U1 mcu VCC+ VBAT GND- GND = sleep_current 1 mA")

    assert found.unjudged == ("U1",)


@pytest.mark.parametrize(
    "lines",
    [
        "",
        "R1 0 VBAT GND",
        "R1 100 VBAT N1\nD1 led N1 GND = forward_voltage 4.5 V at 5 mA = colour blue",
        "R1 100 N1 N2",
    ],
    ids=["nothing", "a short", "a dark light", "a resistor that hangs nowhere"],
)
def test_no_number_of_it_is_none(lines: str) -> None:
    found = discharge(lines, cell=SLOPE)
    numbers = (found.run_time, found.mean_current, found.stranded, found.stop.used)

    assert all(math.isfinite(number) for number in numbers)
    assert all(math.isfinite(each.current) for each in found.consumers)
