"""How long a review takes from cold start, against the reference reader reading the same netlist.

Run it by hand: ``python -m tests.benchmark.review [PARTS ...]``. Both are measured in one run, so
the ratio holds whatever the machine is doing. An installed package has compiled modules, so both
run with compiled modules here, in a folder of the benchmark's own. What a run takes that keeps
none and finds only those that lie beside the sources, as in a fresh checkout, is printed too.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmark.mixed_board import make, write

REPEATS = 5
REFERENCE_UP_TO = 1000


def environment(compiled: Path | None) -> dict[str, str]:
    """Return the environment in which compiled modules are kept in a folder, or not at all."""
    names = {"PYTHONDONTWRITEBYTECODE", "PYTHONPYCACHEPREFIX"}
    kept = {name: value for name, value in os.environ.items() if name not in names}
    if compiled is None:
        return kept | {"PYTHONDONTWRITEBYTECODE": "1"}
    return kept | {"PYTHONPYCACHEPREFIX": str(compiled)}


def seconds(command: list[str], compiled: Path | None) -> float:
    """Return the wall time of a command in a process of its own."""
    start = time.perf_counter()
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, env=environment(compiled)
    )
    took = time.perf_counter() - start
    if done.returncode not in {0, 1}:
        raise SystemExit(done.stderr)
    return took


def by_reference(netlist: Path, compiled: Path) -> float:
    """Return the wall time of the reference reader, its start-up included."""
    code = (
        "import sys, kinparse; kinparse.parse_netlist(open(sys.argv[1], encoding='utf-8').read())"
    )
    return seconds([sys.executable, "-W", "ignore", "-c", code, str(netlist)], compiled)


def measure(parts: int, folder: Path, compiled: Path) -> None:
    """Print one line for a board of this many parts, and one for a run from the sources."""
    made = make(parts)
    write(made, folder)
    review = [sys.executable, "-m", "boardvet", "review", str(folder), "--gate", "never"]
    from_source = min(seconds(review, None) for _ in range(REPEATS))
    seconds(review, compiled)
    times = sorted(seconds(review, compiled) for _ in range(REPEATS))
    line = (
        f"{len(made.parts):>7} parts  review from cold start: median "
        f"{statistics.median(times):.3f} s, best {times[0]:.3f} s"
    )
    if parts <= REFERENCE_UP_TO:
        reference = by_reference(folder / "mixed.net", compiled)
        line += (
            f"   reference reader, reading alone: {reference:.2f} s"
            f"   ratio {reference / statistics.median(times):.1f}"
        )
    print(line, flush=True)
    print(f"{'':>14} from sources, no compiled modules kept: best {from_source:.3f} s", flush=True)


def main() -> None:
    """Measure the sizes named on the command line, 1,000 parts by default."""
    sizes = [int(size) for size in sys.argv[1:]] or [1000]
    with tempfile.TemporaryDirectory() as folder:
        for size in sizes:
            measure(size, Path(folder) / str(size), Path(folder) / "compiled")


if __name__ == "__main__":
    main()
