"""The JSON of a review keeps its schema, its counts and its bytes."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator, ValidationError
from tests.report.factory import assumption, draft_review, finding, review, undetermined

from boardvet.board import Place
from boardvet.report.json import json_schema, to_json, to_json_many
from boardvet.review.review import Review
from boardvet.review.verdict import Broken, Level, Number, Related, Setting, SubjectName, Waived

VALIDATOR = Draft202012Validator(json_schema())

TOP_LEVEL = [
    *("schema", "tool", "board", "outcome", "counts", "gate", "findings", "undetermined", "clear"),
    *("no_subject", "broken", "cured", "assumptions", "settings", "budget"),
]
"""The keys and their order as the project's design fixes them."""


def read(text: str) -> Any:
    value = json.loads(text)
    VALIDATOR.validate(value)
    return value


def full_review() -> Review:
    made = finding(
        "R9",
        related=(Related(Place("buoy-bom.csv", 4), "line of the BOM"),),
        waived=Waived("bodge wire is fitted"),
        since="known",
        at=None,
    )
    draft = draft_review()
    return review(
        findings=(*draft.findings, made),
        undetermined=draft.undetermined,
        broken=(Broken("bypass-far", SubjectName("rail", "VBAT"), "ZeroDivisionError"),),
        assumptions=draft.assumptions,
        settings=(Setting("bypass-far", "distance", "0.005", "0.01"),),
    )


def test_the_schema_itself_is_a_schema() -> None:
    Draft202012Validator.check_schema(json_schema())


@pytest.mark.parametrize("made", [review(), draft_review(), full_review()])
def test_a_review_keeps_the_schema(made: Review) -> None:
    assert list(read(to_json(made))) == TOP_LEVEL


def test_several_reviews_keep_the_schema_and_their_order() -> None:
    value = read(to_json_many([review(board="one"), full_review(), review(board="three")]))

    assert list(value) == ["schema", "reviews"]
    assert value["schema"] == "boardvet-reviews/1"
    assert [item["board"]["name"] for item in value["reviews"]] == [
        "one",
        "Mooring buoy lamp",
        "three",
    ]


def test_counts_are_those_of_the_elements() -> None:
    value = read(to_json(full_review()))
    live = [item["level"] for item in value["findings"] if item["waived"] is None]

    assert value["counts"] == {
        "hold": live.count("hold"),
        "query": live.count("query"),
        "note": live.count("note"),
        "undetermined": len(value["undetermined"]),
        "clear": len(value["clear"]),
        "waived": len(value["findings"]) - len(live),
        "no_subject": len(value["no_subject"]),
        "broken": len(value["broken"]),
    }
    # Twelve LEDs, a dead rail and what follows; one bypass; one note; two waived; one broken.
    assert [value["counts"][key] for key in ("hold", "query", "note", "waived", "broken")] == [
        *(14, 1, 1, 2, 1)
    ]


def test_a_finding_has_the_fixed_fields() -> None:
    value = read(to_json(review(findings=(finding(),))))

    assert value["findings"] == [
        {
            "rule": "led-unlimited",
            "area": "light",
            "level": "hold",
            "subject": {"kind": "LED string", "name": "D1"},
            "parts": ["D1"],
            "nets": [],
            "message": "D1 flares and dies within minutes. "
            "62.5 mA flows through D1, rated 20 mA: (3.2 V − 1.95 V) / 20 Ω.",
            "why": "Nothing but the resistance of the cell limits the current.",
            "fix": "put 68 Ω in series with D1",
            "numbers": [
                {
                    "name": "forward voltage",
                    "value": 1.95,
                    "unit": "V",
                    "source": "facts led colour red",
                }
            ],
            "at": {"file": "buoy.net", "line": 12},
            "related": [],
            "state": "cell alone, every switch closed",
            "fingerprint": "led-unlimited/D1",
            "waived": None,
            "since": None,
            "follows": None,
        }
    ]


@pytest.mark.parametrize(("until", "written"), [("2027-06-01", "2027-06-01"), ("", None)])
def test_a_waiver_has_its_reason_and_its_end(until: str, written: str | None) -> None:
    value = read(to_json(review(findings=(finding(waived=Waived("by design", until)),))))

    assert value["findings"][0]["waived"] == {"because": "by design", "until": written}


def test_a_fact_that_is_missing_says_what_and_how() -> None:
    value = read(to_json(review(undetermined=(undetermined("U1"),))))

    assert value["undetermined"][0] == {
        "rule": "supply-window",
        "area": "cell",
        "level": "hold",
        "subject": {"kind": "supply pin", "name": "U1 VDD"},
        "parts": ["U1"],
        "nets": [],
        "missing": "supply of U1 is not known",
        "how": "parts: {U1: {supply: 1.8 to 3.6 V}}",
    }


def test_a_board_without_a_computed_run_time_has_an_empty_budget() -> None:
    budget = read(to_json(review()))["budget"]

    assert {key for key, value in budget.items() if value is None} == {
        *("run_time_hours", "mean_current_a", "stop_voltage", "stop_reason"),
        "charge_stranded_c",
    }
    assert budget["consumers"] == budget["modes"] == []


@given(st.floats(allow_nan=False, allow_infinity=False, allow_subnormal=False))
def test_floats_have_six_significant_figures(number: float) -> None:
    numbers = (Number("current", number, "A", "computed"),)
    written = read(to_json(review(findings=(finding(numbers=numbers),))))
    value = written["findings"][0]["numbers"][0]["value"]

    assert value == pytest.approx(number, rel=5e-6)
    assert len(f"{value:e}".partition("e")[0].rstrip("0")) <= len("-1.23456")


@pytest.mark.parametrize("number", [math.inf, -math.inf, math.nan])
def test_a_number_that_json_lacks_is_null(number: float) -> None:
    numbers = (Number("resistance", number, "ohm", "computed"),)
    value = read(to_json(review(findings=(finding(numbers=numbers),))))

    assert value["findings"][0]["numbers"][0]["value"] is None


@given(st.text(min_size=1))
def test_any_name_survives(name: str) -> None:
    value = read(to_json(review(board=name, findings=(finding(name),))))

    assert value["board"]["name"] == value["findings"][0]["subject"]["name"] == name


@given(st.text(alphabet="\ud800\udfff\\u", min_size=1, max_size=4))
def test_half_a_surrogate_pair_can_be_written_to_a_file(name: str) -> None:
    text = to_json(review(board=name))

    # Two halves that meet are one character once read back.
    whole = name.encode("utf-16", "surrogatepass").decode("utf-16", "surrogatepass")
    assert read(text.encode("utf-8").decode("utf-8"))["board"]["name"] == whole


def test_equal_reviews_give_equal_text() -> None:
    assert to_json(full_review()) == to_json(full_review())


@pytest.mark.parametrize("value", ["X7R", 25.0])
def test_an_assumption_keeps_a_text_as_text_and_a_number_as_number(value: str | float) -> None:
    made = replace(assumption("dielectric of C1", "capacitor-bias"), value=value, unit="")

    assert read(to_json(review(assumptions=(made,))))["assumptions"] == [
        {
            "what": "dielectric of C1",
            "value": value,
            "unit": "",
            "source": "assumed room temperature",
            "used_by": ["capacitor-bias"],
        }
    ]


@pytest.mark.parametrize(
    ("path", "bad"),
    [
        (("outcome",), "passed"),
        (("findings", 0, "level"), "fatal"),
        (("findings", 0, "numbers", 0, "source"), "somewhere"),
        (("findings", 0, "at"), "buoy.net:12"),
        (("counts", "hold"), -1),
        (("gate", "level"), "error"),
        (("extra",), 1),
    ],
)
def test_the_schema_refuses_another_shape(path: tuple[str | int, ...], bad: object) -> None:
    value = read(to_json(review(findings=(finding(level=Level.QUERY),))))
    inner: Any = value
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = bad

    with pytest.raises(ValidationError):
        VALIDATOR.validate(value)
