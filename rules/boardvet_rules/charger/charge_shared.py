"""The board takes so much from a cell on charge that the charger never ends.

On the bench
------------
The charge light stays on for ever, or blinks a fault after some hours; the cell is held at its
full voltage all the time, or runs down although it is plugged in.

What is judged
--------------
Each charger in each state in which something feeds it: the board is solved with a full cell, and
the mean of what the cell gives to the board over the pattern of that state is compared with the
current at which the charger ends charging, a share of the set current or a figure of its own. The
charger cannot tell the load from the cell, so above that current it never ends. What is fed by
another way while the source is there (from the source through a diode, with a transistor that
parts the cell, or from a second output of the charger) is not taken from the cell and does not
count. Without a stated pattern every light counts as on; a part counts with what it draws at rest.

Left undetermined
-----------------
The set current of the charger, the current at which it ends, what feeds it, the cell, or what a
part on the cell draws at rest is not known.

Cure
----
Feed the board from the source while it is there: a Schottky diode from the source to the board,
and a P-channel transistor towards the cell with its gate on the source; or a charger with an
output for the board.

Wrong::

    BT1 cell/LiPo + BAT - GND
    ~ cell: {part: BT1, type: LiPo, capacity: 400 mAh}
    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    U1 MCP73831T-2ACI/OT @SOT-23-5 1:STAT . 2:VSS GND 3:VBAT BAT 4:VDD VIN 5:PROG SET
    R1 10k SET GND
    U2 mcu VCC+ BAT GND- GND = sleep_current 1 uA
    R2 220 BAT LIT
    D1 led/red LIT GND = forward_voltage 2.0 V at 10 mA

Right::

    BT1 cell/LiPo + BAT - GND
    ~ cell: {part: BT1, type: LiPo, capacity: 400 mAh}
    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    U1 MCP73831T-2ACI/OT @SOT-23-5 1:STAT . 2:VSS GND 3:VBAT BAT 4:VDD VIN 5:PROG SET
    R1 10k SET GND
    D2 diode/BAT54 VIN SYS
    Q1 fet/p 1:G VIN 2:S SYS 3:D BAT = channel p
    R3 100k VIN GND
    U2 mcu VCC+ SYS GND- GND = sleep_current 1 uA
    R2 220 SYS LIT
    D1 led/red LIT GND = forward_voltage 2.0 V at 10 mA

Sources
-------
Kirchhoff's laws, solved. The current at which a charger ends: its data sheet, named in the
finding. That a load beside the cell keeps it from ending: common practice in makers' notes on
sharing load and charge, from memory.
"""

from __future__ import annotations

from boardvet.circuit.charge_load import ChargeLoad, ChargeLoads
from boardvet.circuit.charging import Charger, Charging, Setting
from boardvet.circuit.handle import Circuit
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number


@rule(level=Level.QUERY)
def check(
    charger: Charger, circuit: Circuit, charging: Charging, loads: ChargeLoads
) -> Found | Clear:
    """Judge one charger in the state in which its cell gives most to the board."""
    cells = charging.cells(charger)
    if not all(cell.need_chemistry().rechargeable for cell in cells):
        return Clear()
    load = loads.worst(charger, cells)
    setting = charging.setting(charger)
    ends = charging.ends_at(charger, setting)
    if load.current <= ends.value:
        for reference in load.unknown:
            raise circuit.facts.missing(reference, "sleep_current")
        return Clear(_numbers(load, ends))
    return _found(charger, load, setting, ends, tuple(cell.reference for cell in cells))


def _numbers(load: ChargeLoad, ends: Known[float]) -> tuple[Number, ...]:
    how = "computed: the board, solved with a full cell"
    source = how if load.stated else "assumed: every light on, no pattern is stated"
    return (
        Number("mean load on the cell", load.current, "A", source),
        Number("ends charging at", ends.value, "A", ends.source),
    )


def _found(
    charger: Charger,
    load: ChargeLoad,
    setting: Setting,
    ends: Known[float],
    cells: tuple[str, ...],
) -> Found:
    names = " and ".join(cells)
    takers = " and ".join(f"{part} {show(amps, 'A')}" for part, amps in load.takers)
    listed = f" ({takers})" if takers else ""
    return Found(
        bench=f"{names} runs down although {THIS} charges it."
        if load.current >= setting.highest.value
        else f"{THIS} never says that {names} is full, or stops with a fault after some hours.",
        sum=f"The board takes {show(load.current, 'A')}{listed} beside {names} while it is "
        f"charged; {THIS} charges with {show(setting.highest.value, 'A')} and ends below "
        f"{show(ends.value, 'A')}.",
        fix=f"feed the board from the source of {charger.reference} while it is there: a Schottky "
        "diode from the source to the board, and a P-channel transistor between board and "
        f"{names} with its gate on the source; or state modes if the board is off then",
        why="The charger sees one current and cannot tell the load from the cell.",
        numbers=_numbers(load, ends),
        parts=(*cells, *(part for part, _ in load.takers)),
        state=load.state.name,
    )
