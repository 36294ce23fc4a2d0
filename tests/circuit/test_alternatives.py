"""Other cells on a board: judged by hand sums, ranked, refused, and a regulator between."""

from __future__ import annotations

import pytest

from boardvet.circuit.alike import families, solve_together
from boardvet.circuit.alternatives import Alternative, Alternatives, Fate, alternatives, life_on
from boardvet.circuit.candidates import candidates
from boardvet.circuit.cells import Cells
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.glow import meant
from boardvet.circuit.handle import Circuit
from boardvet.circuit.unfit import charged, too_high
from boardvet.circuit.what_if import with_cell
from boardvet.circuit.workload import Workloads
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

DAY, HOUR = 86400.0, 3600.0

PULSED = "10 mA, for: 100 ms, every: 10 s"
STEADY = "100 uA"
HEAVY = "20 mA, for: 100 ms, every: 60 s"


def board(
    cell: str = "type: CR2032",
    draws: str = "2 mA, for: 5 ms, every: 10 s",
    supply: str = "1.8 to 3.6 V",
    page: str = "~ run_time: 200 days",
) -> Circuit:
    """A controller straight on one holder."""
    return circuit_of(f"""
BT1 cell/holder VBAT GND
~ cell: {{part: BT1, {cell}}}
U1 controller/M1 VCC+ VBAT GND- GND = supply {supply} = sleep_current 0 uA
~ pattern: [{{name: work, part: U1, current: {draws}}}]
{page}
""")


def stated(ohms: float, draws: str) -> Circuit:
    """100 mAh that fall in a straight line from 3 V to 2 V; what it feeds stops below 2.4 V."""
    cell = (
        "type: CR2032, capacity: 100 mAh, voltage: 3.0 V at 0 % and 2.0 V at 100 %, "
        f"resistance: {ohms} ohm"
    )
    return board(cell, draws, "2.4 to 3.6 V")


@pytest.fixture(scope="module")
def compared() -> Alternatives:
    return alternatives(board())


def of(found: Alternatives, label: str) -> Alternative:
    (one,) = [each for each in found.ranked if each.label == label]
    return one


# Another cell on the board


def test_another_cell_stands_in_every_holder_and_nothing_stated_of_the_old_ones_counts() -> None:
    before = circuit_of("""
BT1 cell/holder TOP MID
BT2 cell/holder MID GND
~ cell: [{part: BT1, type: CR2032, capacity: 999 mAh, stop: 2.9 V},
~        {part: BT2, type: CR2032, voltage: 2.5 V, resistance: 99 ohm}]
""")
    after = with_cell(before, "LR03", series=2, parallel=3)

    # LR03: 1200 mAh (data), three side by side; alkaline ends at 0.8 V, two in a row.
    for cell in after.view(Cells).all:
        assert (cell.designation, cell.series, cell.parallel) == ("LR03", 2, 3)
        assert cell.need_capacity().value == pytest.approx(3 * 1200 * 3.6)
        assert cell.end_voltage.value == pytest.approx(1.6)
        assert cell.curve.voltage_points[0][1] == pytest.approx(2 * 1.59)
        assert cell.curve.resistance_points[0][1] < 1.0
    assert [cell.designation for cell in before.view(Cells).all] == ["CR2032", "CR2032"]
    assert before.view(Cells).all[0].need_capacity().value == pytest.approx(999 * 3.6)


def test_what_is_printed_on_the_old_holder_is_not_the_charge_of_another_cell() -> None:
    before = circuit_of("BT1 cell/CR2032-300mAh VBAT GND")
    after = with_cell(before, "CR2450")
    assert before.view(Cells).all[0].need_capacity().value == pytest.approx(300 * 3.6)
    assert after.view(Cells).all[0].need_capacity().value == pytest.approx(620 * 3.6)


def test_candidates_make_about_the_voltage_of_what_is_fitted() -> None:
    labels = {each.label for each in candidates(board())}
    assert {"CR2450", "2 × LR03", "2 × HR6", "2 × SR44", "18650", "3 × HR03"} <= labels
    assert not {"LR6", "HR6", "3 × LR6", "6LR61", "2 × CR2032", "2 × 18650"} & labels

    one = circuit_of("BT1 cell/LR6 VBAT GND\n~ cell: {part: BT1, type: LR6}")
    labels = {each.label for each in candidates(one)}
    assert {"HR6", "FR6", "SR44"} <= labels
    assert not {"CR2032", "2 × HR6", "18650"} & labels


# Cells of one chemistry solved together


def test_cells_solved_together_are_what_each_is_by_itself() -> None:
    """With lights, a reservoir and the cold, where the resistance counts most."""
    lit = circuit_of("""
BT1 cell/holder VBAT GND
~ cell: {part: BT1, type: CR2032}
C1 100u/6.3V VBAT GND
U1 controller/M1 VCC+ VBAT GND- GND PB0 LAMP = pin_resistance 30 ohm at 3 V = sleep_current 0 uA
R1 330 LAMP N1
D1 led/red N1 GND = forward_voltage 1.9 V at 10 mA
~ pattern: [{name: blink, lights: [D1], for: 20 ms, every: 1 s}]
~ temperature: -10 to 30 degC
""")
    names = ["CR1220", "CR2032", "CR2477", "BR2032"]
    together = [with_cell(lit, name) for name in names]
    groups = families(together)
    assert sorted(map(len, groups)) == [1, 3]
    for group in groups:
        solve_together(group)
    for name, circuit in zip(names, together, strict=True):
        alone = with_cell(lit, name).view(Discharge)
        assert Workloads in circuit._views
        own = circuit.view(Discharge)
        assert own.run_time == pytest.approx(alone.run_time, rel=1e-4)
        assert own.stop.used == pytest.approx(alone.stop.used, rel=1e-4)


# Run time, dip, ranking


def test_of_equal_cells_the_one_of_less_resistance_lasts_longer_where_the_load_is_pulsed() -> None:
    """3 V − u − R · 10 mA = 2.4 V: u = 0.5 behind 10 Ω, 0.2 behind 40 Ω; mean current 0.1 mA.

    500 h and 200 h. At a steady 0.1 mA the dips are 1 mV and 4 mV: 599 h and 596 h. Less than 1 %
    is lost by self-discharge (1.5 % a year).
    """
    for ohms, used, dip in ((10.0, 0.5, 0.1), (40.0, 0.2, 0.4)):
        life = life_on(stated(ohms, PULSED), {})
        assert life.run_time == pytest.approx(used * 1000 * HOUR, rel=0.01)
        assert life.dip == pytest.approx(dip, rel=1e-3)
        assert life.stranded == pytest.approx((1 - used) * 360.0, rel=1e-3)
        assert life.stop.floor is not None
        assert life.stop.floor.reference == "U1"
    for ohms, hours in ((10.0, 599), (40.0, 596)):
        life = life_on(stated(ohms, STEADY), {})
        assert life.run_time == pytest.approx(hours * HOUR, rel=0.01)
        assert life.dip == pytest.approx(ohms * 1e-4, rel=1e-3)


def test_cells_of_equal_charge_change_places_where_the_load_is_pulsed() -> None:
    """CR1225 and BR1225 both hold 48 mAh; the resistance of BR is one and a half that of CR.

    BR is the flatter one, so that it keeps 2.6 V longer at next to no load; 8 mA drop 0.4 V
    behind the 51 Ω of CR1225 and 0.6 V behind the 77 Ω of BR1225, which falls below 2.6 V at once.
    """
    orders = []
    for draws in ("2 uA", "8 mA, for: 20 ms, every: 60 s"):
        found = alternatives(board(draws=draws, supply="2.6 to 3.6 V", page=""))
        lives = {label: of(found, label).life for label in ("CR1225", "BR1225")}
        capacities = {life.capacity for life in lives.values() if life is not None}
        assert capacities == {48 * 3.6}
        places = [each.label for each in found.ranked if each.label in lives]
        orders.append(places)
    assert orders == [["BR1225", "CR1225"], ["CR1225", "BR1225"]]


def test_those_that_meet_the_time_come_lightest_first_then_the_short_ones_longest_first(
    compared: Alternatives,
) -> None:
    target = 200 * DAY
    found = alternatives(board(draws=HEAVY, page="~ run_time: 60 days"))
    fates = [each.fate for each in found.ranked]
    assert fates == sorted(fates)
    assert {Fate.MEETS, Fate.SHORT, Fate.HARMS} <= set(fates)
    masses = [each.mass for each in found.ranked if each.fate is Fate.MEETS and each.mass]
    assert masses == sorted(masses)
    short = [e.life.lasts for e in found.ranked if e.fate is Fate.SHORT and e.life is not None]
    assert short == sorted(short, reverse=True)
    assert all(time < 60 * DAY for time in short)
    meeting = [e for e in compared.ranked if e.fate is Fate.MEETS]
    assert all(e.life is not None and e.life.lasts >= target for e in meeting)


def test_without_a_time_wanted_the_longest_run_time_a_gram_comes_first() -> None:
    found = alternatives(board(page=""))
    running = [e for e in found.ranked if e.fate is Fate.RUNS]
    rates = [e.life.lasts / e.mass for e in running if e.life is not None and e.mass is not None]
    assert len(rates) > 20
    assert rates == sorted(rates, reverse=True)
    assert found.wanted is None


def test_the_fitted_cell_is_there_once_and_is_what_the_board_has(compared: Alternatives) -> None:
    assert [each.label for each in compared.ranked if each.fitted] == ["CR2032"]
    assert [each.label for each in compared.ranked].count("CR2032") == 1
    assert compared.fitted.life is not None
    assert compared.fitted.life.run_time == pytest.approx(board().view(Discharge).run_time)

    own = alternatives(board("type: CR2032, capacity: 100 mAh"))
    assert own.fitted.life is not None
    assert own.fitted.life.capacity == pytest.approx(360.0)


def test_two_cells_in_a_row_weigh_twice_as_much_and_rechargeables_are_marked(
    compared: Alternatives,
) -> None:
    """Energizer sheets, as in the data: an LR6 weighs 23 g."""
    assert of(compared, "2 × LR6").mass == pytest.approx(0.046)
    marked = {each.label for each in compared.ranked if each.rechargeable}
    assert {"2 × HR6", "ML2032", "18650"} <= marked
    assert not {"CR2032", "2 × LR6", "2 × FR6"} & marked


def test_corners_lie_about_the_typical_run_time(compared: Alternatives) -> None:
    alkaline = of(compared, "2 × LR03")
    corners = alkaline.corners()
    assert corners is not None
    assert alkaline.life is not None
    assert corners.worst < alkaline.life.run_time < corners.best


def test_progress_is_told_to_the_last_cell() -> None:
    told: list[tuple[int, int]] = []
    found = alternatives(board(), lambda done, of_all: told.append((done, of_all)))
    assert told[-1] == (len(found.ranked), len(found.ranked))
    assert [done for done, _ in told] == sorted({done for done, _ in told})


def test_what_a_cell_is_not_rated_for_is_said() -> None:
    """A CR1220 stands pulses of 5 mA (hobby table), a CR2032 of 15 mA: 8 mA are asked."""
    found = alternatives(board(draws="8 mA, for: 5 ms, every: 10 s", supply="1.8 to 5.5 V"))
    small, large = of(found, "CR1220").life, of(found, "CR2032").life
    assert small is not None
    assert large is not None
    assert small.strain is not None
    assert (small.strain.asked, small.strain.rated) == pytest.approx((8e-3, 5e-3), rel=1e-3)
    assert large.strain is None


# What is refused


def test_a_part_that_fresh_cells_would_harm_is_named_with_both_voltages(
    compared: Alternatives,
) -> None:
    """Lithium-ion: 4.2 V ±0.05 V (Samsung sheet); Energizer L91: 1.83 V fresh, two in a row."""
    for label, volts in (("18650", "4.25 V"), ("2 × FR6", "3.66 V")):
        refused = of(compared, label)
        assert refused.fate is Fate.HARMS
        assert refused.life is None
        assert refused.trouble == ("too high: U1 stands 3.6 V", f"fresh up to {volts}")
    assert of(alternatives(board(supply="1.8 to 5.5 V")), "18650").fate is Fate.MEETS


def test_the_limit_of_a_part_turns_at_the_highest_voltage_of_a_fresh_cell() -> None:
    """A fresh CR2032 shows up to 3.35 V (Renata's guide): 3.32 V is 1 % under, 3.38 V 1 % over."""
    assert too_high(board(supply="1.8 to 3.32 V")) is not None
    assert too_high(board(supply="1.8 to 3.38 V")) is None


CHARGED = """
J1 connector/in 1: VIN 2: GND
~ sources: {{J1: {{net: VIN, voltage: 5 V}}}}
U2 charger VDD+ VIN VBAT> VBAT GND- GND = charge_voltage {volts} V
BT1 cell/holder VBAT GND
~ cell: {{part: BT1, type: {cell}, series: {series}}}
"""


@pytest.mark.parametrize(
    ("volts", "cell", "series", "words"),
    [
        (4.2, "CR2032", 1, "U2 would charge it, which it does not stand"),
        (4.2, "LR6", 2, "U2 would charge it, which it does not stand"),
        (4.2, "IFR18650", 1, "U2 would charge it to 4.2 V, which is too much"),
        (4.2, "HR6", 3, "U2 would charge it to 4.2 V and is not made for it"),
        (3.6, "18650", 1, "U2 never fills it"),
        (4.2, "18650", 1, None),
        (3.6, "IFR18650", 1, None),
    ],
)
def test_a_charger_forbids_what_it_is_not_made_for(
    volts: float, cell: str, series: int, words: str | None
) -> None:
    found = charged(circuit_of(CHARGED.format(volts=volts, cell=cell, series=series)))
    assert (found.limit if found is not None else None) == words


def test_a_cell_that_is_pulled_below_what_a_part_needs_at_once_does_not_start() -> None:
    """CR1225: 20 Ω · (20 / 12.5)² = 51 Ω fresh; 20 mA take 1 V off 3.25 V: below 2.7 V."""
    found = alternatives(board(draws="20 mA, for: 100 ms, every: 10 s", supply="2.7 to 3.6 V"))
    weak = of(found, "CR1225")
    assert weak.fate is Fate.FAILS
    assert weak.trouble is not None
    assert weak.trouble.limit == "does not start: U1 needs 2.7 V on VBAT in the first dip"
    assert weak.life is not None
    assert weak.life.dip == pytest.approx(1.024, rel=1e-3)


LIT = """
BT1 cell/holder VBAT GND
~ cell: {part: BT1, type: 14500}
R1 100 VBAT N1
D1 led/white N1 GND = forward_voltage 2.75 V at 1 mA and 3.05 V at 20 mA = current_max 30 mA
~ pattern: [{name: glow, lights: [D1], for: 1 s, every: 10 s}]
"""


def test_a_board_whose_light_is_too_dim_lasts_no_longer_than_the_light() -> None:
    """Two LR6 fall from 3.2 V to 2.2 V, a white light needs some 2.8 V: the cells outlive it."""
    found = alternatives(circuit_of(LIT + "~ run_time: 30 days\n"))
    alkaline = of(found, "2 × LR6")
    assert alkaline.life is not None
    assert alkaline.life.fade is not None
    assert alkaline.life.fade.light == "D1"
    assert alkaline.life.lasts == alkaline.life.fade.after < 30 * DAY
    assert alkaline.life.run_time > 60 * DAY
    assert alkaline.fate is Fate.SHORT
    assert found.fitted.life is not None
    assert found.fitted.life.fade is None


def test_a_light_that_never_has_a_tenth_of_its_current_is_dark() -> None:
    """(3.25 V − 2.7 V) / 100 Ω and less leave some 4 mA of the 100 mA wanted."""
    text = LIT.replace("= current_max 30 mA", "= wanted_current 100 mA = current_max 200 mA")
    coin = of(alternatives(circuit_of(text)), "CR123A")
    assert coin.fate is Fate.FAILS
    assert coin.trouble is not None
    assert coin.trouble.limit == "D1 stays dark"


def test_a_light_above_its_rating_is_no_candidate() -> None:
    """(4.95 V − 3.2 V) / 47 Ω = 37 mA through a light for 30 mA; 4.2 V give (4.2 − 3.1) / 47 Ω."""
    found = alternatives(circuit_of(LIT.replace("R1 100", "R1 47")))
    three = of(found, "3 × LR6")
    assert three.fate is Fate.HARMS
    assert three.trouble is not None
    assert three.trouble.limit == "too much current: D1 stands 30 mA"
    assert of(found, "18650").fate is Fate.RUNS


def test_what_the_fitted_cell_overloads_already_is_not_held_against_others() -> None:
    """(4.2 V − 3.1 V) / 33 Ω = 33 mA through a light for 30 mA, from any lithium-ion cell.

    Three LR6, 4.77 V fresh, drive it with (4.77 − 3.2) / 33 Ω = 48 mA: harder still.
    """
    found = alternatives(circuit_of(LIT.replace("R1 100", "R1 33").replace("3.05 V", "3.0 V")))
    assert found.overloads["D1"].allowed == 0.03
    assert found.overloads["D1"].current == pytest.approx(0.034, rel=0.1)
    assert found.fitted.fate is Fate.RUNS
    assert of(found, "18650").fate is Fate.RUNS
    assert of(found, "3 × LR6").fate is Fate.HARMS


# What is not known


def test_a_fitted_cell_without_capacity_leaves_the_others_to_be_compared() -> None:
    found = alternatives(board("type: LiPo", supply="1.8 to 5.5 V"))
    assert found.fitted.label == "LiPo"
    assert found.fitted.fate is Fate.UNKNOWN
    assert found.fitted.trouble is not None
    assert "capacity: " in found.fitted.trouble.excess
    assert of(found, "18650").fate is Fate.MEETS


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("U1 controller/M1 VCC+ VBAT GND- GND", "cell"),
        ("J1 connector/LiPo 1: VBAT 2: GND\nBT1 cell/holder VBAT GND", "cell"),
        ("BT1 cell/CR2032 VBAT GND\nR1 1k VBAT N1\nD1 led N1 GND", "forward_voltage"),
    ],
)
def test_what_nothing_can_be_compared_without_is_asked_for(text: str, key: str) -> None:
    with pytest.raises(MissingFact) as missing:
        alternatives(circuit_of(text))
    assert missing.value.key == key


def test_nothing_drawn_runs_by_self_discharge_alone() -> None:
    """1.5 % a year: 1 / 0.015 = 67 years."""
    idle = of(alternatives(circuit_of("BT1 cell/CR2032 VBAT GND\nR1 1k VBAT N1")), "CR2450")
    assert idle.life is not None
    assert idle.life.run_time == pytest.approx(66.7 * 365.25 * DAY, rel=0.01)
    assert idle.life.dip == pytest.approx(0.0, abs=1e-6)


def test_what_lights_are_meant_to_have_is_stated_or_what_fresh_cells_give() -> None:
    lit = circuit_of(LIT)
    ((light, fresh),) = meant(lit).items()
    assert light.reference == "D1"
    assert fresh == pytest.approx((4.2 - 2.98) / 100, rel=0.05)
    stated_light = circuit_of(LIT.replace("= current_max", "= wanted_current 7 mA = current_max"))
    assert list(meant(stated_light).values()) == [7e-3]
