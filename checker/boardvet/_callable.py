"""Packages that are called like the function of the same name.

The Python interface is ``boardvet.read(paths)``, ``boardvet.circuit(paths)`` and
``boardvet.review(paths)``, and the engine has packages of these names. Importing a package sets
it as an attribute of `boardvet`, so the packages themselves answer the call.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType

__all__ = ["call_as_function"]


class _CallablePackage(ModuleType):
    """A package that hands a call on to the function of its name in `boardvet.api`."""

    def __call__(self, *args: object, **options: object) -> object:
        name = self.__name__.rpartition(".")[2]
        return getattr(import_module("boardvet.api"), name)(*args, **options)


def call_as_function(package: str) -> None:
    """Let a package of boardvet be called like the function of its name in `boardvet.api`."""
    sys.modules[package].__class__ = _CallablePackage
