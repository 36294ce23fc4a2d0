"""Placement files in the dialects and with the oddities that exporters produce; invented data."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.board import PlacementEntry
from boardvet.errors import InputError, InputErrors
from boardvet.read.placement import read_placement


def read(text: str, columns: dict[str, str] | None = None) -> tuple[PlacementEntry, ...]:
    return read_placement(text, "lamp/lamp-pos.csv", columns).entries


def at(text: str) -> tuple[float, float]:
    entry = read(text)[0]
    return entry.x, entry.y


@pytest.mark.parametrize(
    ("head", "row"),
    [
        ("Designator,Val,Package,Mid X,Mid Y,Rotation,Layer", "R1,1k,chip,12.5,-3,90,bottom"),
        ("Ref,Val,Package,PosX,PosY,Rot,Side", "R1,1k,chip,12.5,-3,90.000,bottom"),
        ("Designator;MidX;MidY;Rotation;Layer;Comment;Footprint", "R1;12.5;-3;90;B;1k;chip"),
        ("Layer,Rotation,Mid Y,Mid X,Package,Val,Designator", "Bottom,90,-3,12.5,chip,1k,R1"),
        ("REF,PACKAGE,VALUE,X,Y,ROTATION,LAYER,", "R1   , chip , 1k , 12.5, -3, 90.0, b"),
        (
            "Designator|Comment|Layer|Footprint|Center-X(mm)|Center-Y(mm)|Rotation",
            "R1|1k|BottomLayer|chip|12.5|-3|90",
        ),
        (
            "Bezeichner;Wert;Gehäuse;X-Koordinate;Y-Koordinate;Drehung;Seite",
            "R1;1k;chip;12,5;-3,0;90;unten",
        ),
        (
            "RefDes\tValue\tPackage\tX-pos\tY-pos\tAngle\tMount side",
            "R1\t1k\tchip\t12.5\t-3\t90\t2",
        ),
        (
            "Designator,Footprint,Mid X,Mid Y,Ref X,Ref Y,Pad X,Pad Y,Layer,Rotation,Comment",
            'R1,chip,12.5mm,-3mm,9mm,9mm,8mm,8mm,B,90,"1k"',
        ),
    ],
)
def test_each_dialect_of_headings_is_understood(head: str, row: str) -> None:
    entry = read(f"{head}\n{row}\n")[0]

    assert (entry.reference, entry.value, entry.package) == ("R1", "1k", "chip")
    assert (entry.x, entry.y) == pytest.approx((12.5e-3, -3e-3), rel=1e-12)
    assert (entry.rotation, entry.side) == (90, "bottom")


@pytest.mark.parametrize(
    ("cell", "metres"),
    [
        ("41.96mm", 41.96e-3),
        ("41.96 mm", 41.96e-3),
        ("1.2in", 30.48e-3),
        ("1.2 inch", 30.48e-3),
        ('1.2"', 30.48e-3),
        ("47mil", 1.1938e-3),
        ("500um", 0.5e-3),
        ("500 µm", 0.5e-3),
        ("2.5cm", 25e-3),
        ("-7", -7e-3),
        ("−7", -7e-3),
        ("+7.5", 7.5e-3),
        (".5", 0.5e-3),
        ("1e1", 10e-3),
        ("0", 0.0),
    ],
)
def test_units_in_cells(cell: str, metres: float) -> None:
    """By hand, with the inch at exactly 25.4 mm: 1.2 in = 30.48 mm, 47 mil = 1.1938 mm."""
    quoted = cell.replace('"', '""')

    assert at(f'Ref,X,Y\nR1,"{quoted}",0\n')[0] == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize(
    ("head", "metres"),
    [
        ("Mid X(mm),Mid Y(mm)", 2e-3),
        ("Center-X(mil),Center-Y(mil)", 2 * 25.4e-6),
        ("PosX [inch],PosY [inch]", 2 * 25.4e-3),
        ("X (in),Y (in)", 2 * 25.4e-3),
        ("X_mm,Y_mm", 2e-3),
        ("X,Y", 2e-3),
    ],
)
def test_units_in_headings(head: str, metres: float) -> None:
    assert at(f"Ref,{head}\nR1,2,2\n") == pytest.approx((metres, metres), rel=1e-12)


@pytest.mark.parametrize(
    ("preamble", "metres"),
    [
        ("## Unit = mm, Angle = deg.", 2e-3),
        ("## Unit = inches, Angle = deg.", 2 * 25.4e-3),
        ("      Units: inches", 2 * 25.4e-3),
        ("Units used:,mil", 2 * 25.4e-6),
        ("Einheit: mm", 2e-3),
        ("All sizes in mils", 2 * 25.4e-6),
        ("a united lamp, made at home", 2e-3),
    ],
)
def test_units_in_the_preamble(preamble: str, metres: float) -> None:
    assert at(f"{preamble}\nRef,X,Y\nR1,2,2\n") == pytest.approx((metres, metres), rel=1e-12)


def test_a_cell_speaks_before_its_heading_and_that_before_the_preamble() -> None:
    entry = read("Units: inches\nRef,X (mm),Y\nR1,2,3mm\nR2,2mil,1\n")

    assert [e.x for e in entry] == pytest.approx([2e-3, 50.8e-6])
    assert [e.y for e in entry] == pytest.approx([3e-3, 25.4e-3])


@pytest.mark.parametrize(
    ("cell", "side"),
    [
        ("top", "top"),
        ("Top", "top"),
        ("T", "top"),
        ("TopLayer", "top"),
        ("F.Cu", "top"),
        ("Front", "top"),
        ("component side", "top"),
        ("oben", "top"),
        ("bottom", "bottom"),
        ("B", "bottom"),
        ("BOT", "bottom"),
        ("Bottom Layer", "bottom"),
        ("B.Cu", "bottom"),
        ("back", "bottom"),
        ("dół", "bottom"),
    ],
)
def test_sides_are_told_by_their_words(cell: str, side: str) -> None:
    assert read(f"Ref,X,Y,Side\nR1,1,1,{cell}\n")[0].side == side


def test_without_a_column_the_side_is_that_of_the_preamble_else_the_top() -> None:
    assert read("## Side : bottom\nRef,X,Y\nR1,1,1\n")[0].side == "bottom"
    assert read("Ref,X,Y\nR1,1,1\n")[0].side == "top"
    assert read("## Side : All\nRef,X,Y\nR1,1,1\n")[0].side == "top"


@pytest.mark.parametrize(
    ("cell", "degrees"),
    [("90", 90), ("270.000000", 270), ("-90.0", -90), ("45°", 45), ("90 deg", 90), ("22,5", 22.5)],
)
def test_rotations(cell: str, degrees: float) -> None:
    assert read(f'Ref,X,Y,Rot\nR1,1,1,"{cell}"\n')[0].rotation == degrees


def test_a_mirrored_rotation_is_on_the_bottom() -> None:
    entry = read("Ref,X,Y,Rot\nR1,1,1,MR180\n")[0]

    assert (entry.rotation, entry.side) == (180, "bottom")


def test_no_rotation_is_zero() -> None:
    assert read("Ref,X,Y\nR1,1,1\n")[0].rotation == 0


def test_aligned_columns_with_spaces_in_values() -> None:
    text = (
        "### Positions of a lamp ###\n"
        "## Unit = mm, Angle = deg.\n"
        "## Side : bottom\n"
        "# Ref     Val                  Package        PosX       PosY       Rot  Side\n"
        "C1        1 uF, 10 V, ceramic  our_0402     2.3250    -2.2500   90.0000  bottom\n"
        "LED12     amber                our_lamp   112.3250  -112.2500    0.0000  bottom\n"
        "## End\n"
    )

    first, second = read(text)

    assert (first.value, first.package, first.side) == (
        "1 uF, 10 V, ceramic",
        "our_0402",
        "bottom",
    )
    assert (first.x, first.y, first.rotation) == pytest.approx((2.325e-3, -2.25e-3, 90))
    assert (second.reference, second.place.line) == ("LED12", 6)
    assert second.x == pytest.approx(112.325e-3)


def test_aligned_columns_under_their_headings() -> None:
    text = (
        "Places of a lamp\n===========\nUnits used: mil\n\n"
        "Designator Comment        Layer  Footprint Center-X(mil) Center-Y(mil) Rotation Note\n"
        'U1         "lamp driver"  Top    our_chip  100.000       -50.000       270      ""\n'
        "R1         soft start key Bottom our_0402  1.000         2.000         0        a  b\n"
        "R2                        Top    our_0402  3.000         4.000         90       spare\n"
    )

    entries = read(text)

    assert [e.value for e in entries] == ["lamp driver", "soft start key", ""]
    assert [e.package for e in entries] == ["our_chip", "our_0402", "our_0402"]
    assert [e.side for e in entries] == ["top", "bottom", "top"]
    assert [e.rotation for e in entries] == [270, 0, 90]
    assert [e.x for e in entries] == pytest.approx([2.54e-3, 25.4e-6, 76.2e-6])


def test_a_header_that_is_a_comment_line() -> None:
    text = (
        "# places of a lamp\n# X,Y in mil.  rotation in degrees.\n# ------\n"
        "# RefDes, Description, Value, X, Y, rotation, top/bottom\n"
        'R1,"film","1k",100.00,50.00,90,bottom\n'
    )

    entry = read(text)[0]

    assert (entry.reference, entry.value, entry.side) == ("R1", "1k", "bottom")
    assert entry.x == pytest.approx(2.54e-3)


def test_a_header_at_line_nine_is_found() -> None:
    text = "Lamp\n\nDate: 2026-01-02\n\nmade by hand\n,,\n\n\nRef,Mid X(mm),Mid Y(mm)\nR1,1,2\n"

    assert read(text)[0].place.line == 10


def test_a_panel_repeats_references_and_all_are_kept() -> None:
    entries = read("Ref,X,Y\nR1,1,1\nR1,21,1\nR1,41,1\n")

    assert [(e.reference, round(e.x, 6)) for e in entries] == [
        ("R1", 1e-3),
        ("R1", 21e-3),
        ("R1", 41e-3),
    ]


def test_rows_without_a_reference_are_left_out() -> None:
    text = "Ref,Val,X,Y\n,,,\n,logo,1,1\nRef**,leaf,1,1\nR1,1k,1,1\nEnd of file\n"

    assert [entry.reference for entry in read(text)] == ["R1"]


def test_a_side_without_parts_is_no_error() -> None:
    assert read("# Ref  Val  Package  PosX  PosY  Rot  Side\n## End\n") == ()


def test_top_and_bottom_tables_of_one_file_both_count() -> None:
    text = "Ref,X,Y,Side\nR1,1,1,top\n\nRef,X,Y,Side\nR2,1,1,bottom\n"

    assert [(entry.reference, entry.side) for entry in read(text)] == [
        ("R1", "top"),
        ("R2", "bottom"),
    ]


def test_all_mistakes_are_named_at_once_with_their_lines() -> None:
    text = (
        "Ref,X,Y,Rot,Side\nR1,1,1,0,top\nR2,one,1,0,top\nR3,1,1 furlong,0,top\n"
        "R4,1,1,twist,top\nR5,1,1,0,inside\nR6,,1,0,top\nR7,1e999,1,0,top\n"
    )

    with pytest.raises(InputErrors) as caught:
        read(text)

    assert [(error.line, error.what) for error in caught.value.errors] == [
        (3, "x of R2 is 'one'"),
        (4, "y of R3 is '1 furlong'"),
        (5, "rotation of R4 is 'twist'"),
        (6, "side of R5 is 'inside'"),
        (7, "x of R6 is ''"),
        (8, "x of R7 is '1e999'"),
    ]


def test_missing_columns_are_named_with_the_line_to_paste() -> None:
    with pytest.raises(InputError) as caught:
        read("Ref,Across,Up,Value\nR1,1,2,1k\n")

    assert caught.value.what == "no column for x and y; the columns are: Ref, Across, Up, Value"
    assert "columns: {lamp-pos.csv: {x: <its heading>, y: <its heading>}}" in caught.value.do


def test_stated_columns_are_taken() -> None:
    entry = read("Ref,Across,Up,Value\nR1,1,2,1k\n", {"x": "Across", "y": "up"})[0]

    assert (entry.x, entry.y) == pytest.approx((1e-3, 2e-3))


def test_a_bom_is_no_placement_file() -> None:
    with pytest.raises(InputError, match="no column for x and y"):
        read("Ref,Value\nR1,1k\n")


def test_words_alone_are_no_placement_file() -> None:
    with pytest.raises(InputError, match="no row names the columns"):
        read("nothing here\n")


COLUMNS = {"Ref": "R7", "Val": "1k, film", "Package": "chip", "PosX": "1.5", "PosY": "-2.5"}
COLUMNS |= {"Rot": "180", "Side": "bottom"}


@given(st.permutations(sorted(COLUMNS)))
def test_column_order_does_not_matter(order: list[str]) -> None:
    head = ";".join(order)
    row = ";".join(COLUMNS[name] for name in order)

    entry = read(f"{head}\n{row}\n")[0]

    assert (entry.reference, entry.value, entry.package) == ("R7", "1k, film", "chip")
    assert (entry.x, entry.y, entry.rotation) == pytest.approx((1.5e-3, -2.5e-3, 180))
    assert entry.side == "bottom"


@given(st.floats(-999, 999), st.floats(-999, 999))
def test_millimetres_inches_and_mils_place_a_part_alike(x: float, y: float) -> None:
    """The same point in three units, converted here by division instead of by our table."""
    points = [
        at(f"Ref,X ({unit}),Y ({unit})\nR1,{x / size:.9f},{y / size:.9f}\n")
        for unit, size in (("mm", 1), ("inch", 25.4), ("mil", 0.0254))
    ]

    for point in points:
        assert point == pytest.approx((x / 1000, y / 1000), abs=1e-9)


@given(st.text(st.sampled_from('Ref,XY\nR1-9.;"\t|#*:/ \r\x00µ'), max_size=60))
def test_no_text_ends_in_anything_but_entries_or_a_named_error(text: str) -> None:
    try:
        entries = read("Ref,X,Y\n" + text)
    except (InputError, InputErrors):
        return

    assert all(entry.reference and entry.side == "top" for entry in entries)
