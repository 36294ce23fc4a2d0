"""Quantities: the texts that people write to SI floats, and back.

`forms` reads what a person states on the intent page, `component` what the value text of a part
says, `display` writes quantities, `preferred` knows what can be bought, `case` chip sizes.
"""

from boardvet.quantity.case import case_size
from boardvet.quantity.component import ComponentText, parse_component
from boardvet.quantity.display import show, show_time
from boardvet.quantity.forms import (
    parse_flag,
    parse_number,
    parse_points,
    parse_share,
    parse_span,
    parse_steps,
)
from boardvet.quantity.preferred import preferred
from boardvet.quantity.statement import Point, Points, Span, Step, Steps

__all__ = [
    "ComponentText",
    "Point",
    "Points",
    "Span",
    "Step",
    "Steps",
    "case_size",
    "parse_component",
    "parse_flag",
    "parse_number",
    "parse_points",
    "parse_share",
    "parse_span",
    "parse_steps",
    "preferred",
    "show",
    "show_time",
]
