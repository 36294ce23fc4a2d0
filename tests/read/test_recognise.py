"""Files are told apart by content, whatever their encoding, and refused with a reason."""

from __future__ import annotations

import dataclasses
import struct
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.read.netlists import BARE, QUOTED

from boardvet.board import FileKind
from boardvet.errors import InputError
from boardvet.intent import Intent
from boardvet.read.recognise import INTENT_KEYS, decode, recognise

BOM = "Reference,Value,Quantity\nR1,4k7,1\nD1,amber,1\n"
PLACEMENT = "Ref,Val,PosX,PosY,Rot,Side\nR1,4k7,1.0,-2.0,90,top\nD1,amber,3.0,-4.0,0,top\n"
TEST_POINTS = (
    "P  CODE 00\nP  UNITS CUST 0\n"
    "317GND              R1    -1          A01X+012345Y-012345X0400Y0400R000S2\n999\n"
)
INTENT = "# one page\nboard: Lamp\ncell: {part: BT1, type: CR2032}\nrun_time: 3 days\n"
FACTS = "- match: OUR-LED-1\n  kind: led\n  source: from its sheet\n"


def refusal(data: bytes) -> str:
    with pytest.raises(InputError) as caught:
        recognise(data, "some.file")
    assert str(caught.value).startswith("some.file")
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        (BARE, FileKind.NETLIST),
        (QUOTED, FileKind.NETLIST),
        ("\n (export\n\t(version E))", FileKind.NETLIST),
        (BOM, FileKind.BOM),
        (BOM.replace(",", ";"), FileKind.BOM),
        ("Board: Lamp\nDate: today\n\n" + BOM, FileKind.BOM),
        ("Value;Quantity;Footprint\n4k7;1;0603\n", FileKind.BOM),
        (PLACEMENT, FileKind.PLACEMENT),
        (PLACEMENT.replace(",", "\t"), FileKind.PLACEMENT),
        (TEST_POINTS, FileKind.TEST_POINTS),
        ("P  JOB LAMP\nC  no record yet\n999\n", FileKind.TEST_POINTS),
        (TEST_POINTS.split("\n", 2)[2], FileKind.TEST_POINTS),
        (INTENT, FileKind.INTENT),
        ("---\nparts:\n  R1: {kind: resistor}\n", FileKind.INTENT),
        (INTENT.replace("cell:", "cel:"), FileKind.INTENT),
        (INTENT + "run_time 3 days\n", FileKind.INTENT),
        ("columns: {a.csv: {reference: Pos, value: Wert}}\nboards: 3\n", FileKind.INTENT),
        ("boards: 3\n# Reference,Value,Quantity\n# R1,4k7,1\n", FileKind.INTENT),
        (FACTS, FileKind.FACTS),
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_kind_is_known_by_content(text: str, kind: FileKind, encoding: str) -> None:
    assert recognise(text.encode(encoding), "some.file") is kind


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
def test_the_text_is_the_same_in_every_encoding(encoding: str, ending: str) -> None:
    text = "Reference,Value\nC1,0.1 µF\n"

    assert decode(text.replace("\n", ending).encode(encoding), "x") == text


def test_an_8_bit_byte_without_a_meaning_leaves_the_rest_readable() -> None:
    assert decode(b"C1,0.1 \x81F\nR1,1k\n", "x") == "C1,0.1 \ufffdF\nR1,1k\n"


def test_one_broken_byte_does_not_spoil_the_utf_8_around_it() -> None:
    data = "R1,10 kΩ\nC1,0.1 µF\n".encode() + b"C2,1 \xb5F\n"

    assert decode(data, "x") == "R1,10 kΩ\nC1,0.1 µF\nC2,1 \ufffdF\n"


def png() -> bytes:
    """A picture of one white dot."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(data))

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(b"\0\xff"))


@pytest.mark.parametrize(
    ("data", "what", "do"),
    [
        (b"", "empty", "export it again"),
        (b" \r\n\r\n", "empty", "export it again"),
        (b"\xef\xbb\xbf", "empty", "export it again"),
        (png(), "a PNG picture", "cannot be read"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF\0", "a JPEG picture", "cannot be read"),
        (b"PK\x03\x04\x14\0\x06\0", "a spreadsheet or an archive", "save the sheet as CSV"),
        (b"%PDF-1.7\n1 0 obj", "a PDF document", "cannot be read"),
        (b"\x01\x02\x03abc" * 10, "a binary file", "give a netlist"),
        (b"abcdef" * 100 + b"\0", "a binary file", "give a netlist"),
        (b"(drawing (version 3))", "no netlist", "export the netlist"),
        (b"<?xml version='1.0'?><export/>", "XML", "give a netlist"),
        (b"Dear reader,\nthis is a letter.\n", "none of the files that are read", "columns"),
    ],
)
def test_what_is_no_export_is_refused_with_a_reason(data: bytes, what: str, do: str) -> None:
    message = refusal(data)

    assert what in message
    assert do in message


def test_the_keys_of_an_intent_page_are_all_known() -> None:
    fields = {field.name for field in dataclasses.fields(Intent)} - {"path", "places", "cells"}

    assert fields | {"cell"} == INTENT_KEYS


@given(st.binary(max_size=200))
def test_any_bytes_are_recognised_or_refused(data: bytes) -> None:
    try:
        kind = recognise(data, "some.file")
    except InputError:
        return
    assert kind in FileKind
