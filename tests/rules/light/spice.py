"""Lights in ngspice: circuits written down by hand, with the junction of the design.

I = Is·(exp((V − I·Rs)/(n·Vt)) − 1), Vt = 25.865 mV, and Is from the stated point. Nothing of our
solver or of our reading of the board goes into them.
"""

from __future__ import annotations

import math
import re
import subprocess
from collections.abc import Iterable
from pathlib import Path

from tests.physics.spice import NGSPICE

THERMAL_VOLTAGE = 0.025865
CELSIUS = THERMAL_VOLTAGE / 8.617333e-5 - 273.15
"""The temperature at which k·T/q is 25.865 mV, with k/q = 8.617333e-5 V/K."""


def model(name: str, volts: float, amperes: float, n: float, ohms: float) -> str:
    """Return a diode through one point, by hand: Is = I/(exp((V − I·Rs)/(n·Vt)) − 1)."""
    saturation = amperes / math.expm1((volts - amperes * ohms) / (n * THERMAL_VOLTAGE))
    return f".model {name} D(IS={saturation!r} N={n} RS={ohms})"


RED = " = colour red = forward_voltage 1.9 V at 10 mA"
BLUE = " = colour blue = forward_voltage 3.0 V at 5 mA"
MODELS = (
    model("red", 1.9, 10e-3, 2.0, 6.0),
    model("lowred", 1.8, 10e-3, 2.0, 6.0),
    model("blue", 3.0, 5e-3, 2.5, 15.0),
    model("lowblue", 2.9, 5e-3, 2.5, 15.0),
)
"""Red and blue after the two texts above; "low" ones drop 0.1 V less at the stated current."""


def spice(folder: Path, cards: Iterable[str], *wanted: str) -> tuple[float, ...]:
    """Return what ngspice finds for names such as ``i(vd1)`` and ``v(3)``, in A and V."""
    assert NGSPICE is not None
    options = f".options temp={CELSIUS:.6f} tnom={CELSIUS:.6f} reltol=1e-6 abstol=1e-15 gmin=1e-15"
    prints = [f"print {name}" for name in wanted]
    control = [".control", "set numdgt=10", "op", *prints, ".endc", ".end", ""]
    file = folder / "lights.cir"
    file.write_text("\n".join(["* lights", options, *MODELS, *cards, *control]), encoding="utf-8")
    done = subprocess.run([NGSPICE, "-b", str(file)], capture_output=True, text=True, check=False)
    found = dict(re.findall(r"^(\S+) = (\S+)$", done.stdout, flags=re.MULTILINE))
    assert set(wanted) <= set(found), done.stdout + done.stderr
    return tuple(float(found[name]) for name in wanted)
