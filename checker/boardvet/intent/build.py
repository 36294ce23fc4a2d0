"""From a page that has been checked to `Intent`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from boardvet.board import Place
from boardvet.intent.names import expand
from boardvet.intent.nodes import Listing, Node, Table
from boardvet.intent.types import (
    Intent,
    Mode,
    PatternEntry,
    StatedCell,
    StatedSource,
    StatedWaiver,
)
from boardvet.known import Known

__all__ = ["build"]


def build(page: Mapping[str, Any], root: Table, file: str) -> Intent:
    """Return what a page states that has no mistake; `page` is what `shape.read` gives."""
    return Intent(
        path=file,
        board=_value(page["board"]),
        exports=_value(page["exports"]),
        cells=tuple(
            _cell(dict(cell), place)
            for cell, place in zip(page["cell"] or (), _places_of(root.get("cell")), strict=True)
        ),
        sources={
            part: StatedSource(part=part, **dict(source), place=_key_place(root, "sources", part))
            for part, source in (page["sources"] or {}).items()
        },
        run_time=page["run_time"],
        temperature=page["temperature"],
        boards=page["boards"],
        near=page["near"],
        pattern=_pattern(page["pattern"], root.get("pattern")),
        modes=tuple(
            _mode(name, dict(mode), root.get("modes"))
            for name, mode in (page["modes"] or {}).items()
        ),
        parts=_ranged(page["parts"] or {}),
        nets={net: _stated(known) for net, known in (page["nets"] or {}).items()},
        settings=_texts(page["settings"]),
        waivers=tuple(
            _waiver(dict(waiver), place)
            for waiver, place in zip(
                page["waivers"] or (), _places_of(root.get("waivers")), strict=True
            )
        ),
        facts=_value(page["facts"]) or (),
        columns=_texts(page["columns"]),
        house_rules=_value(page["house_rules"]) or (),
        places=dict(_places(root, ())),
    )


def _value(known: Known[Any] | None) -> Any:
    return None if known is None else known.value


def _stated(given: Mapping[str, Any]) -> dict[str, Known[object]]:
    return {key: known for key, known in given.items() if known is not None}


def _ranged(parts: Mapping[str, Any]) -> dict[str, dict[str, Known[object]]]:
    stated: dict[str, dict[str, Known[object]]] = {}
    for key, given in parts.items():
        for reference in expand(key):
            stated.setdefault(reference, {}).update(_stated(given))
    return stated


def _texts(given: Mapping[str, Mapping[str, Any]] | None) -> dict[str, dict[str, str]]:
    return {
        key: {name: text.text for name, text in texts.items()}
        for key, texts in (given or {}).items()
    }


def _cell(given: dict[str, Any], place: Place) -> StatedCell:
    return StatedCell(parts=_value(given.pop("part")) or (), **given, place=place)


def _waiver(given: dict[str, Any], place: Place) -> StatedWaiver:
    return StatedWaiver(**{key: _value(known) for key, known in given.items()}, place=place)


def _mode(name: str, given: dict[str, Any], modes: Node | None) -> Mode:
    node = modes.get(name) if isinstance(modes, Table) else None
    return Mode(
        name=name,
        share=given["share"],
        closed=given["closed"],
        sources=_value(given["sources"]) or (),
        pattern=_pattern(
            given["pattern"], node.get("pattern") if isinstance(node, Table) else None
        ),
        place=_key_place(modes, name),
    )


def _pattern(entries: list[Any] | None, node: Node | None) -> tuple[PatternEntry, ...]:
    places = _places_of(node)
    return tuple(
        _entry(dict(entry), place) for entry, place in zip(entries or (), places, strict=True)
    )


def _entry(given: dict[str, Any], place: Place) -> PatternEntry:
    lights, part = _value(given["lights"]) or (), _value(given["part"])
    return PatternEntry(
        name=_value(given["name"]) or part or ", ".join(lights),
        lights=lights,
        part=part,
        current=given["current"],
        draws=given["draws"],
        duration=given["for"],
        every=given["every"],
        after=given["after"],
        in_turn=bool(_value(given["in_turn"])),
        pwm=given["pwm"],
        place=place,
    )


def _places_of(node: Node | None) -> tuple[Place, ...]:
    if isinstance(node, Listing):
        return tuple(item.place for item in node.items)
    return () if node is None else (node.place,)


def _key_place(node: Node | None, *path: str) -> Place:
    """Return where the last key of a path stands."""
    place = Place("")
    for name in path:
        if not isinstance(node, Table):
            break
        for key, value in node.entries:
            if key.text == name:
                place, node = key.place, value
                break
    return place


def _places(node: Node, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Place]]:
    if isinstance(node, Table):
        for key, value in node.entries:
            for name in expand(key.text) if path == ("parts",) else (key.text,):
                yield (*path, name), key.place
                yield from _places(value, (*path, name))
    elif isinstance(node, Listing):
        for index, item in enumerate(node.items):
            yield (*path, str(index)), item.place
            yield from _places(item, (*path, str(index)))
