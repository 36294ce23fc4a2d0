"""The budget of a board: what is computed, and what is empty where nothing could be."""

from __future__ import annotations

import pytest
from tests.circuit.lives import FLAT

from boardvet.circuit.batch import Batches
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.gains import Gains
from boardvet.circuit.handle import Circuit
from boardvet.review.budget import Budget, budget_of
from boardvet.review.runner import run
from boardvet.testing import circuit_of

HOUR = 3600.0
IDEAL = f"BT1 cell/holder VBAT GND\n~ cell: {FLAT.page('2 V')}\n"
LOAD = "U1 sensor VDD+ VBAT GND- GND = sleep_current 1 mA = supply 1.8 to 3.6 V\n"
LASTS = 225e-3 / (1e-3 + FLAT.loss)
"""By hand: 225 mAh at 1 mA and what self-discharge takes. [h]"""


def budget(*lines: str) -> Budget:
    return budget_of(circuit_of("\n".join(lines)))


def test_what_is_spent_of_a_cell_is_computed() -> None:
    found = budget(IDEAL, LOAD)

    assert found.cells == "BT1 (CR2032)"
    assert found.capacity == pytest.approx(225e-3 * HOUR)
    assert found.run_time == pytest.approx(LASTS * HOUR, rel=1e-4)
    assert found.mean_current == pytest.approx(1e-3 + FLAT.loss, rel=1e-4)
    assert (found.stop_voltage, found.stop_reason) == (3.0, "BT1 (CR2032) is empty")
    assert found.stranded == 0.0
    assert [(each.part, each.what) for each in found.consumers] == [("U1", "itself")]
    assert [(each.name, each.share) for each in found.modes] == [("all the time", 1.0)]
    assert not found.missing


def test_it_is_that_of_the_views_it_is_made_of() -> None:
    board = circuit_of(f"BT1 CR2032 VBAT GND\nR1 10k VBAT GND\n{LOAD}~ run_time: 10 days")
    found = budget_of(board)
    discharge, corners = board.view(Discharge), board.view(Batches).corners()
    best = board.view(Gains).all[0]

    assert (found.worst, found.best) == (corners.worst, corners.best)
    assert (found.change, found.changed_run_time) == (best.change, best.run_time)
    assert found.stranded == discharge.stranded
    assert found.reaching == board.view(Batches).reaching(10 * 86400.0)
    assert len(found.consumers) == len(discharge.consumers)


@pytest.mark.parametrize(
    ("hours", "share"), [(0.5 * LASTS, 1.0), (LASTS, 0.5), (2.0 * LASTS, 0.0)]
)
def test_the_share_that_reaches_the_time_wanted_is_told(hours: float, share: float) -> None:
    found = budget(IDEAL, LOAD, f"~ run_time: {hours:.6f} h")

    assert found.wanted == pytest.approx(hours * HOUR)
    assert found.reaching == pytest.approx(share, abs=0.06)


def test_without_a_time_wanted_no_share_is_told() -> None:
    found = budget(IDEAL, LOAD)

    assert (found.wanted, found.reaching) == (None, None)


def test_a_part_of_which_nobody_knows_what_it_draws_is_named_as_not_counted() -> None:
    found = budget(IDEAL, "U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 3.6 V")

    assert found.not_counted == ("U1",)
    assert found.run_time is not None


def test_a_board_that_does_not_start_runs_for_no_time_at_all() -> None:
    found = budget(IDEAL, "U1 sensor VDD+ VBAT GND- GND = sleep_current 1 mA = supply 3.3 to 5 V")

    assert found.run_time == 0.0
    assert found.stop_reason == "U1 needs 3.3 V on VBAT"
    assert found.stranded == found.capacity


def test_a_board_without_a_cell_has_an_empty_budget() -> None:
    assert budget("R1 10k VBAT GND") == Budget()


@pytest.mark.parametrize(
    ("board", "missing"),
    [
        ("BT1 CR2032 VBAT GND\nR1 R VBAT GND", "the value of R1 is not known"),
        ("BT1 cell VBAT GND\nR1 10k VBAT GND", "which cell BT1 holds is not known"),
    ],
)
def test_what_is_missing_is_shown_in_place_of_figures(board: str, missing: str) -> None:
    found = budget(board)

    assert found.missing == missing
    assert found.how
    assert found.run_time is None
    assert found.consumers == ()


def test_an_endless_run_is_no_number(monkeypatch: pytest.MonkeyPatch) -> None:
    """No cell that is known is without self-discharge; one that were would run on for ever."""
    endless = circuit_of(f"{IDEAL}U1 sensor VDD+ VBAT GND- GND = sleep_current 0 A")
    monkeypatch.setattr(Discharge, "run_time", property(lambda self: float("inf")))

    assert budget_of(endless).run_time is None


def test_what_it_rests_on_stands_among_the_assumptions_of_a_review() -> None:
    done = run(circuit_of("BT1 CR2032 VBAT GND\nR1 10k VBAT GND"), [])
    rests = {each.what for each in done.assumptions if "budget" in each.used_by}

    assert "tolerance of resistors" in rests
    assert any(what.startswith("voltage of BT1") for what in rests)


def test_a_fault_in_it_does_not_take_the_rules_along(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(circuit: Circuit) -> Budget:
        raise ZeroDivisionError("no")

    monkeypatch.setattr("boardvet.review.runner.budget_of", broken)
    done = run(circuit_of(IDEAL + LOAD), [])

    assert done.budget == Budget()
    assert [each.rule for each in done.broken] == ["budget"]
