"""ngspice circuits written by hand beside a board: cards in, node voltages and currents out.

The junction is that of the design, I = Is·(exp((V − I·Rs)/(n·Vt)) − 1), Vt = 25.865 mV, with Is
from the stated point. Nothing of our solver or of our reading of the board goes into them.
"""

from __future__ import annotations

import math
import re
import subprocess
from pathlib import Path

from tests.physics.spice import NGSPICE

THERMAL_VOLTAGE = 0.025865
_CELSIUS = THERMAL_VOLTAGE / 8.617333e-5 - 273.15
"""The temperature at which k·T/q is 25.865 mV, with k/q = 8.617333e-5 V/K."""

RED = " = colour red = forward_voltage 1.9 V at 10 mA = current_max 30 mA"
BLUE = " = colour blue = forward_voltage 3.0 V at 5 mA = current_max 30 mA"
SCHOTTKY = " = forward_voltage 0.30 V at 10 mA"


def model(name: str, volts: float, amperes: float, n: float, ohms: float) -> str:
    """Return a diode through one point, by hand: Is = I/(exp((V − I·Rs)/(n·Vt)) − 1)."""
    saturation = amperes / math.expm1((volts - amperes * ohms) / (n * THERMAL_VOLTAGE))
    return f".model {name} D(IS={saturation!r} N={n} RS={ohms})"


MODELS = (
    model("red", 1.9, 10e-3, 2.0, 6.0),
    model("blue", 3.0, 5e-3, 2.5, 15.0),
    model("schottky", 0.30, 10e-3, 1.05, 1.0),
)


def spice(folder: Path, *cards: str, wanted: tuple[str, ...]) -> dict[str, float]:
    """Return what ngspice finds for the names that are wanted, such as v(2) and i(vd1)."""
    assert NGSPICE is not None
    options = (
        f".options temp={_CELSIUS:.6f} tnom={_CELSIUS:.6f} reltol=1e-6 abstol=1e-15 gmin=1e-15"
    )
    prints = [f"print {name}" for name in wanted]
    control = [".control", "set numdgt=10", "op", *prints, ".endc", ".end", ""]
    file = folder / "board.cir"
    file.write_text("\n".join(["* a board", options, *MODELS, *cards, *control]), encoding="utf-8")
    done = subprocess.run(
        [NGSPICE, "-b", str(file)], capture_output=True, text=True, timeout=60, check=False
    )
    found = dict(re.findall(r"^(\S+) = (\S+)$", done.stdout, flags=re.MULTILINE))
    missing = set(wanted) - found.keys()
    assert not missing, f"{missing}\n{done.stdout}\n{done.stderr}"
    return {name: float(found[name]) for name in wanted}
