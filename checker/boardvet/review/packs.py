"""Packs: installed sets of rules, found by entry point and loaded without any list.

A pack is an object of type `Pack` behind an entry point of the group ``boardvet.packs``. Its
rules are the modules two levels below its package, ``<package>/<area>/<rule_id>.py``.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.metadata import EntryPoint, entry_points

from boardvet.errors import BoardvetError
from boardvet.review.rule import Rule

__all__ = ["GROUP", "LoadedPack", "Pack", "PackError", "load_packs"]

GROUP = "boardvet.packs"


class PackError(BoardvetError):
    """A pack that cannot be used.

    Parameters
    ----------
    pack : str
        Its name.
    what, do : str
        What is wrong and what to do about it.
    """

    def __init__(self, pack: str, what: str, do: str) -> None:
        super().__init__(pack, what, do)
        self.pack = pack
        self.what = what
        self.do = do

    def __str__(self) -> str:
        return f"pack {self.pack!r}: {self.what} ({self.do})"


@dataclass(frozen=True, slots=True)
class Pack:
    """What the entry point of a pack names.

    Parameters
    ----------
    name, version : str
        Printed in reports.
    package : str
        The package whose folders are the areas.
    """

    name: str
    version: str
    package: str


@dataclass(frozen=True, slots=True)
class LoadedPack:
    """A pack with its rules, sorted by area and id."""

    name: str
    version: str
    rules: tuple[Rule, ...]


@cache
def load_packs() -> tuple[LoadedPack, ...]:
    """Find and load every installed pack, sorted by name.

    Raises
    ------
    PackError
        If a pack cannot be imported, a module holds no rule or several, or an id occurs twice.
    """
    found = sorted(entry_points(group=GROUP), key=lambda entry: entry.name)
    loaded = tuple(_load(entry) for entry in found)
    _refuse_doubles(loaded)
    return loaded


def _load(entry: EntryPoint) -> LoadedPack:
    try:
        pack = entry.load()
    except Exception as error:
        raise PackError(
            entry.name, f"{entry.value} cannot be imported: {error}", "reinstall or remove it"
        ) from error
    if not isinstance(pack, Pack):
        raise PackError(entry.name, f"{entry.value} is no Pack", "point it at a boardvet.Pack")
    return LoadedPack(pack.name, pack.version, tuple(_rules(pack)))


def _rules(pack: Pack) -> Iterator[Rule]:
    package = importlib.import_module(pack.package)
    for area in sorted(pkgutil.iter_modules(package.__path__), key=lambda m: m.name):
        if not area.ispkg:
            continue
        folder = importlib.import_module(f"{pack.package}.{area.name}")
        for module in sorted(pkgutil.iter_modules(folder.__path__), key=lambda m: m.name):
            if not module.name.startswith("_"):
                yield _rule(pack, f"{pack.package}.{area.name}.{module.name}")


def _rule(pack: Pack, module_name: str) -> Rule:
    try:
        module = importlib.import_module(module_name)
    except Exception as error:
        raise PackError(
            pack.name, f"{module_name} cannot be imported: {error}", "mend or remove the module"
        ) from error
    found = [item for item in vars(module).values() if isinstance(item, Rule)]
    own = [item for item in found if item.check.__module__ == module_name]
    if len(own) != 1:
        raise PackError(
            pack.name,
            f"{module_name} holds {len(own)} rules",
            "put one function under @rule in each module; helpers go in a module named _…",
        )
    return own[0]


def _refuse_doubles(packs: tuple[LoadedPack, ...]) -> None:
    seen: dict[str, str] = {}
    for pack in packs:
        for rule in pack.rules:
            if rule.id in seen:
                raise PackError(
                    pack.name,
                    f"rule {rule.id} is also in pack {seen[rule.id]!r}",
                    "rename one of them",
                )
            seen[rule.id] = pack.name
