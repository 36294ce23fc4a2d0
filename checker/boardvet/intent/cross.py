"""What the keys of a page say about each other.

Works on nodes, so that these mistakes are reported together with those of single values, and
passes over what is not readable: that is reported elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from boardvet.board import Place
from boardvet.errors import InputError, QuantityError
from boardvet.intent.names import expand, expand_all, quoted
from boardvet.intent.nodes import Listing, Node, Table, Text
from boardvet.quantity import show
from boardvet.quantity.statement import Points, Span
from boardvet.vocabulary.entries import CELL, COLUMN_ROLES, MODE, PAGE, PATTERN
from boardvet.vocabulary.forms import Property, nearest, parse
from boardvet.vocabulary.properties import PROPERTIES

__all__ = ["cross_mistakes"]

_ROUNDING = 1e-9

_HOTTEST = 300.0
"""Above it solder is long molten: common practice, no source. [°C]"""


def cross_mistakes(root: Table) -> Iterator[InputError]:
    """Yield the mistakes that lie between keys."""
    pattern, modes = root.get("pattern"), root.get("modes")
    yield from _pattern(pattern)
    if isinstance(modes, Table):
        for _, mode in modes.entries:
            yield from _pattern(mode.get("pattern") if isinstance(mode, Table) else None)
        yield from _shares(modes)
        if pattern is not None:
            keys = {key.text: key.place for key, _ in root.entries}
            what = f"pattern and modes are both given (modes in line {keys['modes'].line})"
            yield _mistake(keys["pattern"], what, "put the pattern into a mode, or drop the modes")
    yield from _temperature(root.get("temperature"))
    yield from _cells(root.get("cell"))
    yield from _parts(root.get("parts"))
    yield from _waivers(root.get("waivers"))
    yield from _columns(root.get("columns"))


def _mistake(place: Place, what: str, do: str) -> InputError:
    return InputError(place.file, what, do, *place[1:])


def _value(of: Property, node: Node | None) -> object:
    """Return the value of a node that can be read, else None."""
    if not isinstance(node, Text):
        return None
    try:
        return parse(of, node.text)[0]
    except QuantityError:
        return None


def _float(entry: Table, key: str) -> float | None:
    value = _value(PATTERN[key], entry.get(key))
    return value if isinstance(value, float) else None


def _shares(modes: Table) -> Iterator[InputError]:
    total = 0.0
    for key, mode in modes.entries:
        share = _value(MODE["share"], mode.get("share") if isinstance(mode, Table) else None)
        total += share if isinstance(share, float) else 0.0
        if total > 1 + _ROUNDING:
            what = f"the shares of the modes up to {quoted(key.text)} make {100 * total:.4g} %"
            yield _mistake(key.place, what, "they can make 100 % together, the rest is rest")
            return


def _pattern(pattern: Node | None) -> Iterator[InputError]:
    if isinstance(pattern, Listing):
        for entry in pattern.items:
            if isinstance(entry, Table):
                yield from _who(entry)
                yield from _when(entry)


def _who(entry: Table) -> Iterator[InputError]:
    """Check that it is clear what is on and what it draws."""
    has = {key.text: key for key, _ in entry.entries}
    named = [key for key in ("lights", "part") if key in has or key in entry.dropped]
    lights = entry.get("lights")
    if isinstance(lights, Listing) and not lights.items:
        named = []
    if len(named) != 1:
        what = "this entry has both lights and a part" if named else "nothing is on in this entry"
        do = "make two entries of it" if named else "add lights: [D1], or part: U1 with a current"
        yield _mistake(entry.place, what, do)
        return
    draws = [key for key in ("current", "draws") if key in has or key in entry.dropped]
    if named == ["part"] and len(draws) != 1:
        what = (
            "this part has both current and draws" if draws else "what this part draws is missing"
        )
        yield _mistake(entry.place, what, "give either current: 1 mA or draws: 8 mA for 2 ms")
    if named == ["lights"]:
        what = "is for a part; the current of lights is computed"
        yield from (_odd(has[key], what) for key in draws if key in has)
        yield from _in_turn(entry)
    else:
        yield from (_odd(has[key], "is for lights") for key in ("in_turn", "pwm") if key in has)


def _odd(key: Text, what: str) -> InputError:
    return _mistake(key.place, f"{key.text} {what}", "delete it")


def _in_turn(entry: Table) -> Iterator[InputError]:
    turn, lights = entry.get("in_turn"), entry.get("lights")
    if turn is None or _value(PATTERN["in_turn"], turn) is not True:
        return
    texts = lights.items if isinstance(lights, Listing) else (lights,)
    try:
        names = expand_all(text.text for text in texts if isinstance(text, Text))
    except QuantityError:
        return
    if len(names) == 1:
        yield _mistake(
            turn.place, "one light cannot be lit in turn", "name more, or delete in_turn"
        )
    lasts, every = _lasts(entry), _float(entry, "every")
    if lasts is None or every is None or not lasts <= every < len(names) * lasts / (1 + _ROUNDING):
        return
    what = f"in_turn: {len(names)} lights for {show(lasts, 's')} each are longer than every"
    yield _mistake(turn.place, f"{what} {show(every, 's')}", "make for shorter, or every longer")


def _when(entry: Table) -> Iterator[InputError]:
    """Check that the times fit into each other."""
    has = {key.text: key for key, _ in entry.entries}
    if "draws" in has and "for" in has:
        yield _mistake(has["for"].place, "the steps of draws say how long", "delete for")
    elif "for" in has and "every" not in has and "every" not in entry.dropped:
        yield _mistake(has["for"].place, "for is given without every", "add how often: every: 1 s")
    if "every" in has and not {"for", "draws"} & (set(has) | entry.dropped):
        yield _mistake(has["every"].place, "every is given without for", "add how long: for: 5 ms")
    lasts, every = _lasts(entry), _float(entry, "every")
    if every == 0.0:
        yield _mistake(has["every"].place, "every: 0 s is no period", "such as every: 500 ms")
        return
    if lasts is not None and every is not None and lasts > every * (1 + _ROUNDING):
        key = has["for"] if "for" in has else has["draws"]
        what = f"{show(lasts, 's')} is longer than every {show(every, 's')}"
        yield _mistake(key.place, f"{key.text}: {what}", "make it shorter, or every longer")


def _temperature(node: Node | None) -> Iterator[InputError]:
    span = _value(PAGE["temperature"], node)
    if node is not None and isinstance(span, Span) and span.high > _HOTTEST:
        what = f"temperature: no board works at {show(span.high, 'degC')}"
        yield _mistake(node.place, what, "such as -10 to 40 degC")


def _cells(cells: Node | None) -> Iterator[InputError]:
    """Check that each cell has a charge, and a voltage that falls while it is used."""
    for cell in cells.items if isinstance(cells, Listing) else (cells,):
        if not isinstance(cell, Table):
            continue
        capacity = cell.get("capacity")
        if capacity is not None and _value(CELL["capacity"], capacity) == 0.0:
            what = "a cell of no capacity runs nothing"
            yield _mistake(capacity.place, what, "state what it holds")
        points = _value(CELL["voltage"], cell.get("voltage"))
        yield from _rising(cell.get("voltage"), points if isinstance(points, tuple) else ())


def _rising(node: Node | None, points: Points) -> Iterator[InputError]:
    used = sorted(points, key=lambda point: point.at or 0.0)
    for before, after in pairwise(used):
        if node is not None and after.value > before.value:
            what = (
                f"the voltage rises from {show(before.value, 'V')} to {show(after.value, 'V')} "
                "while the cell is used"
            )
            yield _mistake(node.place, what, "0 % is fresh, 100 % is empty")
            return


def _brown_out(table: Table) -> Iterator[InputError]:
    """Check that a part does not reset at a voltage that it cannot even stand."""
    node = table.get("brown_out")
    level = _value(PROPERTIES["brown_out"], node)
    supply = _value(PROPERTIES["supply"], table.get("supply"))
    if node is None or not isinstance(level, float) or not isinstance(supply, Span):
        return
    if level > supply.high:
        most = show(supply.high, "V")
        what = f"brown_out: {show(level, 'V')} is above the highest supply, {most}"
        yield _mistake(node.place, what, "one of the two is wrong")


def _lasts(entry: Table) -> float | None:
    steps = _value(PATTERN["draws"], entry.get("draws"))
    if isinstance(steps, tuple):
        return float(sum(step.duration for step in steps))
    return _float(entry, "for")


def _parts(parts: Node | None) -> Iterator[InputError]:
    """Check ranges, and that a range and a single part do not state the same twice."""
    if not isinstance(parts, Table):
        return
    stated: dict[tuple[str, str], tuple[Text, Text]] = {}
    for group, table in parts.entries:
        try:
            references = expand(group.text)
        except QuantityError as error:
            yield _mistake(group.place, f"{quoted(error.text)} {error.what}", error.do)
            continue
        if isinstance(table, Table):
            yield from _brown_out(table)
        for key, _ in table.entries if isinstance(table, Table) else ():
            clash = next(((r, key.text) for r in references if (r, key.text) in stated), None)
            if clash:
                yield from _twice(clash[0], (group, key), stated[clash])
            stated.update(dict.fromkeys(((r, key.text) for r in references), (group, key)))


def _twice(
    reference: str, one: tuple[Text, Text], other: tuple[Text, Text]
) -> Iterator[InputError]:
    for (group, key), (_, second) in ((other, one), (one, other)):
        what = (
            f"{quoted(key.text)} of {reference} is stated twice, here "
            f"(under {quoted(group.text)}) and in line {second.place.line}"
        )
        yield _mistake(key.place, what, "keep one")


def _waivers(waivers: Node | None) -> Iterator[InputError]:
    for waiver in waivers.items if isinstance(waivers, Listing) else ():
        at = waiver.get("at") if isinstance(waiver, Table) else None
        if isinstance(at, Listing) and not at.items:
            yield _mistake(at.place, "this waiver covers nothing", "say what: at: D3")


def _columns(columns: Node | None) -> Iterator[InputError]:
    for _, roles in columns.entries if isinstance(columns, Table) else ():
        for key, _ in roles.entries if isinstance(roles, Table) else ():
            if key.text not in COLUMN_ROLES:
                like = nearest(key.text, COLUMN_ROLES)
                do = f"did you mean {like}?" if like else f"one of: {', '.join(COLUMN_ROLES)}"
                yield _mistake(key.place, f"{quoted(key.text)} is nothing a column holds", do)
