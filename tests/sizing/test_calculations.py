"""What holds for every calculation: described once, its example runs, mistakes come together."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass

import pytest

from boardvet.errors import UsageError
from boardvet.quantity import preferred
from boardvet.sizing import calculation, names
from boardvet.sizing._reading import read
from boardvet.vocabulary.forms import parse


@pytest.mark.parametrize("name", names())
def test_each_input_is_described_and_its_example_is_right(name: str) -> None:
    found = calculation(name)
    assert is_dataclass(found.inputs)
    assert [field.name for field in found.fields()] == [f.name for f in fields(found.inputs)]
    for field in found.fields():
        assert field.asked.meaning
        assert not field.asked.meaning.endswith(".")
        parse(field.reads, field.asked.example)


@pytest.mark.parametrize("name", names())
def test_its_example_runs_and_gives_values_that_can_be_bought(name: str) -> None:
    found = calculation(name)
    answer = found.solve(read(name, found, found.example()))

    assert answer.chosen
    assert answer.sums
    assert answer.buy
    for chosen in answer.chosen:
        assert math.isclose(preferred(chosen.value, chosen.series), chosen.value)


@pytest.mark.parametrize("name", names())
def test_needed_inputs_come_first_and_are_asked_for_together(name: str) -> None:
    found = calculation(name)
    required = [field.required for field in found.fields()]
    assert required == sorted(required, reverse=True)
    missing = [field.name for field in found.fields() if field.required]
    assert missing
    with pytest.raises(UsageError) as caught:
        read(name, found, [])
    lines = str(caught.value).splitlines()
    assert [line.split(" is missing: ")[0] for line in lines] == [f"{name}: {m}" for m in missing]


def test_all_mistakes_come_at_once_each_with_what_to_write() -> None:
    words = ["suply=3 V", "current=5", "colour=rde", "5 mA", "over", "margin=5 %", "margin=6 %"]
    with pytest.raises(UsageError) as caught:
        read("led", calculation("led"), words)

    assert str(caught.value).splitlines() == [
        "led: there is no input 'suply' (did you mean supply?)",
        "led: current: '5' has no unit (write current=\"5 mA\")",
        "led: colour: 'rde' is no word for colour (did you mean red?)",
        "led: '5 mA' is no NAME=VALUE (there are supply, current, forward_voltage, colour, over, "
        "in_series, other_resistance, margin)",
        "led: over has no value (write over=life)",
        "led: margin is given twice (leave one out)",
    ]


def test_zero_is_refused_where_it_makes_no_sense() -> None:
    with pytest.raises(UsageError, match="current: '0 A' is not above zero"):
        read("led", calculation("led"), ["supply=3 V", "current=0 A", "colour=red"])


def test_there_is_no_calculation_of_another_name() -> None:
    for name in ("nothing", "_values", "on_board"):
        with pytest.raises(KeyError):
            calculation(name)
