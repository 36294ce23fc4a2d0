"""`cell-load`: both ratings walked through, what is left at the rate, modes, what is quiet."""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging, number, only, quiet

from boardvet.circuit.cell_load import CellLoads
from boardvet.circuit.cells import Cells
from boardvet.review.verdict import Found, Level
from boardvet.testing import circuit_of, examples_of
from boardvet_rules.cell.cell_load import Settings
from boardvet_rules.cell.cell_load import check as rule

COIN = "BT1 CR2032 VBAT GND"
MCU = "U1 mcu VCC+ VBAT GND- GND = sleep_current 0 A"


JUDGING = Judging(rule)
review = JUDGING.review


def drawing(*entries: str, cell: str = COIN) -> tuple[str, ...]:
    return (cell, MCU, "~ pattern:", *(f"~ - {{part: U1, {entry}}}" for entry in entries))


@pytest.mark.parametrize("text", examples_of(rule)["Wrong"])
def test_the_page_s_wrong_board_is_a_query(text: str) -> None:
    assert only(review(text)).level is Level.QUERY


@pytest.mark.parametrize(("milliamperes", "found"), [(2.97, False), (3.03, True)])
def test_the_continuous_rating_is_the_limit(milliamperes: float, found: bool) -> None:
    """A CR2032 is rated for 3 mA: one per cent under and over it."""
    done = review(*drawing(f"current: {milliamperes} mA"))

    assert bool(done.findings) is found
    assert found or quiet(done)


@pytest.mark.parametrize(("milliamperes", "found"), [(29.7, False), (30.3, True)])
def test_it_is_the_mean_that_counts(milliamperes: float, found: bool) -> None:
    """100 ms of each second: a tenth, 2.97 and 3.03 mA.

    Beyond the 15 mA of its pulse rating it is a note in either case.
    """
    finding = only(review(*drawing(f"current: {milliamperes} mA, for: 100 ms, every: 1 s")))

    assert (finding.level is Level.QUERY) is found


def test_what_is_left_at_the_rate_is_told() -> None:
    """Nordic: 3 mA leave 60 % of a CR2032's 225 mAh, held beyond: 135 mAh at 6 mA."""
    finding = only(review(*drawing("current: 6 mA")))

    assert number(finding, "share of the capacity left") == pytest.approx(0.6)
    assert "135 of 225 mAh" in finding.message
    assert "2 × LR03" in finding.fix


def test_a_stated_cell_loses_nothing_at_its_rate_but_keeps_its_rating() -> None:
    page = "~ cell: {part: BT1, type: CR2032, capacity: 225 mAh}"
    finding = only(review(*drawing("current: 6 mA"), page))

    assert "left" not in finding.message
    assert finding.level is Level.QUERY


@pytest.mark.parametrize(("milliamperes", "found"), [(14.85, False), (15.15, True)])
def test_the_pulse_rating_is_the_limit_of_a_pulse(milliamperes: float, found: bool) -> None:
    """A CR2032 is rated for 15 mA in pulses; 1 ms of each second is no mean to speak of."""
    done = review(*drawing(f"current: {milliamperes} mA, for: 1 ms, every: 1 s"))

    assert [finding.level for finding in done.findings] == ([Level.NOTE] if found else [])
    assert found or quiet(done)


def test_the_reservoir_carries_the_pulse() -> None:
    """30 mA for 1 ms from 18 to 20 Ω: 470 µF have a time constant of some 9 ms, so the cell gives
    a tenth of it; without them all, and a tenth of the capacitance lets it give two thirds.
    """
    pulse = drawing("current: 30 mA, for: 1 ms, every: 1 s")
    fitted = "{} VBAT GND = dielectric tantalum = voltage_rating 6.3 V"

    assert quiet(review(*pulse, fitted.format("C1 470u")))
    assert "30 mA" in only(review(*pulse)).message
    small = only(review(*pulse, fitted.format("C1 47u")))
    assert "(of 30 mA; the capacitors of its rail give the rest)" in small.message
    # 20 Ω · 47 µF = 0.94 ms; 30 mA · (1 - e^-1.064) = 19.65 mA
    assert number(small, "current in the pulse") == pytest.approx(19.65e-3, rel=0.01)


@pytest.mark.parametrize(
    "between",
    [
        pytest.param(
            ("R1 1k VBAT VX", "C1 470u VX GND", "U2 sensor VDD+ VX GND- GND = sleep_current 0 A"),
            id="behind a resistor",
        ),
        pytest.param(("C1 470u VBAT OUT",), id="not to ground"),
        pytest.param(
            ("U2 regulator VIN+ VBAT VOUT> VX GND- GND = output 2.0 V", "C1 470u VX GND"),
            id="behind a regulator",
        ),
    ],
)
def test_a_capacitor_elsewhere_carries_nothing(between: tuple[str, ...]) -> None:
    pulse = drawing("current: 30 mA, for: 1 ms, every: 1 s")

    assert only(review(*pulse, *between)).level is Level.NOTE


def test_a_pulse_that_comes_too_often_finds_the_reservoir_empty() -> None:
    """5 of each 10 ms: beside a mean of 10 mA no reservoir helps; the mean is what is found."""
    finding = only(
        review(
            *drawing("current: 20 mA, for: 5 ms, every: 10 ms"),
            "C1 1000u VBAT GND = dielectric tantalum = voltage_rating 6.3 V",
        )
    )

    assert finding.level is Level.QUERY
    assert number(finding, "mean current at half charge") == pytest.approx(10e-3)


MODES = (
    COIN,
    MCU,
    "~ modes:",
    "~   shining:",
    "~     share: {share}",
    "~     pattern:",
    "~     - {{part: U1, current: {current}}}",
)


@pytest.mark.parametrize(
    ("share", "current", "level"),
    [
        pytest.param("3 h per day", "4 mA", Level.QUERY, id="an eighth of the time"),
        pytest.param("3 h per day", "2 mA", None, id="its twin within the rating"),
        pytest.param("10 s per h", "4 mA", None, id="seconds are a pulse"),
        pytest.param("10 s per h", "16 mA", Level.NOTE, id="seconds beyond the pulse rating"),
    ],
)
def test_a_mode_is_judged_by_its_own_mean(share: str, current: str, level: Level | None) -> None:
    lines = [line.format(share=share, current=current) for line in MODES[2:]]
    done = review(*MODES[:2], *lines)

    assert [finding.level for finding in done.findings] == ([level] if level else [])
    assert level is None or "in mode shining" in done.findings[0].message


def test_a_mode_with_another_source_does_not_load_the_cell() -> None:
    page = (
        "~ sources: {J1: {net: VIN, voltage: 5 V}}",
        "~ modes:",
        "~   docked: {share: 10 h per day, sources: [J1], pattern: [{part: U1, current: 6 mA}]}",
    )
    docked = review(COIN, "J1 connector/in 1: VIN 2: GND", "D9 diode VIN VBAT", MCU, *page)
    alone = [line.replace(", sources: [J1]", "") for line in page]

    assert quiet(docked)
    assert review(COIN, "J1 connector/in 1: VIN 2: GND", "D9 diode VIN VBAT", MCU, *alone).findings


def test_cells_side_by_side_share_the_load() -> None:
    """5 mA of two CR2032: 2.5 mA each; in a row each gives all of it."""
    load = drawing("current: 5 mA")[1:]

    assert quiet(review(COIN, "BT2 CR2032 VBAT GND", *load))
    assert len(review("BT1 CR2032 VBAT MID", "BT2 CR2032 MID GND", *load).findings) == 2


def test_a_holder_of_two_side_by_side_is_rated_twice() -> None:
    page = "~ cell: {part: BT1, type: CR2032, parallel: 2}"

    assert quiet(review(*drawing("current: 5.9 mA"), page))
    assert review(*drawing("current: 6.1 mA"), page).findings


def test_a_rechargeable_is_cured_by_capacity() -> None:
    """1 C: 500 mA from 400 mAh; the rating is an assumption, so it stays a query."""
    lines = drawing("current: 500 mA", cell="J1 connector/LiPo 1: VBAT 2: GND")
    finding = only(review(*lines, "~ cell: {part: J1, type: LiPo, capacity: 400 mAh}"))

    assert "at least 500 mAh" in finding.fix
    assert quiet(review(*lines, "~ cell: {part: J1, type: LiPo, capacity: 600 mAh}"))


def test_alkaline_cylinders_have_no_rated_pulse() -> None:
    """Makers state none: 1 A for 1 ms is no note on an LR6."""
    cell = "BT1 cell/2xLR6 VBAT GND"

    assert quiet(review(*drawing("current: 1 A, for: 1 ms, every: 1 s", cell=cell)))


@pytest.mark.parametrize(
    ("lines", "of", "key"),
    [
        pytest.param((COIN, "U1 mcu VCC+ VBAT GND- GND"), "U1", "sleep_current", id="at rest"),
        pytest.param(
            drawing("current: 1 mA", cell="BT1 cell/holder + VBAT - GND"), "BT1", "cell", id="cell"
        ),
        pytest.param(
            drawing("current: 1 mA", cell="J1 connector/LiPo 1: VBAT 2: GND"),
            "J1",
            "capacity",
            id="capacity",
        ),
        pytest.param(
            (*drawing("current: 1 mA", cell="BT1 cell/alkaline + VBAT - GND"),
             "~ cell: {part: BT1, type: alkaline, capacity: 500 mAh}"),
            "BT1",
            "cell",
            id="size",
        ),
    ],
)  # fmt: skip
def test_what_is_not_known_is_asked_for(lines: tuple[str, ...], of: str, key: str) -> None:
    done = review(*lines)

    assert not done.findings
    assert [(one.of, one.key) for one in done.undetermined] == [(of, key)]


def test_what_is_known_to_be_too_much_needs_no_further_fact() -> None:
    """U2's current at rest is unknown, but U1 alone is beyond the rating."""
    assert review(*drawing("current: 6 mA"), "U2 sensor VDD+ VBAT GND- GND").findings


def test_a_cell_that_feeds_nothing_is_clear() -> None:
    assert quiet(review(COIN))


@pytest.mark.parametrize(("brown_out", "follows"), [("2.7 V", "cell-sag"), ("1.8 V", None)])
def test_it_follows_where_the_pulses_pull_a_part_too_low(
    brown_out: str, follows: str | None
) -> None:
    """30 mA over the 20 Ω that are stated are 600 mV: 3.0 V fall to 2.4 V."""
    stated = (
        "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032, resistance: 20 ohm, "
        "voltage: 3 V at 0 % and 2.9 V at 100 %}"
    )
    mcu = f"{MCU} = supply 1.8 to 5.5 V = brown_out {brown_out}"
    entry = "~ pattern: [{part: U1, current: 30 mA, for: 1 ms, every: 1 s}]"
    circuit = circuit_of("\n".join((stated, mcu, entry)))

    verdict = rule.check(
        circuit.view(Cells).all[0],
        circuit=circuit,
        loads=circuit.view(CellLoads),
        settings=Settings(),
    )

    assert isinstance(verdict, Found)
    assert (verdict.follows[0] if verdict.follows else None) == follows
