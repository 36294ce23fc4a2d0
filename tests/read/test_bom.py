"""BOMs in the dialects and with the oddities that exporters produce; all data are invented."""

from __future__ import annotations

import csv
import io
import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from boardvet.board import Bom
from boardvet.errors import InputError, InputErrors
from boardvet.read.bom import read_bom


def read(text: str, columns: dict[str, str] | None = None) -> Bom:
    return read_bom(text, "lamp/lamp-bom.csv", columns)


def references(text: str) -> list[tuple[str, ...]]:
    return [line.references for line in read(text).lines]


@pytest.mark.parametrize(
    "head",
    [
        "Reference,Value,Footprint,Quantity,MPN,Manufacturer,Description",
        "References;VALUE;footprint;Qty;Manufacturer P/N;Mfr;desc.",
        "Designator\tComment\tPackage\tQTY\tMfr. Part #\tMfg\tDescription",
        "REF,Val,Package/Footprint,Qnty,Manufacturer Part Number,Manufacturer Name,Part Desc.",
        "Ref Des,Designation,Case/Package,Count,PartNumber,Brand,Details",
        "Component References,What,PCB Footprint,Quantity Per PCB,Mfg_code,Maker,Description",
        "Customer Reference|Value|Footprint|Quantity 1|Mfr_PN|Manufacturer|Description",
        "Parts;Value;Package;Qty;MPN;MANUFACTURER;Description",
        "Bauteilbezeichner;Wert;Gehäuse;Stückzahl;Hersteller-Teilenummer;Hersteller;Beschreibung",
        "Repère;Valeur;Boîtier;Quantité;Référence fabricant;Fabricant;Libellé",
        "Designador;Valor;Encapsulado;Cantidad;Referencia fabricante;Fabricante;Descripción",
        "Oznaczenie;Wartość;Obudowa;Ilość;Numer producenta;Producent;Opis",
        "Riferimento;Valore;Contenitore;Quantità;Codice produttore;Produttore;Descrizione",
        "Позиционное обозначение;Номинал;Корпус;Количество;MPN;Производитель;Описание",
        "位号,参数,封装,数量,型号,品牌,描述",
    ],
)
def test_each_dialect_of_headings_is_understood(head: str) -> None:
    delimiter = next(mark for mark in ";\t|," if mark in head)
    row = delimiter.join(["R1", "4k7", "chip", "1", "RES-7", "Ohmworks", "film"])

    line = read(f"{head}\n{row}\n").lines[0]

    assert (line.references, line.value, line.footprint) == (("R1",), "4k7", "chip")
    assert (line.quantity, line.part_number, line.manufacturer) == (1, "RES-7", "Ohmworks")
    assert line.description == "film"


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("C1,C2", ["C1", "C2"]),
        ("C1, C2", ["C1", "C2"]),
        ("C1 C3 C5 ", ["C1", "C3", "C5"]),
        ("AE1, ", ["AE1"]),
        ("C1;C2", ["C1", "C2"]),
        ("C1\nC2", ["C1", "C2"]),
        ("R1-R4", ["R1", "R2", "R3", "R4"]),
        ("R1 - R3", ["R1", "R2", "R3"]),
        ("R1..R3", ["R1", "R2", "R3"]),
        ("R1…R3", ["R1", "R2", "R3"]),
        ("R1–R3", ["R1", "R2", "R3"]),
        ("R1 to R3", ["R1", "R2", "R3"]),
        ("C3-C5,C8,C9", ["C3", "C4", "C5", "C8", "C9"]),
        ("R08-R11", ["R08", "R09", "R10", "R11"]),
        ("LED1_1-LED1_3", ["LED1_1", "LED1_2", "LED1_3"]),
        ("USB-UART1", ["USB-UART1"]),
        ("5.0V/3.3V1", ["5.0V/3.3V1"]),
        ("BAT/BUT1", ["BAT/BUT1"]),
        ("R1/R2", ["R1", "R2"]),
        ("R1-C4", ["R1-C4"]),
        ("R4-R1", ["R4-R1"]),
        ("J1-4", ["J1-4"]),
        ("+5V_EN1", ["+5V_EN1"]),
        ("AMP", ["AMP"]),
        ("esp8266", ["esp8266"]),
        ("Ref**", []),
        ("N/A", []),
        ("-", []),
    ],
)
def test_groups_and_ranges_are_written_out(cell: str, expected: list[str]) -> None:
    assert references(f'Ref,Value,Footprint\n"{cell}",1k,chip\n') == [tuple(expected)]


def test_a_long_range_is_written_out_whole() -> None:
    assert references("Ref,Value\nD1-D90,amber\n") == [tuple(f"D{i}" for i in range(1, 91))]


def test_endless_ranges_are_refused_all_at_once() -> None:
    with pytest.raises(InputErrors) as caught:
        read("Ref,Value\nR1-R99999999,1k\nR1,1k\nC1-C20000,1n\n")

    assert [error.line for error in caught.value.errors] == [2, 4]
    assert "R1-R99999999 has more than 10000 parts" in str(caught.value)


def test_many_long_ranges_are_bounded_together() -> None:
    rows = "".join(f"{a}{b}1-{a}{b}9999,1k\n" for a in "ABCDEF" for b in "GHIJK")

    with pytest.raises(InputErrors, match="more than 200000 designators"):
        read("Ref,Value\n" + rows)


@given(
    st.sampled_from(["R", "LED", "USB-P", "TP_", "+V"]),
    st.integers(0, 400),
    st.integers(1, 40),
    st.sampled_from(["-", "..", " - "]),
    st.sampled_from([",", ", ", " ", ";"]),
)
@example("R", 9, 3, "-", " ")
def test_a_range_and_its_parts_give_the_same_references(
    letters: str, first: int, more: int, sign: str, separator: str
) -> None:
    names = [f"{letters}{number}" for number in range(first, first + more + 1)]

    grouped = references(f'Ref,Value\n"{separator.join(names)}",1k\n')
    ranged = references(f'Ref,Value\n"{names[0]}{sign}{names[-1]}",1k\n')
    single = references("Ref,Value\n" + "".join(f"{name},1k\n" for name in names))

    assert grouped == ranged == [tuple(name for line in single for name in line)]


COLUMNS = {
    "Ref": ["R1", "C1 C2", "U1"],
    "Value": ["4k7", "100n", "DNP"],
    "Package": ["0402", "0603", "qfn"],
    "Qty": ["1", "2", "0"],
    "MPN": ["A", "", "B"],
    "Supplier": ["s1", "s2", "s3"],
}


@given(st.permutations(sorted(COLUMNS)), st.sampled_from(",;\t|"), st.booleans())
def test_column_order_separator_and_quotes_do_not_matter(
    order: list[str], delimiter: str, quoted: bool
) -> None:
    text = io.StringIO()
    writer = csv.writer(
        text, delimiter=delimiter, quoting=csv.QUOTE_ALL if quoted else csv.QUOTE_MINIMAL
    )
    writer.writerows([order, *([COLUMNS[name][i] for name in order] for i in range(3))])

    lines = read(text.getvalue()).lines

    assert [line.references for line in lines] == [("R1",), ("C1", "C2"), ("U1",)]
    assert [line.value for line in lines] == COLUMNS["Value"]
    assert [line.footprint for line in lines] == COLUMNS["Package"]
    assert [line.quantity for line in lines] == [1, 2, 0]
    assert [line.part_number for line in lines] == COLUMNS["MPN"]
    assert [line.fitted for line in lines] == [True, True, False]
    assert [line.cells["Supplier"] for line in lines] == COLUMNS["Supplier"]


@pytest.mark.parametrize(
    "value",
    ["DNP", "dnf", "Do not populate", "100n DNP", "10k/DNP", "(DNP)", "NC", "NA(1uF)", "NA/R0603"],
)
def test_a_value_can_say_not_fitted(value: str) -> None:
    assert not read(f"Ref,Value\nR1,{value}\n").lines[0].fitted


def test_the_mark_is_taken_off_the_value_and_kept_in_the_cells() -> None:
    line = read("Ref,Value\nC1,NA(1uF)\n").lines[0]

    assert (line.value, line.cells["Value"]) == ("1uF", "NA(1uF)")


@pytest.mark.parametrize(
    "value", ["100nF", "NCP18", "1N4148", "NA555", "Note coil", "100 nF", "N/A", "", "NCx"]
)
def test_an_ordinary_value_is_fitted(value: str) -> None:
    assert read(f"Ref,Value,Footprint\nR1,{value},x\n").lines[0].fitted


@pytest.mark.parametrize(
    ("head", "cell", "fitted"),
    [
        ("DNP", "", True),
        ("DNP", "x", False),
        ("DNP", "Yes", False),
        ("DNP", "TRUE", False),
        ("DNP", "1", False),
        ("DNP", "DNP", False),
        ("DNP", "no", True),
        ("DNP", "0", True),
        ("DNF", "1", False),
        ("Do not populate", "yes", False),
        ("nicht bestückt", "ja", False),
        ("DNP", "AB-4711", True),
        ("Fitted", "yes", True),
        ("Fitted", "no", False),
        ("Populate", "0", False),
        ("Mount", "SMD", True),
        ("Bestückt", "nein", False),
        ("Comments", "DNP", False),
        ("Notes", "do not fit, rev A only", False),
        ("Notes", "do not solder by machine", True),
        ("Notes", "N/A", True),
        ("Remark", "NC", False),
        ("Anything", "DNF", False),
        ("Exclude from BOM", "Excluded from BOM", True),
    ],
)
def test_a_column_can_say_not_fitted(head: str, cell: str, fitted: bool) -> None:
    text = f'Ref,Value,Qty,{head}\nR1,1k,1,"{cell}"\nR2,1k,1,\n'

    assert read(text).lines[0].fitted is fitted


def test_comment_beside_value_is_a_remark() -> None:
    line = read("Ref,Value,Comment\nR1,1k,DNP: later\n").lines[0]

    assert (line.value, line.fitted) == ("1k", False)


def test_empty_means_not_fitted_only_where_all_others_say_yes() -> None:
    marked = read("Ref,Value,Fitted\nR1,1k,x\nR2,1k,\n").lines
    mixed = read("Ref,Value,Fitted\nR1,1k,no\nR2,1k,\n").lines

    assert [line.fitted for line in marked] == [True, False]
    assert [line.fitted for line in mixed] == [False, True]


@pytest.mark.parametrize(
    ("cell", "quantity"),
    [
        ("3", 3),
        ("3 pcs", 3),
        ("3pcs.", 3),
        ("3.0", 3),
        ("3,0", 3),
        ("x3", 3),
        ("3x", 3),
        ('"1,200"', 1200),
        ("0", 0),
        ("", None),
        ("as needed", None),
        ("9" * 400, None),
    ],
)
def test_quantities_are_read(cell: str, quantity: float | None) -> None:
    assert read(f"Ref;Qty;Value\nR1;{cell};1k\n").lines[0].quantity == quantity


def test_a_quantity_of_nothing_is_not_fitted() -> None:
    assert not read("Ref,Qty,Value\nR1,0,1k\n").lines[0].fitted


def test_items_without_designators_are_kept() -> None:
    lines = read("Ref,Value,Footprint,Qty\n,logo,our_logo,1\nRef**,Val**,our_leaf,1\n").lines

    assert [(line.references, line.footprint) for line in lines] == [
        ((), "our_logo"),
        ((), "our_leaf"),
    ]


@pytest.mark.parametrize(
    "row",
    ["Total,,5", ",Total:,5", "Component Count:,5,", "Resistors,,", ",,", "----,----,--", "Sum 5"],
)
def test_totals_and_captions_are_no_lines(row: str) -> None:
    assert references(f"Ref,Value,Qty\nR1,1k,1\n{row}\nR2,1k,1\n") == [("R1",), ("R2",)]


def test_a_supplier_number_is_no_part_number_but_stays_in_the_cells() -> None:
    bom = read("Ref,Value,Distributor Part Number,Supplier\nR1,1k,77-9,Shop\n")

    assert bom.lines[0].part_number == ""
    assert bom.lines[0].cells["Distributor Part Number"] == "77-9"
    assert dict(bom.columns) == {"reference": "Ref", "value": "Value"}


def test_every_cell_is_kept_also_beyond_the_header() -> None:
    line = read("Ref,Value,Maker,Maker\nR1,1k,A,B,extra\nR2\n").lines[0]

    assert dict(line.cells) == {
        "Ref": "R1",
        "Value": "1k",
        "Maker": "A",
        "Maker (2)": "B",
        "column 5": "extra",
    }


def test_a_short_row_has_empty_cells() -> None:
    line = read("Ref,Value,Footprint,Qty\nR1,1k\n").lines[0]

    assert (line.footprint, line.quantity, line.cells["Qty"]) == ("", None, "")


def test_parts_listed_again_collated_count_once() -> None:
    text = (
        "Individual:\nItem,Ref,Value\n1,R1,1k\n2,R2,1k\n3,C1,1n\n\n"
        "Collated:\nItem,Qty,Ref,Value\n1,2,R1 R2,1k\n2,1,C1,1n\n"
    )

    lines = read(text).lines

    assert [(line.references, line.quantity) for line in lines] == [
        (("R1", "R2"), 2),
        (("C1",), 1),
    ]


def test_of_two_equal_listings_the_one_with_quantities_counts() -> None:
    text = "Ref,Qty,Value\nR1,,1k\nR2,,1k\n\nTogether:\nRef,Qty,Value\nR1 R2,2,1k\n"

    assert [(line.references, line.quantity) for line in read(text).lines] == [(("R1", "R2"), 2)]


def test_designators_that_run_over_to_the_next_rows_belong_to_the_line_above() -> None:
    text = "Item\tQuantity\tReference\tPart\n1\t4\tR1,R2,\t1k\n\t\tR3\n\t\tR4\n\t\tR5\n"

    lines = read(text).lines

    assert [line.references for line in lines] == [("R1", "R2", "R3", "R4"), ("R5",)]
    assert lines[0].value == "1k"


@pytest.mark.parametrize("head", ["Part", "Name", "Component", "Device"])
def test_without_a_value_column_the_name_of_the_part_is_the_value(head: str) -> None:
    assert read(f"Item,Reference,{head}\n1,R1,1k\n").lines[0].value == "1k"
    assert read(f"Item,Reference,{head},Value\n1,R1,RES,1k\n").lines[0].value == "1k"


def test_a_number_sign_is_a_number() -> None:
    assert read("Reference,Value,Part #\nR1,1k,RES-7\n").lines[0].part_number == "RES-7"


def test_two_tables_of_different_parts_both_count() -> None:
    text = "Ref,Value\nR1,1k\nR2,1k\n\nRef,Value\nC1,1n\nC2,1n\n"

    assert references(text) == [("R1",), ("R2",), ("C1",), ("C2",)]


def test_one_designator_in_two_tables_does_not_hide_the_others_of_its_line() -> None:
    text = 'Ref,Value\nR1,1k\nR2,1k\nR3,1k\n\nRef,Value\n"R3,R4,R5",2k\nC1,1n\n'

    assert references(text)[3:] == [("R3", "R4", "R5"), ("C1",)]


def test_what_the_second_listing_has_beyond_is_kept() -> None:
    text = "Ref,Value,Qty\nR1,1k,1\nR2,1k,1\n\nRef,Value\nR1 R2 R3,1k\n"

    assert references(text) == [("R1",), ("R2",), ("R3",)]


def test_lines_know_their_place() -> None:
    place = read("preamble\n\nRef,Value\nR1,1k\n").lines[0].place

    assert (place.file, place.line) == ("lamp/lamp-bom.csv", 4)


def test_stated_columns_win_over_the_known_names() -> None:
    text = "Pos,Ref,Rolle,Weg\n1,A-7,R1,x\n2,A-9,R2,\n"

    bom = read(text, {"reference": "rolle", "fitted": "Weg", "part number": "Ref"})

    assert [line.references for line in bom.lines] == [("R1",), ("R2",)]
    assert [line.part_number for line in bom.lines] == ["A-7", "A-9"]
    assert [line.fitted for line in bom.lines] == [True, False]


def test_a_stated_column_headed_not_fitted_keeps_its_sense() -> None:
    bom = read("Ref,Value,DNP\nR1,1k,x\nR2,1k,\n", {"fitted": "DNP"})

    assert [line.fitted for line in bom.lines] == [False, True]


def test_wrong_stated_columns_are_named_with_the_nearest_right_ones() -> None:
    with pytest.raises(InputErrors) as caught:
        read("Ref,Value,Rolle\nR1,1k,x\n", {"refernce": "Ref", "value": "Role"})

    text = str(caught.value)
    assert "there is no column role 'refernce' (did you mean 'reference'?)" in text
    assert "lamp-bom.csv:1: there is no column 'Role' (did you mean 'Rolle'?)" in text


def test_a_list_without_designators_is_refused_with_the_line_to_paste() -> None:
    with pytest.raises(InputError) as caught:
        read("made by hand\nDescription,Value,Sitz,Quantity\nfilm,1k,R1,1\nfilm,2k,R2,1\n")

    assert caught.value.line == 2
    assert "Description, Value, Sitz, Quantity" in caught.value.what
    pasted = re.search(r"columns: (\{.*\})", caught.value.do)
    assert pasted is not None
    assert pasted[1] == "{lamp-bom.csv: {reference: Sitz}}"


def test_part_names_under_part_are_not_taken_for_designators() -> None:
    with pytest.raises(InputError, match="no column of reference designators"):
        read("Part,Value,Quantity\nLM4711,amplifier,2\nBC0815,transistor,1\n")


def test_references_of_a_supplier_are_no_designators() -> None:
    with pytest.raises(InputError, match="no column of reference designators"):
        read("Supplier References,Value,Quantity\n77-1,1k,2\n77-2,2k,1\n")


def test_of_two_reference_columns_the_one_with_designators_counts() -> None:
    assert references("Référence;Repère;Valeur\nAB-4711;R1;1k\nAB-0815;R2;2k\n") == [
        ("R1",),
        ("R2",),
    ]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "no row names the columns"),
        ("just words\n", "no row names the columns"),
        ("C1:1\nR1:1\n", "list of designators and counts"),
        ('Ref,Value\nR1,"1k\n', "never closed"),
        ("\x00\x01\x02", "no row names the columns"),
    ],
)
def test_unusable_text_is_refused_by_name(text: str, what: str) -> None:
    with pytest.raises(InputError, match=what):
        read(text)


@given(st.text(st.sampled_from('Ref,Value\nR1-9;"\t|#*:/ \r\x00µ'), max_size=60))
@example('Ref,Value\n"')
@example("Ref,Value\n,\n")
def test_no_text_ends_in_anything_but_a_bom_or_a_named_error(text: str) -> None:
    try:
        lines = read("Ref,Value\n" + text).lines
    except (InputError, InputErrors):
        return

    assert all("*" not in name for line in lines for name in line.references)
