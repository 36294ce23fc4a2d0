"""An intent page against the board that it is about, and against the rules there are."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from boardvet.board import Board, Place
from boardvet.errors import InputError, InputErrors, QuantityError
from boardvet.intent.names import quoted
from boardvet.intent.types import Intent, PatternEntry
from boardvet.quantity import parse_number
from boardvet.vocabulary.forms import nearest

__all__ = ["check_against", "check_settings", "net_keys"]

_MOST_SUGGESTED = 20


class _Mention(NamedTuple):
    """A name on the page, what it is a name of, and where it stands."""

    name: str
    what: str
    place: Place


def check_against(intent: Intent, board: Board) -> None:
    """Check that what the page names is on the board; waivers are not looked at.

    Raises
    ------
    InputErrors
        With every part, pin and net that is not on the board, in the order of the page, and
        the nearest name that is.
    """
    names = {"part": list(board.parts), "net": _net_names(board)}
    missing = [mention for mention in _parts(intent) if mention.name not in board.parts]
    missing += [mention for mention in _nets(intent) if not net_keys(board, mention.name)]
    missing += _pins(intent, board, names)
    mistakes: dict[tuple[Place, str], list[str]] = {}
    for mention in sorted(missing, key=lambda mention: mention.place):
        mistakes.setdefault((mention.place, mention.what), []).append(mention.name)
    if mistakes:
        raise InputErrors(
            _absent(place, what, wrong, names.get(what, []) if index < _MOST_SUGGESTED else [])
            for index, ((place, what), wrong) in enumerate(mistakes.items())
        )


def net_keys(board: Board, name: str) -> tuple[str, ...]:
    """Return the keys of the nets that a name means, empty if there is none.

    A name counts as exported; if no net has it, with or without a slash before it.
    """
    for wanted in (name, name[1:] if name.startswith("/") else f"/{name}"):
        if wanted in board.nets:
            return (wanted,)
        found = tuple(key for key, net in board.nets.items() if net.name == wanted)
        if found and wanted:
            return found
    return ()


def check_settings(
    intent: Intent, known: Mapping[str, Mapping[str, str]]
) -> dict[str, dict[str, float]]:
    """Check the settings of the page against the rules there are, and read them.

    Parameters
    ----------
    intent : Intent
        The page.
    known : mapping of str to mapping of str to str
        For each rule the SI units of its settings by name.

    Returns
    -------
    dict of str to dict of str to float
        The stated settings in SI units, by rule and name.

    Raises
    ------
    InputErrors
        With every unknown rule and setting, and every text that is not a value.
    """
    mistakes: list[InputError] = []
    read: dict[str, dict[str, float]] = {}
    for rule in intent.settings:
        if rule not in known:
            place = intent.place("settings", rule)
            mistakes.append(_unknown(place, f"there is no rule {quoted(rule)}", rule, list(known)))
            continue
        try:
            read[rule] = read_settings(intent, rule, known[rule])
        except InputErrors as errors:
            mistakes.extend(errors.errors)
    if mistakes:
        raise InputErrors(mistakes)
    return read


def read_settings(intent: Intent, rule: str, known: Mapping[str, str]) -> dict[str, float]:
    """Return what the page states for one rule's settings, in SI units.

    Parameters
    ----------
    intent : Intent
        The page.
    rule : str
        The rule's id.
    known : mapping of str to str
        The SI unit of each of its settings.

    Raises
    ------
    InputErrors
        With every unknown setting and every text that is not a value.
    """
    mistakes: list[InputError] = []
    read: dict[str, float] = {}
    for name, text in intent.settings.get(rule, {}).items():
        place = intent.place("settings", rule, name)
        if name not in known:
            what = f"the rule {rule} has no setting {quoted(name)}"
            mistakes.append(_unknown(place, what, name, list(known)))
            continue
        try:
            read[name] = parse_number(text, known[name])
        except QuantityError as error:
            what = f"{name}: {quoted(error.text)} {error.what}"
            mistakes.append(InputError(place.file, what, error.do, *place[1:]))
    if mistakes:
        raise InputErrors(mistakes)
    return read


def _parts(intent: Intent) -> Iterator[_Mention]:
    for index, cell in enumerate(intent.cells):
        place = intent.place("cell", str(index), "part")
        alone = intent.place("cell", "part")
        yield from _named(cell.parts, place if ("cell", "0") in intent.places else alone)
    for source in intent.sources.values():
        yield _Mention(source.part, "part", source.place)
    yield from _lit(intent, intent.pattern, "pattern")
    for mode in intent.modes:
        for reference in mode.closed or {}:
            yield _Mention(
                reference, "part", intent.place("modes", mode.name, "closed", reference)
            )
        yield from _named(mode.sources, intent.place("modes", mode.name, "sources"))
        yield from _lit(intent, mode.pattern, "modes", mode.name, "pattern")
    for reference in intent.parts:
        yield _Mention(reference, "part", intent.place("parts", reference))
    for net, properties in intent.nets.items():
        driven_by = properties["driven_by"].value if "driven_by" in properties else ()
        names = driven_by if isinstance(driven_by, tuple) else ()
        parts = [name.partition(".")[0] for name in names]
        yield from _named(parts, intent.place("nets", net, "driven_by"))


def _lit(intent: Intent, pattern: Sequence[PatternEntry], *path: str) -> Iterator[_Mention]:
    for index, entry in enumerate(pattern):
        yield from _named(entry.lights, intent.place(*path, str(index), "lights"))
        if entry.part is not None:
            yield _Mention(entry.part, "part", intent.place(*path, str(index), "part"))


def _named(references: Sequence[str], place: Place) -> Iterator[_Mention]:
    return (_Mention(reference, "part", place) for reference in references)


def _nets(intent: Intent) -> Iterator[_Mention]:
    for source in intent.sources.values():
        if source.net is not None:
            yield _Mention(source.net.value, "net", intent.place("sources", source.part, "net"))
    for net in intent.nets:
        yield _Mention(net, "net", intent.place("nets", net))


def _pins(intent: Intent, board: Board, names: dict[str, list[str]]) -> Iterator[_Mention]:
    """Yield the pins that a part has not; enters the right ones in `names`."""
    for reference, pin, place in _stated_pins(intent):
        part = board.parts.get(reference)
        if part is not None and all(each.number != pin for each in part.pins):
            what = f"pin of {reference}"
            names[what] = [each.number for each in part.pins]
            yield _Mention(pin, what, place)


def _stated_pins(intent: Intent) -> Iterator[tuple[str, str, Place]]:
    for mode in intent.modes:
        for reference, groups in (mode.closed or {}).items():
            place = intent.place("modes", mode.name, "closed", reference)
            yield from ((reference, pin, place) for group in groups for pin in group)
    for reference, properties in intent.parts.items():
        roles = properties["pins"].value if "pins" in properties else {}
        for pin in roles if isinstance(roles, Mapping) else ():
            yield reference, pin, intent.place("parts", reference, "pins", pin)


def _net_names(board: Board) -> list[str]:
    names = (net.name for net in board.nets.values() if net.name)
    return list(dict.fromkeys(form for name in names for form in (name, name.removeprefix("/"))))


def _absent(place: Place, what: str, wrong: list[str], right: list[str]) -> InputError:
    wrong = list(dict.fromkeys(wrong))
    shown = ", ".join(map(quoted, wrong[:5]))
    more = f" and {len(wrong) - 5} more" if len(wrong) > 5 else ""
    be = "is" if len(wrong) == 1 else "are"
    if what in {"part", "net"}:
        text = f"{what}{'s' * (be == 'are')} {shown}{more} {be} not on the board"
        do = "write it as the netlist does, or delete it"
    else:
        text = f"{shown}{more} {be} no {what}"
        do = f"its pins are {', '.join(right[:12])}" if right else "it has no pins"
    like = _like_part(wrong[0], right) if what == "part" else nearest(wrong[0], right, cutoff=0.5)
    return InputError(place.file, text, f"did you mean {like}?" if like else do, *place[1:])


def _like_part(wrong: str, right: list[str]) -> str:
    """Return the part of the same letters with the nearest number, else a part written alike."""
    letters, number = _split(wrong)
    alike = [name for name in right if _split(name)[0] == letters]
    if alike and letters:
        return min(alike, key=lambda name: abs(_split(name)[1] - number))
    return nearest(wrong, right)


def _split(reference: str) -> tuple[str, int]:
    found = re.fullmatch(r"([A-Z]+)(\d{1,9})", reference.upper(), re.ASCII)
    return (found[1], int(found[2])) if found else ("", 0)


def _unknown(place: Place, what: str, name: str, right: list[str]) -> InputError:
    like = nearest(name, right)
    some = (
        f"it has {', '.join(right)}" if right and len(right) < 12 else "`boardvet explain` lists"
    )
    return InputError(place.file, what, f"did you mean {like}?" if like else some, *place[1:])
