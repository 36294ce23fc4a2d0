"""YAML as texts with places: nothing is turned into a number, a date or a yes/no.

Only events of the YAML library are used, so no object is ever made from what is read, a net
called ``NO`` stays ``NO``, and neither depth nor aliases can blow up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import yaml

from boardvet.board import Place
from boardvet.errors import InputError, InputErrors
from boardvet.intent.names import quoted

__all__ = ["Listing", "Node", "Table", "Text", "read_nodes"]

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
MAX_SIZE = 1 << 20
MAX_DEPTH = 20
MAX_NODES = 100_000
MAX_TEXT = 4_000


@dataclass(frozen=True, slots=True)
class Text:
    """A text and where it begins."""

    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class Listing:
    """A list and where it begins."""

    items: tuple[Node, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Table:
    """Entries by key, each key once, and where they begin.

    `dropped` are the keys whose value is already reported as a mistake.
    """

    entries: tuple[tuple[Text, Node], ...]
    place: Place
    dropped: frozenset[str] = frozenset()

    def get(self, name: str) -> Node | None:
        """Return what stands under a key, None if there is no such key."""
        return next((node for key, node in self.entries if key.text == name), None)


Node = Text | Listing | Table


@dataclass(slots=True)
class _Open:
    """A list or table whose end has not come yet; a table has keys and values in turn."""

    table: bool
    place: Place
    nodes: list[Node | None] = field(default_factory=list)


def read_nodes(text: str, file: str, mistakes: list[InputError]) -> Table | None:
    """Read one YAML document whose outermost level is keys and values.

    Parameters
    ----------
    text : str
        The document.
    file : str
        Its name for places.
    mistakes : list of InputError
        Gets every mistake after which reading could go on.

    Returns
    -------
    Table or None
        None for an empty document.

    Raises
    ------
    InputErrors
        With a mistake after which it could not.
    """
    reader = _Reader(file, mistakes)
    if len(text) > MAX_SIZE:
        raise reader.stop(Place(file), "is too long", f"keep it under {MAX_SIZE >> 20} MB")
    try:
        for event in _events(text):
            reader.take(event)
    except yaml.MarkedYAMLError as error:
        raise reader.stop(*_broken(error, file, text)) from None
    except (yaml.YAMLError, UnicodeError):
        what = "has a character that no text file has"
        raise reader.stop(Place(file), what, "save it as plain text in UTF-8") from None
    return reader.root()


def _events(text: str) -> Iterator[yaml.Event]:
    loader = _LOADER(text)
    try:
        while loader.check_event():
            yield loader.get_event()
    finally:
        loader.dispose()


def _broken(error: yaml.MarkedYAMLError, file: str, text: str) -> tuple[Place, str, str]:
    mark = error.problem_mark or error.context_mark
    place = Place(file, mark.line + 1, mark.column + 1) if mark else Place(file)
    lines = text.splitlines()
    if mark and mark.line < len(lines) and "\t" in lines[mark.line]:
        return place, "a tab stands where YAML wants spaces", "indent with spaces"
    what = f"the YAML cannot be read from here: {error.problem or 'it breaks off'}"
    return place, what, "look at brackets, quotes, colons and indentation here and just above"


def _no_value(key: str) -> str:
    """Say what to do; a key with a blank is more likely the end of "1,9 V", or lacks a colon."""
    if " " in key:
        return "write `key: value`, and no comma inside a value"
    return "write one, or delete the key"


class _Reader:
    """Builds nodes from events."""

    def __init__(self, file: str, mistakes: list[InputError]) -> None:
        self._file = file
        self._mistakes = mistakes
        self._open: list[_Open] = []
        self._root: Node | None = None
        self._documents = 0
        self._count = 0

    def stop(self, place: Place, what: str, do: str) -> InputErrors:
        """Return the error with all mistakes so far and a last one."""
        return InputErrors([*self._mistakes, InputError(place.file, what, do, *place[1:])])

    def root(self) -> Table | None:
        """Return the outermost table."""
        if self._root is None or isinstance(self._root, Table):
            return self._root
        if isinstance(self._root, Text) and not self._root.text:
            return None
        raise self.stop(self._root.place, "the page has no keys", "write `key: value` lines")

    def take(self, event: yaml.Event) -> None:
        """Take the next event."""
        if isinstance(event, yaml.DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                raise self.stop(
                    self._place(event), "a second document begins", "keep one page in one file"
                )
        elif isinstance(event, yaml.ScalarEvent | yaml.AliasEvent | yaml.CollectionStartEvent):
            self._begin(event)
        elif isinstance(event, yaml.CollectionEndEvent):
            self._close()

    def _begin(self, event: yaml.NodeEvent) -> None:
        place = self._place(event)
        self._count += 1
        if self._count > MAX_NODES:
            raise self.stop(place, "the page has too many entries", f"keep it under {MAX_NODES}")
        if isinstance(event, yaml.AliasEvent):
            self._wrong(place, "an alias stands here", "write the value itself")
            self._add(None)
            return
        tag = getattr(event, "tag", None)
        if tag not in (None, "!", "tag:yaml.org,2002:str"):
            self._wrong(place, f"a type tag stands here: {quoted(tag)}", "leave it out")
        if isinstance(event, yaml.ScalarEvent):
            self._add(self._text(event, place))
            return
        if len(self._open) >= MAX_DEPTH:
            raise self.stop(place, "brackets or lists are nested too deep", "see `explain intent`")
        self._open.append(_Open(isinstance(event, yaml.MappingStartEvent), place))

    def _text(self, event: yaml.ScalarEvent, place: Place) -> Text | None:
        text = event.value.strip()
        if len(text) > MAX_TEXT:
            self._wrong(place, "a text is too long", f"keep it under {MAX_TEXT} characters")
            return None
        return Text(text, place)

    def _close(self) -> None:
        done = self._open.pop()
        if done.table:
            self._add(self._table(done))
        else:
            items = [node for node in done.nodes if node is not None]
            for node in items:
                if isinstance(node, Text) and not node.text:
                    self._wrong(node.place, "an item of the list is empty", "fill or delete it")
            kept = (node for node in items if not isinstance(node, Text) or node.text)
            self._add(Listing(tuple(kept), done.place))

    def _table(self, done: _Open) -> Table:
        entries: dict[str, tuple[Text, Node]] = {}
        dropped: set[str] = set()
        repeated: dict[str, list[Place]] = {}
        for key, node in zip(done.nodes[::2], done.nodes[1::2], strict=True):
            if not isinstance(key, Text) or not key.text:
                if key is not None:
                    self._wrong(key.place, "this key is not a text", "write `key: value`")
            elif key.text in entries or key.text in dropped:
                repeated.setdefault(key.text, []).append(key.place)
            elif node is None or (isinstance(node, Text) and not node.text):
                dropped.add(key.text)
                if node is not None:
                    self._wrong(key.place, f"{quoted(key.text)} has no value", _no_value(key.text))
            else:
                entries[key.text] = key, node
        self._report_repeated(entries, repeated)
        return Table(tuple(entries.values()), done.place, frozenset(dropped))

    def _report_repeated(
        self, entries: dict[str, tuple[Text, Node]], repeated: dict[str, list[Place]]
    ) -> None:
        for name, later in repeated.items():
            first = [entries[name][0].place] if name in entries else []
            places = [*first, *later]
            for place in places:
                others = sorted({other.line for other in places if other != place})
                lines = " and ".join(map(str, others)) or str(place.line)
                what = f"the key {quoted(name)} stands twice, here and in line {lines}"
                self._wrong(place, what, "keep one")

    def _add(self, node: Node | None) -> None:
        if self._open:
            self._open[-1].nodes.append(node)
        elif node is not None:
            self._root = node

    def _place(self, event: yaml.Event) -> Place:
        mark = event.start_mark
        return Place(self._file, mark.line + 1, mark.column + 1) if mark else Place(self._file)

    def _wrong(self, place: Place, what: str, do: str) -> None:
        self._mistakes.append(InputError(place.file, what, do, *place[1:]))
