"""What the page names, against the board; its settings, against the rules."""

from __future__ import annotations

import re

import pytest

from boardvet.board import Board, Net, Node, Part, Pin, PinType, Place
from boardvet.errors import InputErrors
from boardvet.intent import check_against, check_settings, net_keys, parse_intent

NOWHERE = Place("made-up.net")


def part(reference: str, *pins: str) -> Part:
    made = tuple(Pin(pin, "", PinType.PASSIVE, None) for pin in pins)
    return Part(reference, "", "", "", "", "", {}, True, True, made, NOWHERE)


def net(name: str, key: str = "") -> Net:
    return Net(key or name, name, True, (Node("U1", "1"),), NOWHERE)


def board() -> Board:
    parts = [part("BT1", "1", "2"), part("J1", "1", "2"), part("SW1", "1", "2", "3")]
    parts += [part("U1", "1", "2", "EP"), *(part(f"D{n}", "1", "2") for n in range(1, 5))]
    nets = [net("VBAT"), net("/VBUS"), net("/bus/SDA"), net("GND"), net("A", "A (1)")]
    nets += [net("A", "A (2)"), net("", "(3)")]
    return Board(
        "Wren", {each.reference: each for each in parts}, {each.key: each for each in nets}
    )


def mistakes(text: str) -> list[str]:
    """Return what is not on the board, without the name of the page."""
    with pytest.raises(InputErrors) as caught:
        check_against(parse_intent(text, "page.yaml"), board())
    shown = str(caught.value).splitlines()
    assert all(re.fullmatch(r"page\.yaml:\d+:\d+: .+ \(.+\)", line) for line in shown), shown
    return [line.removeprefix("page.yaml:") for line in shown]


def test_what_is_on_the_board_is_right() -> None:
    check_against(
        parse_intent(
            "cell: {part: BT1}\n"
            "sources: {J1: {net: VBUS}}\n"
            "modes: {a: {closed: {SW1: [1, 3]}, sources: [J1], pattern: [{lights: D1-D4}]}}\n"
            "parts: {U1: {pins: {EP: thermal pad}}, D1-D4: {colour: red}}\n"
            "nets: {/VBAT: {leaves_board: yes}, VBUS: {driven_by: [J1, U1.2]}, A: {bus: i2c}}\n"
        ),
        board(),
    )


@pytest.mark.parametrize(
    ("text", "mistake"),
    [
        ("cell: {part: BT2}", "1:8: part 'BT2' is not on the board (did you mean BT1?)"),
        ("cell: [{part: BT1}, {type: LR6, part: [XX9]}]",
         "1:33: part 'XX9' is not on the board (write it as the netlist does, or delete it)"),
        ("sources: {J11: {net: VBUS}}", "1:11: part 'J11' is not on the board (did you mean J1?)"),
        ("sources: {J1: {net: VBUSS}}",
         "1:16: net 'VBUSS' is not on the board (did you mean VBUS?)"),
        ("pattern: [{lights: [D1, D11]}]",
         "1:12: part 'D11' is not on the board (did you mean D4?)"),
        ("pattern: [{part: u1, current: 1 mA}]",
         "1:12: part 'u1' is not on the board (did you mean U1?)"),
        ("modes: {a: {pattern: [{lights: D9}]}}",
         "1:24: part 'D9' is not on the board (did you mean D4?)"),
        ("modes: {a: {sources: [J2]}}", "1:13: part 'J2' is not on the board (did you mean J1?)"),
        ("modes: {a: {closed: {SW2: [1, 2]}}}",
         "1:22: part 'SW2' is not on the board (did you mean SW1?)"),
        ("modes: {a: {closed: {SW1: [1, 7]}}}",
         "1:22: '7' is no pin of SW1 (its pins are 1, 2, 3)"),
        ("parts: {U1: {pins: {E: enable}}}", "1:21: 'E' is no pin of U1 (did you mean EP?)"),
        ("parts: {U9: {clock: 1 MHz}}", "1:9: part 'U9' is not on the board (did you mean U1?)"),
        ("nets: {SDA: {bus: i2c}}",
         "1:8: net 'SDA' is not on the board (did you mean bus/SDA?)"),
        ("nets: {GND: {driven_by: [U8.1]}}",
         "1:14: part 'U8' is not on the board (did you mean U1?)"),
        ("parts: {D3-D6: {colour: red}}",
         "1:9: parts 'D5', 'D6' are not on the board (did you mean D4?)"),
        ("parts: {R1-R9: {tolerance: 5 %}}", "1:9: parts 'R1', 'R2', 'R3', 'R4', 'R5' and 4 more "
         "are not on the board (write it as the netlist does, or delete it)"),
    ],
)  # fmt: skip
def test_what_is_not_on_the_board_is_a_mistake_with_the_nearest_name(
    text: str, mistake: str
) -> None:
    assert mistakes(text) == [mistake]


def test_all_of_them_are_shown_in_the_order_of_the_page() -> None:
    shown = mistakes("nets: {Q: {pull: 1 kohm}}\nparts: {X1: {clock: 1 Hz}}\ncell: {part: BT7}\n")
    assert [line.split(":")[0] for line in shown] == ["1", "2", "3"]


def test_a_waiver_may_name_what_is_gone() -> None:
    check_against(
        parse_intent("waivers: [{rule: net-alone, at: [X99, NO], because: later}]"), board()
    )


def test_a_net_counts_as_exported_before_it_counts_without_its_slash() -> None:
    both = Board("Wren", {}, {"/A": net("/A"), "A": net("A")})
    assert net_keys(both, "A") == ("A",)
    assert net_keys(both, "/A") == ("/A",)


def test_a_name_that_two_nets_share_means_both() -> None:
    assert net_keys(board(), "A") == ("A (1)", "A (2)")
    assert net_keys(board(), "/A") == ("A (1)", "A (2)")
    assert net_keys(board(), "A (2)") == ("A (2)",)
    assert net_keys(board(), "") == ()


RULES = {"bypass-far": {"distance": "m", "share": ""}, "net-alone": dict[str, str]()}


def test_settings_are_read_in_the_units_of_their_rule() -> None:
    intent = parse_intent("settings: {bypass-far: {distance: 5 mm, share: 20 %}}")
    assert check_settings(intent, RULES) == {
        "bypass-far": {"distance": pytest.approx(5e-3), "share": pytest.approx(0.2)}
    }


def test_settings_that_no_rule_has_are_all_mistakes() -> None:
    intent = parse_intent(
        "settings:\n"
        "  bypas-far: {distance: 5 mm}\n"
        "  bypass-far: {distanse: 5 mm, distance: far, share: 1}\n"
        "  net-alone: {limit: 3}\n",
        "page.yaml",
    )
    with pytest.raises(InputErrors) as caught:
        check_settings(intent, RULES)
    first, second, third, fourth = str(caught.value).splitlines()
    assert first == "page.yaml:2:3: there is no rule 'bypas-far' (did you mean bypass-far?)"
    assert second == (
        "page.yaml:3:16: the rule bypass-far has no setting 'distanse' (did you mean distance?)"
    )
    assert third.startswith("page.yaml:3:32: distance: 'far' ")
    assert fourth.startswith("page.yaml:4:15: the rule net-alone has no setting 'limit'")
