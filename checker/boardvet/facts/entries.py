"""Reads facts files: YAML nodes to families, every mistake with its place, all at once.

Nodes are read as text, so that a pin ``010`` or a part ``1e3`` stays what was written.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from pathlib import Path

import yaml

from boardvet.board import Place
from boardvet.errors import InputError, InputErrors, QuantityError
from boardvet.facts.family import Family, Stated
from boardvet.facts.match import check_prefix
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.properties import PROPERTIES, parse_property
from boardvet.vocabulary.roles import Role

__all__ = ["OUTPUT_CODES", "EntryReader", "compose", "read_facts_file"]

OUTPUT_CODES = ("tenths", "volts")
"""Ways in which a suffix codes the output voltage of a regulator."""

OWN_KEYS = (
    "match",
    "kind",
    "pins",
    "source",
    "from_memory",
    "sheet_does_not_say",
    "output_code",
)
LARGEST_FILE = 1 << 20
_LOADER: type[yaml.SafeLoader] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_Fields = Mapping[str, tuple[yaml.Node, yaml.Node]]
_SHORT_PAGE = (
    "write each entry as `- match: [PREFIX]`, `kind: KIND`, properties and `source: TEXT`"
)


def compose(text: str, file: str, first_line: int = 1) -> yaml.Node | None:
    """Return the node of a YAML text; `InputErrors` where it is not YAML."""
    try:
        return yaml.compose(text, Loader=_LOADER)
    except (yaml.YAMLError, RecursionError) as error:
        mark = getattr(error, "problem_mark", None)
        what = getattr(error, "problem", None) or "is nested too deep"
        line = mark.line + first_line if mark else 0
        column = mark.column + 1 if mark else 0
        raise InputErrors(
            [InputError(file, f"is not YAML: {what}", _SHORT_PAGE, line, column)]
        ) from None


def read_facts_file(path: Path) -> tuple[Family, ...]:
    """Read a facts file of a repository.

    Raises
    ------
    InputErrors
        With every mistake of the file.
    """
    shown = str(path)
    reader = EntryReader(shown, path.name, own=True)
    families = reader.families(compose(_text_of(path), shown))
    if reader.errors:
        raise InputErrors(sorted(reader.errors, key=lambda error: (error.line, error.column)))
    return families


def _text_of(path: Path) -> str:
    shown = str(path)
    try:
        if path.stat().st_size > LARGEST_FILE:
            what = f"is larger than {LARGEST_FILE >> 20} MiB"
            raise InputErrors([InputError(shown, what, "split it into several facts files")])
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise InputErrors([InputError(shown, reason, "check the name under `facts`")]) from None
    except UnicodeDecodeError:
        raise InputErrors([InputError(shown, "is not UTF-8 text", "save it as UTF-8")]) from None


class EntryReader:
    """Turns the nodes of one facts file into families and collects the mistakes.

    Parameters
    ----------
    shown : str
        The file as mistakes name it.
    name : str
        The file as sources name it.
    first_line : int
        Line of the file on which the text begins.
    own : bool
        True for a facts file of a repository.
    """

    def __init__(self, shown: str, name: str, first_line: int = 1, *, own: bool = False) -> None:
        self.errors: list[InputError] = []
        self._shown = shown
        self._name = name
        self._first_line = first_line
        self._own = own

    def families(self, root: yaml.Node | None) -> tuple[Family, ...]:
        """Return the families of a file; what cannot be used is in `errors`."""
        if root is None:
            return ()
        if not isinstance(root, yaml.SequenceNode):
            self._wrong(root, "a facts file is a list of entries", _SHORT_PAGE)
            return ()
        read = [self.family(node) for node in dict.fromkeys(root.value)]
        return tuple(family for family in read if family is not None)

    def family(self, node: yaml.Node) -> Family | None:
        """Return the family of one entry, None where it cannot be used."""
        before = len(self.errors)
        fields = self._fields(node)
        if fields is None:
            return None
        match = self._match(node, fields)
        kind = self._kind(node, fields)
        source = self._source(node, fields)
        values = dict(self._values(fields))
        family = Family(
            match=match,
            kind=kind,
            values=values,
            pins=self._pins(fields),
            source=source,
            from_memory=frozenset(self._keys(fields, "from_memory")),
            not_stated=frozenset(self._keys(fields, "sheet_does_not_say")),
            output_code=self._output_code(fields),
            own=self._own,
            file=self._name,
            place=self._place(node),
        )
        self._check_keys(node, family)
        if self._own:
            self.check_values(family)
        return family if len(self.errors) == before else None

    def _fields(self, node: yaml.Node) -> dict[str, tuple[yaml.Node, yaml.Node]] | None:
        if not isinstance(node, yaml.MappingNode):
            self._wrong(node, "an entry is a set of keys", _SHORT_PAGE)
            return None
        fields: dict[str, tuple[yaml.Node, yaml.Node]] = {}
        for key_node, value_node in node.value:
            key = str(key_node.value)
            if key in fields:
                for twice in (fields[key][0], key_node):
                    self._wrong(twice, f"the key {key!r} stands twice", "keep one of them")
                continue
            fields[key] = (key_node, value_node)
            if key not in OWN_KEYS and key not in PROPERTIES:
                self._wrong(key_node, f"unknown key {key!r}", _nearest(key, _known_keys()))
        return fields

    def _match(self, node: yaml.Node, fields: _Fields) -> tuple[str, ...]:
        if "match" not in fields:
            self._wrong(node, "the entry has no `match`", "add `match: [PREFIX OF THE PART]`")
            return ()
        items = self._texts(fields["match"][1])
        for text, item in items:
            if wrong := check_prefix(text):
                self._wrong(item, f"the prefix {text!r} {wrong}", "write more of the part number")
        if not items:
            self._wrong(
                fields["match"][1], "`match` is empty", "add the prefix of the part number"
            )
        return tuple(text for text, _ in items)

    def _kind(self, node: yaml.Node, fields: _Fields) -> Kind:
        kinds = [kind.value for kind in Kind]
        if "kind" not in fields:
            self._wrong(node, "the entry has no `kind`", "add `kind:` such as regulator or led")
            return Kind.UNKNOWN
        text = self._text(fields["kind"][1])
        if text not in kinds:
            self._wrong(fields["kind"][1], f"unknown kind {text!r}", _nearest(text, kinds))
            return Kind.UNKNOWN
        return Kind(text)

    def _source(self, node: yaml.Node, fields: _Fields) -> str:
        text = self._text(fields["source"][1]).strip() if "source" in fields else ""
        if not text:
            how = "add `source:` with document, number and revision, or `source: from memory`"
            self._wrong(node, "the entry has no `source`", how)
        return text

    def _output_code(self, fields: _Fields) -> str:
        if "output_code" not in fields:
            return ""
        text = self._text(fields["output_code"][1])
        if text not in OUTPUT_CODES:
            how = _nearest(text, OUTPUT_CODES)
            self._wrong(fields["output_code"][1], f"unknown output code {text!r}", how)
        return text

    def _values(self, fields: _Fields) -> Iterator[tuple[str, Stated]]:
        for key, (_, node) in fields.items():
            if key in OWN_KEYS or key not in PROPERTIES:
                continue
            text: str | tuple[str, ...]
            if isinstance(node, yaml.SequenceNode):
                text = tuple(item for item, _ in self._texts(node))
            else:
                text = self._text(node)
            yield key, Stated(text, self._place(node))

    def check_values(self, family: Family) -> None:
        """Parse every value of a family; what is wrong goes to `errors`."""
        for key, stated in family.values.items():
            try:
                parse_property(key, stated.text)
            except QuantityError as error:
                what = f"{key}: {error.text!r} {error.what}"
                self._wrong_at(stated.place, what, error.do)

    def _pins(self, fields: _Fields) -> dict[str, dict[str, Role]]:
        if "pins" not in fields:
            return {}
        node = fields["pins"][1]
        if not isinstance(node, yaml.MappingNode):
            how = "write `pins: {PACKAGE: {1: role, 2: role}}`, `any` for every package"
            self._wrong(node, "`pins` is a set of packages", how)
            return {}
        return {str(key.value): self._roles(value) for key, value in node.value}

    def _roles(self, node: yaml.Node) -> dict[str, Role]:
        roles = [role.value for role in Role]
        found: dict[str, Role] = {}
        if not isinstance(node, yaml.MappingNode):
            self._wrong(node, "a package is a set of pins", "write `{1: role, 2: role}`")
            return found
        for key_node, value_node in node.value:
            text = self._text(value_node)
            number = str(key_node.value)
            if number in found:
                self._wrong(key_node, f"the pin {number} stands twice", "keep one of them")
            elif text in roles:
                found[number] = Role(text)
            else:
                self._wrong(value_node, f"unknown pin role {text!r}", _nearest(text, roles))
        return found

    def _keys(self, fields: _Fields, name: str) -> Iterator[str]:
        if name not in fields:
            return
        for key, node in self._texts(fields[name][1]):
            if key in PROPERTIES or key == "pins":
                yield key
            else:
                self._wrong(node, f"unknown key {key!r}", _nearest(key, tuple(PROPERTIES)))

    def _check_keys(self, node: yaml.Node, family: Family) -> None:
        for key, stated in family.values.items():
            kinds = PROPERTIES[key].kinds
            if kinds and family.kind not in kinds and family.kind is not Kind.UNKNOWN:
                what = f"a {family.kind} has no {key}"
                self._wrong_at(stated.place, what, "take it off, or correct `kind`")
        for key in sorted(family.not_stated & set(family.values)):
            what = f"{key} is stated and listed under `sheet_does_not_say`"
            self._wrong(node, what, "take it off one of the two")

    def _texts(self, node: yaml.Node) -> list[tuple[str, yaml.Node]]:
        if isinstance(node, yaml.SequenceNode):
            return [(self._text(item), item) for item in node.value]
        return [(self._text(node), node)]

    def _text(self, node: yaml.Node) -> str:
        if isinstance(node, yaml.ScalarNode):
            return str(node.value)
        self._wrong(node, "a plain text is wanted here", "write one value, with quotes if need be")
        return ""

    def _place(self, node: yaml.Node) -> Place:
        mark = node.start_mark
        return Place(self._shown, mark.line + self._first_line, mark.column + 1)

    def _wrong(self, node: yaml.Node, what: str, do: str) -> None:
        self._wrong_at(self._place(node), what, do)

    def _wrong_at(self, place: Place, what: str, do: str) -> None:
        self.errors.append(InputError(self._shown, what, do, place.line, place.column))


def _known_keys() -> tuple[str, ...]:
    return (*OWN_KEYS, *PROPERTIES)


def _nearest(text: str, known: tuple[str, ...] | list[str]) -> str:
    near = difflib.get_close_matches(text, known, n=1, cutoff=0.6)
    return f"did you mean {near[0]!r}?" if near else f"it is one of: {', '.join(known)}"
