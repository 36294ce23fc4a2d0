"""What an intent page states, as frozen data in SI units."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from boardvet.board import Place
from boardvet.known import Known
from boardvet.quantity.statement import Points, Span, Steps

__all__ = ["Intent", "Mode", "PatternEntry", "StatedCell", "StatedSource", "StatedWaiver"]


class StatedCell(NamedTuple):
    """A cell of the page; None where a key is absent.

    Parameters
    ----------
    parts : tuple of str
        References of the cells or holders; empty where none is named.
    type : Known of str
        IEC code or chemistry, as written.
    capacity : Known of float
        Charge of a fresh cell. [C]
    series, parallel : Known of int
        Cells inside one holder, at least 1.
    protected : Known of bool
        True if the cell has its own protection circuit.
    voltage, resistance : Known of Points
        Open-circuit voltage [V] and resistance [ohm] over the share of charge used, 0 to 1.
    stop : Known of float
        Voltage at which it counts as empty. [V]
    place : Place
        Where it stands.
    """

    parts: tuple[str, ...]
    type: Known[str] | None
    capacity: Known[float] | None
    series: Known[int] | None
    parallel: Known[int] | None
    protected: Known[bool] | None
    voltage: Known[Points] | None
    resistance: Known[Points] | None
    stop: Known[float] | None
    place: Place


class StatedSource(NamedTuple):
    """Another source: the part it comes in by, its net as written, voltage [V], current [A]."""

    part: str
    net: Known[str] | None
    voltage: Known[Span] | None
    current_max: Known[float] | None
    place: Place


class PatternEntry(NamedTuple):
    """One entry of a pattern: either lights, or a part with its current or its steps.

    Parameters
    ----------
    name : str
        As stated, else the lights or the part.
    lights : tuple of str
        References, ranges written out; empty for a part.
    part : str or None
        Reference; None for lights.
    current : Known of float
        What the part draws. [A]
    draws : Known of Steps
        What the part draws in turn; the entry lasts as long as its steps. [A, s]
    duration : Known of float
        ``for``: how long each time; None where it is always on, or for `draws`. [s]
    every : Known of float
        From one beginning to the next. [s]
    after : Known of float
        Phase; None counts as 0. May be longer than `every`. [s]
    in_turn : bool
        True if the lights are lit one after another.
    pwm : Known of float
        Share of the time that a dimmed light is on while it is lit, 0 to 1.
    place : Place
        Where it stands.
    """

    name: str
    lights: tuple[str, ...]
    part: str | None
    current: Known[float] | None
    draws: Known[Steps] | None
    duration: Known[float] | None
    every: Known[float] | None
    after: Known[float] | None
    in_turn: bool
    pwm: Known[float] | None
    place: Place


class Mode(NamedTuple):
    """One mode of use.

    Parameters
    ----------
    name : str
        Its key.
    share : Known of float
        Share of the time, 0 to 1; None where it is not stated.
    closed : mapping of str to tuple of tuple of str
        For each switch the groups of pins that are joined, other switches are open; None where
        the key is absent, empty for ``closed: {}``, every switch open.
    sources : tuple of str
        References of the sources that are there besides the cell.
    pattern : tuple of PatternEntry
        What is on.
    place : Place
        Where it stands.
    """

    name: str
    share: Known[float] | None
    closed: Mapping[str, tuple[tuple[str, ...], ...]] | None
    sources: tuple[str, ...]
    pattern: tuple[PatternEntry, ...]
    place: Place


class StatedWaiver(NamedTuple):
    """A finding that is accepted: the rule, what it covers, the reason, the last day it counts."""

    rule: str
    at: tuple[str, ...]
    because: str
    until: datetime.date | None
    place: Place


@dataclass(frozen=True, slots=True)
class Intent:
    """A page of intent; every field is None or empty where the page says nothing.

    Parameters
    ----------
    path : str or None
        The file, None where no page was given.
    board : str or None
        Name of the board.
    exports, facts, house_rules : tuple of str
        File names as written; `exports` is None where the key is absent.
    cells : tuple of StatedCell
        In the order of the page.
    sources : mapping of str to StatedSource
        By the part through which they come in.
    run_time : Known of float
        How long it has to run. [s]
    temperature : Known of Span
        Coldest and hottest air. [degC]
    boards : Known of int
        How many are ordered.
    near : Known of tuple of str
        Some of children, skin, eyes; None where the key is absent.
    pattern, modes : tuple
        At most one of them is not empty.
    parts, nets : mapping of str to mapping of str to Known
        Properties by reference (ranges written out) and by net as written, then by key.
    settings : mapping of str to mapping of str to str
        Raw texts by rule and setting.
    waivers : tuple of StatedWaiver
        In the order of the page.
    columns : mapping of str to mapping of str to str
        Headers by file and role.
    places : mapping of tuple of str to Place
        Where each entry stands; see `place`.
    """

    path: str | None = None
    board: str | None = None
    exports: tuple[str, ...] | None = None
    cells: tuple[StatedCell, ...] = ()
    sources: Mapping[str, StatedSource] = field(default_factory=dict)
    run_time: Known[float] | None = None
    temperature: Known[Span] | None = None
    boards: Known[int] | None = None
    near: Known[tuple[str, ...]] | None = None
    pattern: tuple[PatternEntry, ...] = ()
    modes: tuple[Mode, ...] = ()
    parts: Mapping[str, Mapping[str, Known[object]]] = field(default_factory=dict)
    nets: Mapping[str, Mapping[str, Known[object]]] = field(default_factory=dict)
    settings: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    waivers: tuple[StatedWaiver, ...] = ()
    facts: tuple[str, ...] = ()
    columns: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    house_rules: tuple[str, ...] = ()
    places: Mapping[tuple[str, ...], Place] = field(default_factory=dict)

    @classmethod
    def empty(cls) -> Intent:
        """Return the intent of a board that has no page."""
        return cls()

    def place(self, *path: str) -> Place:
        """Return where an entry stands, such as ``place("parts", "U1", "supply")``.

        Where it is not on the page, the place of what would hold it.
        """
        for length in range(len(path), -1, -1):
            if path[:length] in self.places:
                return self.places[path[:length]]
        return Place(self.path or "")
