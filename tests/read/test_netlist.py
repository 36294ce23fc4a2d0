"""The s-expression netlist: versions, oddities that real exports have, and mistakes."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from tests.read.netlists import BARE, QUOTED, netlist, only_net, part_of, read

from boardvet.board import Node, PinType, Place
from boardvet.errors import InputError, InputErrors
from boardvet.read.netlist import read_netlist
from boardvet.read.sexpr import DEEPEST

CHIP = "(comp (ref U1) (value chip) (libsource (lib ours) (part chip)))"


def errors_of(text: str) -> list[str]:
    with pytest.raises(InputErrors) as caught:
        read(text)
    return [str(error) for error in caught.value.errors]


# What is read


def test_parts_nets_and_pins_of_a_bare_netlist() -> None:
    board = read(BARE)

    assert list(board.parts) == ["R1", "D1"]
    assert board.parts["D1"].value == "amber, 20 mA"
    assert board.parts["R1"].footprint == "ours:chip-0603"
    assert (board.parts["R1"].library, board.parts["R1"].name) == ("ours", "resistor")
    assert [pin.function for pin in board.parts["D1"].pins] == ["K", "A"]
    assert [pin.net for pin in board.parts["D1"].pins] == ["GND", "Net-(D1-Pad2)"]
    assert board.nets["Net-(D1-Pad2)"].nodes == (Node("R1", "2"), Node("D1", "2"))


def test_parts_and_nets_keep_their_line() -> None:
    board = read(BARE)

    assert board.parts["D1"].place == Place("board.net", 10)
    assert board.nets["GND"].place == Place(
        "board.net", BARE[: BARE.index("(net (code 3)")].count("\n") + 1
    )


def test_quoted_and_bare_atoms_say_the_same() -> None:
    assert read(QUOTED) == read(BARE)


def test_one_atom_a_line_with_tabs_says_the_same() -> None:
    assert without_places(respaced(QUOTED, ["\n\t"], [""])) == without_places(BARE)


def test_a_byte_order_mark_is_passed_over() -> None:
    assert read("\ufeff" + BARE) == read(BARE)


def test_trailing_text_is_passed_over() -> None:
    assert read(BARE + ")\n# end (of file)\n") == read(BARE)


def test_unknown_sections_and_lists_are_passed_over() -> None:
    newer = BARE.replace(
        "  (libparts",
        "  (groups) (variants (variant (name v2) (parts (part (ref R1)))))\n  (libparts",
    ).replace("(value 4k7)", "(value 4k7) (units (unit (name A) (pins (pin (num 1)))))")

    assert without_places(newer) == without_places(BARE)


def test_libraries_and_symbols_may_be_missing() -> None:
    board = read("(export (components (comp (ref R1) (value 1k))) (nets))")

    assert board.parts["R1"].pins == ()
    assert board.nets == {}


@pytest.mark.parametrize(
    "text", ["+3.3", "+5", "5813E337", "1e5", "PLUG-102[AB]H", "USBDP'", "N|A", "10uF1"]
)
def test_bare_atoms_are_text_whatever_they_look_like(text: str) -> None:
    assert part_of(f"(comp (ref {text}) (value {text}))").value == text


def test_bare_words_in_one_list_are_one_text() -> None:
    assert part_of("(comp (ref P1) (value two words))").value == "two words"


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        (r'"2.4\" panel"', '2.4" panel'),
        (r'"left\\right"', r"left\right"),
        (r'"left\Uright"', r"left\Uright"),
        (r"left\Uright", r"left\Uright"),
        (r"left\\right", r"left\\right"),
        (r'"one\ntwo\r\tthree"', "one\ntwo\r\tthree"),
        ('"0.1 µF, 10 kΩ"', "0.1 µF, 10 kΩ"),
        ('"a (b) c"', "a (b) c"),
        ('""', ""),
    ],
)
def test_escapes_and_signs(written: str, meant: str) -> None:
    assert part_of(f"(comp (ref P1) (value {written}))").value == meant


def test_fields_and_properties_are_kept_by_name() -> None:
    part = part_of(
        "(comp (ref R1) (value 1k) (datasheet sheet.pdf)"
        ' (fields (field (name "Part No") X-1) (field (name Empty)))'
        ' (property (name Tolerance) (value "1 %")) (property (name exclude_from_board)))'
    )

    assert part.fields == {
        "Part No": "X-1",
        "Empty": "",
        "Tolerance": "1 %",
        "Datasheet": "sheet.pdf",
        "exclude_from_board": "",
    }


def test_the_description_is_that_of_the_symbol_unless_the_part_has_its_own() -> None:
    symbol = "(libpart (lib ours) (part chip) (description general) (pins (pin (num 1))))"

    assert part_of(CHIP, libparts=symbol).description == "general"
    assert part_of(CHIP[:-1] + ' (description "its own"))', libparts=symbol).description == (
        "its own"
    )


def test_the_description_of_the_part_goes_before_that_of_its_source() -> None:
    source = '(libsource (lib ours) (part chip) (description "as drawn"))'

    assert part_of(f"(comp (ref U1) (value x) {source})").description == "as drawn"
    assert part_of(f"(comp (ref U1) (value x) {source} (description own))").description == "own"


def test_space_around_references_and_pin_numbers_does_not_count() -> None:
    board = read(
        netlist('(comp (ref " R1 ") (value x))', '(net (name A) (node (ref "R1 ") (pin " 2")))')
    )

    assert [pin.number for pin in board.parts["R1"].pins] == ["2"]


# Pins


def test_a_pin_that_only_the_symbol_has_is_on_no_net() -> None:
    (pin,) = part_of(
        CHIP,
        libparts="(libpart (lib ours) (part chip) (pins (pin (num 7) (name EN) (type input))))",
    ).pins

    assert (pin.number, pin.function, pin.type, pin.net) == ("7", "EN", PinType.INPUT, None)


def test_a_part_without_a_symbol_has_the_pins_of_its_nets() -> None:
    (pin,) = part_of(CHIP, "(net (code 1) (name A) (node (ref U1) (pin MP)))").pins

    assert (pin.number, pin.function, pin.type, pin.net) == ("MP", "", PinType.UNKNOWN, "A")


def test_a_symbol_is_found_by_its_alias() -> None:
    symbol = (
        "(libpart (lib ours) (part family) (aliases (alias other) (alias chip))"
        " (pins (pin (num 1) (name VDD) (type power_in))))"
    )

    assert [pin.type for pin in part_of(CHIP, libparts=symbol).pins] == [PinType.SUPPLY_IN]


def test_a_symbol_of_that_name_goes_before_an_alias() -> None:
    symbols = (
        "(libpart (lib ours) (part family) (aliases (alias chip)) (pins (pin (num 9))))"
        "(libpart (lib ours) (part chip) (pins (pin (num 1))))"
    )

    assert [pin.number for pin in part_of(CHIP, libparts=symbols).pins] == ["1"]


@pytest.mark.parametrize(
    ("word", "meant", "open_"),
    [
        ("BiDi", PinType.BIDIRECTIONAL, False),
        ("3state", PinType.THREE_STATE, False),
        ("tri_state", PinType.THREE_STATE, False),
        ("openCol", PinType.OPEN_COLLECTOR, False),
        ("open_emitter", PinType.OPEN_EMITTER, False),
        ("unspc", PinType.UNKNOWN, False),
        ("NotConnected", PinType.NOT_CONNECTED, False),
        ("no_connect", PinType.NOT_CONNECTED, False),
        ("power_in", PinType.SUPPLY_IN, False),
        ("POWER-IN", PinType.SUPPLY_IN, False),
        ("PASSIVE", PinType.PASSIVE, False),
        ("power_out", PinType.SUPPLY_OUT, False),
        ("free", PinType.FREE, False),
        ("passive+no_connect", PinType.PASSIVE, True),
        ("bidirectional+no_connect", PinType.BIDIRECTIONAL, True),
        ("something newer", PinType.UNKNOWN, False),
    ],
)
def test_pin_types_of_all_versions(word: str, meant: PinType, open_: bool) -> None:
    net = f'(net (code 1) (name A) (node (ref U1) (pin 1) (pintype "{word}")))'
    (pin,) = part_of(CHIP, net).pins

    assert (pin.type, pin.marked_open) == (meant, open_)


def test_the_type_in_the_net_goes_before_that_of_the_symbol() -> None:
    (pin,) = part_of(
        CHIP,
        "(net (code 1) (name A) (node (ref U1) (pin 1) (pintype output)))",
        "(libpart (lib ours) (part chip) (pins (pin (num 1) (type input))))",
    ).pins

    assert pin.type is PinType.OUTPUT


@pytest.mark.parametrize(
    ("number", "function", "name"),
    [
        ("2", "A_2", "A"),
        ("3", "V_{BAT}_3", "V_{BAT}"),
        ("3", "~{WP}/IO_{2}_3", "~{WP}/IO_{2}"),
        ("2", "2_2", "2"),
        ("3", "A_2", "A_2"),
        ("A1B1", "GND_A1B1", "GND"),
    ],
)
def test_a_pin_number_behind_the_function_is_taken_off(
    number: str, function: str, name: str
) -> None:
    net = f'(net (code 1) (name N) (node (ref U1) (pin {number}) (pinfunction "{function}")))'
    (pin,) = part_of(CHIP, net).pins

    assert pin.function == name


def test_a_function_that_the_symbol_itself_calls_so_is_left_alone() -> None:
    (pin,) = part_of(
        CHIP,
        "(net (code 1) (name N) (node (ref U1) (pin 2) (pinfunction IO_2)))",
        "(libpart (lib ours) (part chip) (pins (pin (num 2) (name IO_2) (type input))))",
    ).pins

    assert pin.function == "IO_2"


def test_several_pads_of_one_pin_are_one_pin_and_one_node() -> None:
    text = netlist(
        CHIP,
        "(net (code 1) (name SHIELD)" + " (node (ref U1) (pin 0) (pintype passive))" * 4 + ")",
    )
    board = read(text)

    assert board.nets["SHIELD"].nodes == (Node("U1", "0"),)
    assert [pin.number for pin in board.parts["U1"].pins] == ["0"]


def test_an_open_mark_on_one_pad_is_a_mark_on_the_pin() -> None:
    pads = "".join(
        f"(node (ref U1) (pin 0) (pintype {word}))"
        for word in ("passive", "passive+no_connect", "passive")
    )
    (pin,) = part_of(CHIP, f"(net (code 1) (name A) {pads})").pins

    assert (pin.type, pin.marked_open) == (PinType.PASSIVE, True)


def test_pads_of_one_number_on_two_nets_stay_two_conductors() -> None:
    part = part_of(
        CHIP,
        "(net (code 1) (name A) (node (ref U1) (pin 1)))"
        "(net (code 2) (name B) (node (ref U1) (pin 1)))",
    )

    assert [(pin.number, pin.net) for pin in part.pins] == [("1", "A"), ("1", "B")]


# Nets


@pytest.mark.parametrize(
    "name",
    ["Net-(U1-Pad3)", "unconnected-(U1-IO1{slash}A2-Pad40)", "N$1", "NetR1_2", "N-000012", ""],
)
def test_names_that_the_editor_made_up(name: str) -> None:
    assert not only_net(f'(net (code 1) (name "{name}"))').named


@pytest.mark.parametrize(
    "name", ["GND", "/GPIO20\\\\RXD", "!VAA_ON", "1.02", "NETWORK", "/Supply/DC/DC/Vsup", "USBDP'"]
)
def test_names_that_a_person_gave(name: str) -> None:
    assert only_net(f'(net (code 1) (name "{name}"))').named


def test_a_net_may_have_no_node() -> None:
    assert only_net("(net (code 1) (name A))").nodes == ()
    assert only_net('(net\n(code "1")\n(name "A")\n(class "Default"))').nodes == ()


def test_repeated_names_are_told_apart_by_code() -> None:
    board = read(
        netlist(
            CHIP,
            '(net (code 4) (name "") (node (ref U1) (pin 1)))'
            '(net (code 7) (name "") (node (ref U1) (pin 2)))'
            "(net (code 8) (name A)) (net (code 9) (name A)) (net (code 9) (name A))",
        )
    )

    assert list(board.nets) == ["#4", "#7", "A#8", "A#9", "A#9#2"]
    assert [net.name for net in board.nets.values()] == ["", "", "A", "A", "A"]
    assert [pin.net for pin in board.parts["U1"].pins] == ["#4", "#7"]


# Fitted or not


@pytest.mark.parametrize("value", ["DNP", "DNF", "NC", "NA", "dnp", "Do not populate"])
def test_a_mark_in_place_of_the_value(value: str) -> None:
    part = part_of(f'(comp (ref R1) (value "{value}"))')

    assert (part.value, part.fitted) == (value, False)


@pytest.mark.parametrize(
    ("value", "left"),
    [
        ("NA(47uF/6.3V/20%/X5R/C0805)", "47uF/6.3V/20%/X5R/C0805"),
        ("NA(XC61(SOT23))", "XC61(SOT23)"),
        ("10k DNP", "10k"),
        ("DNP 10k", "10k"),
        ("100nF (DNP)", "100nF"),
        ("100nF/DNP", "100nF"),
        ("NA/R0603", "NA/R0603"),
    ],
)
def test_a_mark_beside_the_value_is_taken_off(value: str, left: str) -> None:
    part = part_of(f'(comp (ref R1) (value "{value}"))')

    assert (part.value, part.fitted) == (left, False)


def test_an_endless_value_is_left_as_drawn() -> None:
    value = "DNP" + " -" * 50_000

    assert part_of(f'(comp (ref R1) (value "{value}"))').value == value


@pytest.mark.parametrize("value", ["10k", "NC7SZ04", "DNP3", "NAND", "SW NO+NC", "NATURAL WHITE"])
def test_values_that_only_look_like_marks(value: str) -> None:
    part = part_of(f'(comp (ref R1) (value "{value}"))')

    assert (part.value, part.fitted) == (value, True)


@pytest.mark.parametrize(
    ("extra", "fitted"),
    [
        ("(property (name dnp))", False),
        ('(property\n\t(name "dnp")\n)', False),
        ('(property (name "dnp") (value "0"))', True),
        ('(fields (field (name "DNP") "yes"))', False),
        ('(fields (field (name "DNP")))', True),
        ('(fields (field (name "Note") "DNP"))', False),
        ('(fields (field (name "Fitted") "no"))', False),
        ('(fields (field (name "Fitted") "yes"))', True),
        ('(fields (field (name "Maker") "NA"))', True),
        ("(property (name exclude_from_bom))", True),
    ],
)
def test_fields_that_say_whether_a_part_is_fitted(extra: str, fitted: bool) -> None:
    assert part_of(f"(comp (ref R1) (value 1k) {extra})").fitted is fitted


def test_a_part_may_be_left_out_of_the_bom() -> None:
    assert not part_of("(comp (ref H1) (value hole) (property (name exclude_from_bom)))").in_bom
    assert part_of("(comp (ref H1) (value hole))").in_bom


# Mistakes


def test_half_a_netlist_says_what_was_open_and_where() -> None:
    half = BARE[: BARE.index("(lib ours) (part lamp)")]

    (message,) = errors_of(half)
    assert message.startswith("board.net:12: the file ends inside (comp of line 10 in (components")
    assert "export it again" in message


def test_a_text_in_quotes_that_never_ends() -> None:
    (message,) = errors_of(BARE.replace('(value "amber, 20 mA")', '(value "amber, 20 mA)'))

    assert message.startswith("board.net:11: a text in quotes begins here and never ends")


def test_a_closing_bracket_too_many() -> None:
    (message,) = errors_of(BARE.replace("(part lamp))))", "(part lamp)))))", 1))

    assert message.startswith("board.net:12: the outermost list closes here, but more follows")


def test_nesting_is_bounded() -> None:
    (message,) = errors_of("(export (components (comp " + "(a\n" * 100_000)

    assert f"nested deeper than {DEEPEST} levels" in message


@pytest.mark.parametrize(
    "text", ["", ")", "Reference,Value\nR1,1k\n", "(layout (version 4))", "x"]
)
def test_what_is_no_netlist_is_called_so(text: str) -> None:
    (message,) = errors_of(text)

    assert "not an s-expression netlist" in message


def test_a_netlist_without_components() -> None:
    (message,) = errors_of("(export (version D) (components) (nets))")

    assert "no components" in message


def test_a_netlist_without_nets() -> None:
    (message,) = errors_of("(export (version D) (components (comp (ref R1) (value 1k))))")

    assert "no section (nets" in message


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file() -> None:
    messages = errors_of(
        netlist(
            "(comp (value 1k))\n(comp (ref R1) (value 1k))\n(comp (ref R1) (value 2k))",
            "(net (code 1) (name A) (node (ref R1) (pin 1)) (node (ref R9) (pin 1)))\n"
            "(net (code 2) (name B) (node (ref R9) (pin 2)) (node (pin 2)))",
        )
    )

    assert [message.split(" (")[0] for message in messages] == [
        "board.net:3: a component has no reference",
        "board.net:5: R1 is listed 2 times",
        "board.net:11: R9 stands in net 'A', 'B', but is not among the components",
        "board.net:12: an end of this net has no part or no pin number",
    ]


def test_half_a_netlist_tells_the_mistakes_before_its_end_too() -> None:
    messages = errors_of(BARE.replace("(ref R1)", "", 1).replace("(code 3)", "(code"))

    assert ["no reference" in message for message in messages] == [True, False]
    assert "the file ends inside" in messages[1]


def test_what_a_merge_leaves_behind_is_not_passed_over() -> None:
    (message,) = errors_of(netlist("<<<<<<< ours\n(comp (ref R1) (value 1k))\n======="))

    assert "(components holds" in message


def test_unconnected_parts_may_share_a_reference() -> None:
    board = read(netlist("(comp (ref LOGO) (value a)) (comp (ref LOGO) (value b))"))

    assert board.parts["LOGO"].value == "a"


# Laws


@given(st.integers(0, len(BARE.rstrip()) - 1))
@example(BARE.index("amber"))
def test_every_true_beginning_of_a_netlist_is_refused(length: int) -> None:
    errors_of(BARE[:length])


SPACES = st.lists(st.sampled_from(["", "\n", "\t", " ", "\r\n", "\n\n   "]), min_size=1)


@given(SPACES, SPACES, st.sampled_from([BARE, QUOTED]))
def test_space_and_quotes_never_change_what_is_read(
    outside: list[str], inside: list[str], text: str
) -> None:
    assert without_places(respaced(text, outside, inside)) == without_places(BARE)


PRINTED = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=12)


@given(PRINTED)
@example('"')
@example("\\")
@example("a\\nb")
@example("(")
def test_any_text_in_quotes_comes_back(text: str) -> None:
    written = text.replace("\\", "\\\\").replace('"', '\\"')
    net = only_net(f'(net (code 1) (name "{written}") (node (ref U1) (pin 1)))')

    assert net.name == text


@given(st.text(alphabet='() "\\\nabR1', max_size=60))
def test_any_damage_is_a_typed_error_or_harmless(damage: str) -> None:
    middle = len(BARE) // 2
    errors: tuple[InputError, ...] = ()
    try:
        read(BARE[:middle] + damage + BARE[middle:])
    except InputErrors as caught:
        errors = caught.errors

    assert all(error.what and error.do for error in errors)


def without_places(text: str) -> object:
    """What is read of a text, without the lines that it stands on."""
    board = read_netlist(text, "board.net")
    parts = [
        (part.reference, part.value, part.footprint, part.pins, part.fields)
        for part in board.parts.values()
    ]
    return parts, [(net.key, net.named, net.nodes) for net in board.nets.values()]


def respaced(text: str, outside: list[str], inside: list[str]) -> str:
    """Put space on both sides of every bracket that is not part of a text in quotes."""
    out, into = itertools.cycle(outside), itertools.cycle(inside)

    def spaced(match: re.Match[str]) -> str:
        if match[0] == "(":
            return next(out) + "(" + next(into)
        return next(into) + ")" + next(out) if match[0] == ")" else match[0]

    return re.sub(r'"[^"]*"|[()]', spaced, text).strip()
