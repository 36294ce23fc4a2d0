"""Batches of boards: their spread against sums by hand, corners, shares, and what is told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.circuit.emptied import THERMAL_VOLTAGE, Sloping
from tests.circuit.lives import FLAT, SLOPE, TEN_OHM

from boardvet.circuit.batch import AT_ONCE, SEED, Batches, Lives
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.variation import Quantity, RandomBoards
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

STRING = f"""
BT1 cell/holder VBAT GND
~ cell: {FLAT.page("2 V")}
U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance 50 ohm = sleep_current 0 A = supply 1.8 to 5 V
R1 100 P0 N1 = tolerance 5 %
D1 led N1 GND = forward_voltage 1.9 V at 7.3 mA = emission 2 = series_resistance 6 ohm
~ pattern: [{{lights: [D1]}}]
"""
"""One string on a cell whose voltage never falls and that has no resistance."""

COIN = """
BT1 CR2032 VBAT GND
U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance 30 ohm = sleep_current 1 uA = supply 1.8 to 5 V
R1 220 P0 N1
D1 led N1 GND = forward_voltage 1.9 V at 5 mA = colour red
~ pattern: [{lights: [D1], for: 20 ms, every: 1 s}]
"""

MANY = 4000


def batches(board: str) -> Batches:
    return circuit_of(board).view(Batches)


def typical(board: str) -> float:
    return circuit_of(board).view(Discharge).run_time


def spread(lives: Lives) -> float:
    """Return the standard deviation of run times over their mean."""
    return float(lives.run_times.std() / lives.run_times.mean())


def by_hand(*, pin: float = 0.3, forward: float = 0.1, capacity: float = 0.1) -> float:
    """Return the root of the sum of squares of what each quantity does to the run time of STRING.

    I = (V − Vf(I)) / (R + Rpin), so with D = R + Rpin + Rs + n·Vt/I: dI/I = −dR/D, −dRpin/D, and
    −dVf/(D·I). The run time is Q/I, and the charge counts as it is. A third of each limit.
    """
    current = 1.0
    for _ in range(200):
        inner = 6.0 * 7.3e-3 + 2.0 * THERMAL_VOLTAGE * math.log(7.3e-3 / current)
        voltage = 1.9 - inner + 6.0 * current
        current = (current + (3.0 - voltage) / 150.0) / 2.0
    slope = 156.0 + 2.0 * THERMAL_VOLTAGE / current
    parts = (0.05 * 100.0 / slope, pin * 50.0 / slope, forward / (slope * current), capacity)
    return math.sqrt(sum((part / 3.0) ** 2 for part in parts))


def test_the_spread_of_one_string_is_the_root_of_the_sum_of_squares() -> None:
    """1.0, 3.1, 2.8 and 3.3 % make 5.4 %; of 4,000 boards known to within 1 in 90."""
    lives = batches(STRING).drawn(MANY)

    assert by_hand() == pytest.approx(0.0542, abs=2e-4)
    assert spread(lives) == pytest.approx(by_hand(), rel=0.03)
    assert lives.run_times.mean() == pytest.approx(typical(STRING), rel=0.005)


def test_the_spread_follows_a_wider_tolerance() -> None:
    """20 % of 100 ohm beside the rest: 4.1 % more, in the root of the sum of squares."""
    wide = STRING.replace("tolerance 5 %", "tolerance 20 %")
    squares = by_hand() ** 2 + (0.2**2 - 0.05**2) * (100.0 / 163.1 / 3.0) ** 2

    assert spread(batches(wide).drawn(MANY)) == pytest.approx(math.sqrt(squares), rel=0.03)


def test_a_steady_load_spreads_by_the_charge_alone() -> None:
    """A tenth to the limit (makers print 200 to 250 mAh): a thirtieth."""
    board = f"BT1 cell/holder VBAT GND\n~ cell: {FLAT.page('2 V')}\n" + (
        "U1 mcu VCC+ VBAT GND- GND = sleep_current 1 mA = supply 1.8 to 5 V"
    )

    assert spread(batches(board).drawn(MANY)) == pytest.approx(0.1 / 3, rel=0.03)


def test_what_stops_a_board_early_spreads_with_the_resistance_of_its_cell() -> None:
    """By hand: 10 ohm times 2 to the power of d at 50 mA: 3.2 V − 1.2 V · u − 0.5 V · 2^d = 2.2 V.

    Of 4,000 boards the run time over the charge, at known shares of the drawn resistances.
    """
    board = (
        f"BT1 cell/holder VBAT GND\n~ cell: {TEN_OHM.page('0.1 V')}\n"
        "U1 mcu VCC+ VBAT GND- GND = sleep_current 0 A = supply 2.2 to 5 V\n"
        "~ pattern: [{part: U1, current: 50 mA, for: 20 ms, every: 1 s}]"
    )
    lives = batches(board).drawn(MANY).run_times / typical(board)
    deviation = np.random.default_rng(1).standard_normal((2, 100_000)) / 3.0
    used = (3.2 - 2.2 - 0.5 * 2.0 ** deviation[0]) / 1.2
    expected = used / (0.5 / 1.2) * (1.0 + 0.1 * deviation[1])

    assert lives.std() == pytest.approx(expected.std(), rel=0.05)
    assert np.percentile(lives, [5, 50, 95]) == pytest.approx(
        np.percentile(expected, [5, 50, 95]), rel=0.03
    )


@pytest.mark.parametrize("board", [STRING, COIN], ids=["one string", "a real coin cell"])
def test_the_corners_bracket_the_typical_board_and_nearly_all_that_are_drawn(board: str) -> None:
    found = batches(board)
    worst, best = found.corners()
    lives = found.drawn(1000).run_times

    assert worst < typical(board) < best
    assert ((lives > worst) & (lives < best)).mean() > 0.999


def test_the_corners_are_boards_drawn_at_their_limits() -> None:
    """R1 of 95 ohm, 35 ohm of the pin, 1.8 V, a tenth less charge; and the other way round."""
    low = STRING.replace("R1 100", "R1 95R").replace("50 ohm", "35 ohm").replace("1.9 V", "1.8 V")
    high = STRING.replace("R1 100", "R1 105R").replace("50 ohm", "65 ohm").replace("1.9 V", "2 V")
    worst, best = batches(STRING).corners()

    assert worst == pytest.approx(0.9 * typical(low), rel=1e-3)
    assert best == pytest.approx(1.1 * typical(high), rel=1e-3)


def drawn_by_hand(number: int) -> str:
    """Return the sloping board of `SLOPING`, as its `number`-th random board was drawn."""
    boards = RandomBoards(20, SEED)

    def of(quantity: Quantity, part: str) -> float:
        return float(boards.of(quantity, part)[number])

    own = 2.0 ** of(Quantity.CELL_RESISTANCE, "BT1")
    cell = SLOPE._replace(
        ohms_fresh=SLOPE.ohms_fresh * own,
        ohms_empty=SLOPE.ohms_empty * own,
        charge=SLOPE.charge * (1.0 + 0.1 * of(Quantity.CAPACITY, "BT1")),
    )
    return sloping(
        cell,
        f"{100.0 * (1.0 + 0.05 * of(Quantity.RESISTANCE, 'R1')):.6f}R",
        30.0 * (1.0 + 0.3 * of(Quantity.PIN_RESISTANCE, "U1")),
        1.9 + 0.1 * of(Quantity.FORWARD_VOLTAGE, "D1"),
    )


def sloping(cell: Sloping, ohms: str, pin: float, forward: float) -> str:
    """Two modes on a sloping cell: one steady and heavy, one that flashes for most of the time."""
    return f"""
    BT1 cell/holder VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance {pin} ohm = sleep_current 1 uA
    U2 sensor VDD+ VBAT GND- GND = sleep_current 2 uA = supply 2.2 to 5 V
    R1 {ohms} P0 N1 = tolerance 5 %
    D1 led N1 GND = forward_voltage {forward} V at 10 mA = emission 2 = series_resistance 6 ohm
    ~ cell: {cell.page("0.1 V")}
    ~ modes:
    ~   day: {{share: 1 h per day, pattern: [{{part: U2, current: 8 mA}}]}}
    ~   night: {{pattern: [{{lights: [D1], for: 20 ms, every: 100 ms}}]}}
    """


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5, 6])
def test_a_board_drawn_runs_as_long_as_the_same_board_stated(number: int) -> None:
    """A batch is solved at few shares of the charge; the board that was drawn, at all of them."""
    lives = batches(sloping(SLOPE, "100R", 30.0, 1.9)).drawn(20)

    assert lives.run_times[number - 1] == pytest.approx(typical(drawn_by_hand(number)), rel=0.01)


def test_a_reservoir_carries_the_burst_on_boards_at_their_limits_too() -> None:
    """The worst cell has twice the resistance and a tenth less charge: on that one the capacitor
    carries even more of the burst than on a typical one, which a batch does not credit it with.

    Without the capacitor 50 mA would dip 1 V there, and the board not even start.
    """

    def board(cell: Sloping, capacitor: str) -> str:
        return f"""
        BT1 cell/holder VBAT GND
        ~ cell: {cell.page("0.1 V")}
        U1 mcu VCC+ VBAT GND- GND = sleep_current 0 A = supply 2.2 to 5 V
        {capacitor}
        ~ pattern: [{{part: U1, current: 50 mA, for: 10 ms, every: 1 s}}]
        """

    twice = TEN_OHM._replace(ohms_fresh=20.0, ohms_empty=20.0, charge=0.9 * TEN_OHM.charge)
    fitted = "C1 2200u/6.3V VBAT GND = kind capacitor = series_resistance 0.5 ohm"
    worst = batches(board(TEN_OHM, fitted)).corners().worst

    assert 0.7 * typical(board(twice, fitted)) < worst < typical(board(twice, fitted))
    assert batches(board(TEN_OHM, "")).corners().worst < 0.1 * worst


def test_a_share_of_boards_reaches_a_time() -> None:
    lives = Lives(np.array([1.0, 2.0, 3.0, 4.0]))

    assert [lives.share_reaching(wanted) for wanted in (0.5, 3.0, 4.5)] == [1.0, 0.5, 0.0]


def test_half_of_the_boards_reach_the_typical_run_time() -> None:
    lives = batches(STRING).drawn(MANY)

    assert lives.share_reaching(typical(STRING)) == pytest.approx(0.5, abs=0.03)


def test_the_same_boards_are_drawn_again() -> None:
    one, other = batches(COIN).drawn(50), batches(COIN).drawn(50)

    assert (one.run_times == other.run_times).all()


def test_another_seed_draws_other_boards_of_the_same_spread() -> None:
    one, other = batches(STRING).drawn(MANY), batches(STRING).drawn(MANY, seed=3)

    assert (one.run_times != other.run_times).all()
    assert spread(one) == pytest.approx(spread(other), rel=0.06)


def test_another_part_on_the_board_draws_the_same_boards() -> None:
    """A sensor of 1 nA changes no run time that could be seen."""
    more = STRING + "U9 sensor VDD+ VBAT GND- GND = sleep_current 1 nA = supply 1 to 5 V\n"
    one, other = batches(STRING).drawn(50), batches(more).drawn(50)

    assert other.run_times == pytest.approx(one.run_times, rel=1e-5)


def test_boards_drawn_in_several_goes_are_those_drawn_in_one() -> None:
    few, many = batches(STRING).drawn(AT_ONCE), batches(STRING).drawn(AT_ONCE + 20)

    assert len(many.run_times) == AT_ONCE + 20
    assert many.run_times[:AT_ONCE] == pytest.approx(few.run_times, rel=1e-9)


def test_progress_is_told_as_boards_are_done() -> None:
    told: list[tuple[str, int, int]] = []

    def progress(what: str, done: int, of: int) -> None:
        told.append((what, done, of))

    circuit = circuit_of(STRING)
    circuit.progress = progress
    circuit.view(Batches).drawn(AT_ONCE + 20)

    assert told == [("boards drawn", done, AT_ONCE + 20) for done in (AT_ONCE, AT_ONCE + 20)]


def test_a_batch_that_was_drawn_is_kept() -> None:
    found = batches(STRING)

    assert found.drawn(10) is found.drawn(10)


@pytest.mark.parametrize(("times", "share"), [(0.6, 1.0), (1.5, 0.0)])
def test_no_board_is_drawn_where_the_corners_decide(times: float, share: float) -> None:
    """The corners lie some 15 standard deviations apart; those drawn say the same."""
    told: list[str] = []
    circuit = circuit_of(STRING)
    circuit.progress = lambda what, done, of: told.append(what)
    found = circuit.view(Batches)
    wanted = times * typical(STRING)

    assert found.reaching(wanted) == share
    assert not told
    assert found.drawn(200).share_reaching(wanted) == share


def test_the_share_that_reaches_a_time_is_that_of_the_largest_batch_drawn() -> None:
    """At 27.5 h some nine of ten do; a hundred boards and ten differ in their share."""
    found = batches(STRING)
    wanted = 0.93 * typical(STRING)
    found.drawn(10)
    found.drawn(100)

    assert found.reaching(wanted) == found.drawn(100).share_reaching(wanted)
    assert found.reaching(wanted, 10) == found.drawn(10).share_reaching(wanted)
    assert found.reaching(wanted) != found.reaching(wanted, 10)


def test_what_nobody_knows_is_asked_for() -> None:
    with pytest.raises(MissingFact):
        batches("BT1 CR2032 VBAT GND\nR1 R VBAT GND").drawn(10)
