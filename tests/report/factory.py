"""Reviews made by hand for the tests of reports and of the command line."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from boardvet.board import FileKind, Place, SourceFile
from boardvet.review.review import PackName, Review
from boardvet.review.verdict import (
    Assumption,
    ClearOf,
    Finding,
    Level,
    Number,
    SubjectName,
    Undetermined,
    Waived,
)

NETLIST = "buoy.net"


def finding(
    name: str = "D1",
    *,
    rule: str = "led-unlimited",
    area: str = "light",
    level: Level = Level.HOLD,
    kind: str = "LED string",
    line: int = 12,
    **changes: Any,
) -> Finding:
    """A finding on one subject whose texts name it."""
    made = Finding(
        rule=rule,
        area=area,
        level=level,
        subject=SubjectName(kind, name),
        parts=(name,),
        nets=(),
        bench=f"{name} flares and dies within minutes.",
        sum=f"62.5 mA flows through {name}, rated 20 mA: (3.2 V − 1.95 V) / 20 Ω.",
        fix=f"put 68 Ω in series with {name}",
        why="Nothing but the resistance of the cell limits the current.",
        numbers=(Number("forward voltage", 1.95, "V", "facts led colour red"),),
        at=Place(NETLIST, line),
        related=(),
        state="cell alone, every switch closed",
        fingerprint=f"{rule}/{name}",
    )
    return replace(made, **changes)


def undetermined(
    of: str = "U1",
    key: str = "supply",
    *,
    rule: str = "supply-window",
    level: Level = Level.HOLD,
    subject: str = "",
    how: str = "",
) -> Undetermined:
    """A subject that waits for one fact."""
    return Undetermined(
        rule=rule,
        area="cell",
        level=level,
        subject=SubjectName("supply pin", subject or f"{of} VDD"),
        parts=(of,),
        nets=(),
        of=of,
        key=key,
        missing=f"{key} of {of} is not known",
        how=how or f"parts: {{{of}: {{{key}: 1.8 to 3.6 V}}}}",
    )


def clear(name: str = "U1", rule: str = "bypass-missing") -> ClearOf:
    """A subject judged clear on one number."""
    numbers = (Number("bypass", 1e-7, "F", f"netlist {NETLIST}:40"),)
    return ClearOf(rule, SubjectName("supply rail", name), (name,), ("VBAT",), numbers)


def review(**changes: Any) -> Review:
    """A review of a small invented board: nothing found unless `changes` say so."""
    made = Review(
        board="Mooring buoy lamp",
        parts=41,
        nets=33,
        files=(
            SourceFile(NETLIST, FileKind.NETLIST, "0" * 64),
            SourceFile("buoy-bom.csv", FileKind.BOM, "1" * 64),
            SourceFile("boardvet.yaml", FileKind.INTENT, "2" * 64),
        ),
        packs=(PackName("built-in", "0.1.0"),),
        gate="hold",
        strict=False,
        findings=(),
        undetermined=(),
        clear=(clear(),),
        no_subject=("rail-contested",),
        broken=(),
        assumptions=(),
        settings=(),
    )
    return replace(made, **changes)


def assumption(what: str = "temperature", *rules: str) -> Assumption:
    """A default on which `rules` rest."""
    return Assumption(what, 25.0, "degC", "assumed room temperature", rules or ("led-unlimited",))


def draft_review() -> Review:
    """A first draft with something of everything."""
    like = tuple(finding(f"D{number}", line=100 + number) for number in range(1, 13))
    feed = finding(
        "VLED",
        rule="rail-unfed",
        area="rail",
        kind="rail",
        parts=("U2", "R4"),
        nets=("VLED",),
        bench="U2 stays dead: nothing feeds VLED.",
        sum="",
        fix="join VLED to VBAT at R4",
        why="",
        numbers=(),
        state="",
        line=310,
    )
    dead = finding(
        "U2 VDD",
        rule="supply-window",
        area="cell",
        kind="supply pin",
        bench="U2 never starts.",
        sum="0 V where it needs 1.8 V.",
        fix="feed VLED",
        numbers=(),
        follows=feed.fingerprint,
        line=200,
    )
    bypass = finding(
        "VBAT",
        rule="bypass-missing",
        area="decoupling",
        level=Level.QUERY,
        kind="rail",
        parts=("U1",),
        nets=("VBAT",),
        bench="U1 resets at random when the lights switch.",
        sum="1 supply pin on VBAT, 0 capacitors of 10 nF to 1 µF.",
        fix="add 100 nF from VBAT to GND beside pin 8 of U1",
        why="The lead from the cell is too long to carry the edge of a clock.",
        numbers=(Number("wanted", 1.0, "", "assumed setting per_pin"),),
        state="",
        line=77,
    )
    small = finding(
        "TP1",
        rule="net-alone",
        area="net",
        level=Level.NOTE,
        kind="net",
        bench="Nothing will be seen: DBG ends at TP1 alone.",
        sum="",
        fix="join DBG to its other end, or mark the pin as left open",
        why="",
        numbers=(),
        state="",
    )
    accepted = finding("D20", waived=Waived("dims on purpose when the cell is low", "2027-06-01"))
    pins = tuple(
        Assumption(f"pin_resistance of U{number}", 30.0, "ohm", "assumed", ("led-unlimited",))
        for number in (1, 2, 3)
    )
    return review(
        findings=(*like, feed, dead, bypass, small, accepted),
        undetermined=(
            undetermined("U1"),
            undetermined("U1", rule="pin-overloaded", subject="U1 pin 5"),
            *(undetermined(f"D{number}", "forward_voltage") for number in (1, 2, 3)),
        ),
        assumptions=(
            assumption("temperature", "led-unlimited", "cell-sag"),
            *pins,
        ),
    )
