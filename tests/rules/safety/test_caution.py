"""`caution`: cells, charging and flashing, and who is near."""

from __future__ import annotations

import pytest

from boardvet.report.terminal import render
from boardvet.review.packs import LoadedPack
from boardvet.review.review import Review
from boardvet.review.runner import run
from boardvet.review.verdict import Finding, Level
from boardvet.testing import circuit_of, judge
from boardvet_rules.rail.rail_shorted import check as rail_shorted
from boardvet_rules.safety.caution import check as rule

LIGHT = """
BT1 LR6 VBAT GND
U1 mcu VCC+ VBAT GND- GND PB0 LAMP PB1 GLOW
R1 100 LAMP _1
D1 led/red _1 GND
R2 100 GLOW _2
D2 led/red _2 GND
"""


SOURCE = "J1 connector/in 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}"


def coin(cell: str = "CR2032", more: str = "") -> Review:
    return judge(rule, f"BT1 {cell} VBAT GND\nC1 1u VBAT GND\n{more}")


def flashing(period: str, more: str = "") -> Review:
    page = f"~ pattern: [{{name: flash, lights: [D1, D2], for: 1 ms, every: {period}}}]\n{more}"
    return judge(rule, LIGHT + page)


def test_a_coin_cell_is_a_note_that_defers_to_local_rules() -> None:
    (finding,) = coin().findings

    assert finding.level is Level.NOTE
    assert "ANSI/UL 4200A" in finding.fix
    assert "Local rules and a licensed practitioner decide" in finding.fix


def test_a_cell_higher_than_wide_is_no_coin() -> None:
    """IEC 60086-2: LR6 is 14.5 mm across and 50.5 mm high (from memory)."""
    assert not coin("LR6").findings


def test_children_who_are_not_near_swallow_nothing() -> None:
    assert not coin(more="~ near: [skin]").findings
    assert coin(more="~ near: [children]").findings


def test_who_is_near_is_assumed_and_said_so() -> None:
    assert [a.what for a in coin().assumptions] == ["near"]


def test_an_unknown_cell_is_undetermined_with_its_key() -> None:
    review = judge(rule, "BT1 cell/holder VBAT GND\nC1 1u VBAT GND")

    assert {u.key for u in review.undetermined} == {"cell"}


@pytest.mark.parametrize(("protected", "found"), [("yes", 0), ("no", 1)])
def test_a_lithium_cell_is_cautioned_unless_stated_as_protected(
    protected: str, found: int
) -> None:
    page = f"~ cell: {{part: BT1, type: lithium-ion, protected: {protected}}}"
    review = judge(rule, f"BT1 cell/pouch VBAT GND\nC1 1u VBAT GND\n{page}")

    assert len(review.findings) == found


@pytest.mark.parametrize(("pin", "found"), [("VBAT", 0), ("OTHER", 1)])
def test_a_protection_ic_at_the_cell_protects_it_as_well(pin: str, found: int) -> None:
    review = judge(
        rule,
        f"BT1 cell/pouch VBAT GND\nC1 1u VBAT GND\nU1 battery-protector VCC+ {pin} GND- GND\n"
        "~ cell: {part: BT1, type: lithium-ion}",
    )

    assert len(review.findings) == found


def test_a_primary_cell_beside_another_source_is_cautioned() -> None:
    source = f"{SOURCE}\nD9 diode/1N4148 VBAT VIN"
    symptoms = [finding.bench for finding in coin(more=source).findings]

    assert any("must never be charged" in text for text in symptoms)
    assert not any("must never be charged" in finding.bench for finding in coin().findings)


def test_a_charged_coin_in_a_holder_is_a_query() -> None:
    """A holder for a rechargeable 2032 takes a CR2032 as well."""
    source = f"{SOURCE}\nD9 diode/1N4148 VIN VBAT"
    levels = [finding.level for finding in coin("LIR2032", source).findings]

    assert Level.QUERY in levels


@pytest.mark.parametrize(
    ("period", "found"),
    [("336.7 ms", 0), ("330.0 ms", 1), ("16.83 ms", 1), ("16.50 ms", 0)],
    ids=["2.97 Hz", "3.03 Hz", "59.4 Hz", "60.6 Hz"],
)
def test_flashing_turns_at_3_and_at_60_hertz(period: str, found: int) -> None:
    """By hand: 1/3 Hz = 333.3 ms and 1/60 Hz = 16.67 ms, each 1 % under and over."""
    assert len(flashing(period).findings) == found


def test_a_light_that_stays_on_takes_the_flashing_away() -> None:
    page = "~ pattern: [{name: a, lights: [D1], for: 1 ms, every: 100 ms}, {lights: [D2]}]"

    assert not judge(rule, LIGHT + page).findings


def test_flashing_away_from_eyes_is_no_concern() -> None:
    assert not flashing("100 ms", "~ near: [skin]").findings


def test_without_a_pattern_flashing_is_undetermined() -> None:
    assert [u.key for u in judge(rule, LIGHT).undetermined] == ["pattern"]


def test_a_primary_cell_that_the_other_source_has_no_way_to_gets_no_word_on_charging() -> None:
    assert not any("must never be charged" in f.bench for f in coin(more=SOURCE).findings)


def test_a_primary_cell_of_unknown_size_is_undetermined_with_its_key() -> None:
    page = "~ cell: {part: BT1, type: alkaline}"
    review = judge(rule, f"BT1 cell/holder VBAT GND\nC1 1u VBAT GND\n{page}")

    assert [item.key for item in review.undetermined] == ["cell"]


def test_a_rechargeable_cell_without_a_size_is_assumed_to_be_no_coin() -> None:
    page = "~ cell: {part: BT1, type: lithium-ion, protected: yes}"
    review = judge(rule, f"BT1 cell/pouch VBAT GND\nC1 1u VBAT GND\n{page}")

    assert not review.findings
    assert not review.undetermined
    assert "shape of BT1 (lithium-ion)" in {item.what for item in review.assumptions}


@pytest.mark.parametrize(
    "board",
    [
        "BT1 CR2032 VBAT GND\nC1 1u VBAT GND",
        "BT1 cell/pouch VBAT GND\nC1 1u VBAT GND\n~ cell: {part: BT1, type: LiPo}",
        f"BT1 LR6 VBAT GND\nC1 1u VBAT GND\n{SOURCE}\nD9 diode/1N4148 VBAT VIN",
        f"{LIGHT}~ pattern: [{{name: a, lights: [D1, D2], for: 1 ms, every: 100 ms}}]",
    ],
    ids=["swallowing", "lithium", "charging", "flashing"],
)
def test_every_caution_defers_where_a_note_shows_it(board: str) -> None:
    """The terminal leaves out why a note is so; the cure it always shows."""
    shown = render(judge(rule, board), width=80)

    assert "Local rules and a licensed practitioner decide." in " ".join(shown.split())


def warm(
    current: str, more: str = "", theta: str = "= thermal_resistance 250 K/W"
) -> tuple[Finding, ...]:
    """Judge a regulator of 5 V to 3 V, of which a controller takes a current for good."""
    board = f"""
{SOURCE}
U2 regulator IN+ VIN GND- GND OUT> V3 = output 3 V = quiescent_current 0 uA \
= dropout 0.1 V at 10 mA = conversion linear {theta}
U1 mcu VCC+ V3 GND- GND = sleep_current 0 uA
~ pattern: [{{name: work, part: U1, current: {current}}}]
{more}"""
    review = judge(rule, board)
    assert not review.undetermined, review.undetermined
    return review.findings


def test_a_part_that_burns_skin_in_hours_is_a_note() -> None:
    """(5 − 3) V · 36 mA · 250 K/W = 18 K over 25 °C are the 43 °C; 1 % to each side."""
    (finding,) = warm("36.4 mA")

    assert finding.level is Level.NOTE
    assert finding.subject.name == "the board"
    assert "U2" in finding.bench
    assert "ISO 13732-1" in finding.fix
    assert not warm("35.6 mA")


def test_a_part_gets_as_warm_as_the_hot_end_makes_it() -> None:
    """By hand: 20 mA are 10 K; 35 °C of air is too warm for that, 32 °C is not."""
    assert warm("20 mA", "~ temperature: 0 to 35 degC")
    assert not warm("20 mA", "~ temperature: 0 to 32 degC")


def test_a_part_no_warmer_than_its_surroundings_is_not_what_burns() -> None:
    """In air of 50 °C: 9.9 mA are 4.95 K, 10.1 mA are 5.05 K."""
    assert not warm("9.9 mA", "~ temperature: 0 to 50 degC")
    assert warm("10.1 mA", "~ temperature: 0 to 50 degC")


def test_a_board_of_half_a_watt_is_a_note() -> None:
    """5 V · 100 mA; 1 % to each side. Nothing is known of how the regulator loses its heat."""
    (finding,) = warm("101 mA", theta="")

    assert "505 mW" in finding.sum
    assert not warm("99 mA", theta="")


def test_heat_away_from_skin_is_no_concern() -> None:
    assert not warm("101 mA", "~ near: [eyes]")
    assert warm("101 mA", "~ near: [skin]")


def test_pulses_warm_with_their_mean() -> None:
    """100 mA for 1 s in each 10 s are 10 mA: 5 K."""
    assert not warm("100 mA, for: 1 s, every: 10 s")
    assert warm("100 mA")
    assert not warm("200 mA, for: 1 s, every: 10 s", theta="")
    assert warm("200 mA", theta="")


def test_a_charger_holds_itself_back() -> None:
    """(5 − 3) V · 303 mA at 230 K/W would be 139 K over the air."""
    board = """
BT1 cell/pouch VBAT GND
J2 usb-connector 1:VBUS VUSB 2:GND GND
U3 charger/X1 1:STAT . 2:VSS- GND 3:VBAT> VBAT 4:VDD+ VUSB 5:PROG SET = charge_voltage 4.2 V \
= thermal_resistance 230 K/W = program_gain 1000 V = junction_max 110 degC = pins {5: program}
R1 3k3 SET GND
~ cell: {part: BT1, type: lithium-ion, capacity: 1000 mAh, protected: yes}
"""
    (finding,) = judge(rule, board).findings

    assert "up to 110 °C inside" in finding.sum


def test_what_the_heat_depends_on_is_asked_for() -> None:
    board = f"BT1 cell/holder VBAT GND\n{LIGHT}".replace("BT1 LR6 VBAT GND\n", "")
    review = judge(rule, board + "~ pattern: [{name: a, lights: [D1, D2]}]")

    (item,) = (u for u in review.undetermined if u.subject.name == "the board")
    assert item.key == "cell"


def test_heat_from_a_shorted_rail_follows_from_the_short() -> None:
    circuit = circuit_of(
        "BT1 LR6 VBAT GND\nU1 mcu VCC+ VBAT GND- GND PB0 P = sleep_current 0 uA\n"
        "D1 led/red P N\nR1 1k N GND\n~ cell: {part: BT1, type: LR6, series: 3}\n"
        "FB1 600R@100MHz VBAT VF\nR9 0 VF GND\n"
    )
    both = run(circuit, [LoadedPack("two rules", "0", (rule, rail_shorted))])
    (cause,) = (f for f in both.findings if f.rule == "rail-shorted")
    (heat,) = (f for f in both.findings if f.rule == "caution" and "warm" in f.bench)

    assert heat.follows == cause.fingerprint


def test_the_heat_of_a_board_is_known_again_when_a_regulator_is_added() -> None:
    usb = (
        "J1 connector/in 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}\n"
        "U2 regulator VIN+ VIN VOUT> V3 GND- GND = output 3 V = thermal_resistance 250 K/W\n"
        "U1 mcu VCC+ V3 GND- GND = sleep_current 0 A\n~ pattern: [{part: U1, current: 50 mA}]\n"
    )
    other = "U4 regulator VIN+ VIN VOUT> V2 GND- GND = output 2 V\nC1 1u V2 GND\n"
    (before,), (after,) = (judge(rule, usb + more).findings for more in ("", other))

    assert before.fingerprint == after.fingerprint
    assert before.parts == after.parts == ("U2",)
