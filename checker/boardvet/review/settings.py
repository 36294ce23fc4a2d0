"""Settings of rules: their defaults, and what the intent page states for them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from boardvet.intent import Intent, read_settings
from boardvet.quantity import show
from boardvet.review.rule import Rule, RuleSettings
from boardvet.review.verdict import Setting

__all__ = ["known_settings", "settings_of", "stated_settings"]


def settings_type(rule: Rule) -> type[RuleSettings] | None:
    """Return the rule's own settings type, None if it takes none."""
    hints = rule.parameters()[1].values()
    return next((hint for hint in hints if issubclass(hint, RuleSettings)), None)


def known_settings(rule: Rule) -> Mapping[str, str]:
    """Return the names of a rule's settings with their units."""
    declared = settings_type(rule)
    return {} if declared is None else {name: unit for name, unit, _ in _declared(declared)}


def settings_of(rule: Rule, intent: Intent) -> RuleSettings | None:
    """Return the settings a rule runs with, None if it takes none.

    Raises
    ------
    InputErrors
        If the page states a setting that the rule does not have, or no value of its unit.
    """
    declared = settings_type(rule)
    values: dict[str, Any] = {**read_settings(intent, rule.id, known_settings(rule))}
    return None if declared is None else declared(**values)


def stated_settings(rule: Rule, stated: Mapping[str, str]) -> Iterator[Setting]:
    """Yield what the intent page changes of a rule's settings."""
    declared = settings_type(rule)
    for name, unit, default in _declared(declared) if declared else ():
        if name in stated:
            yield Setting(rule.id, name, stated[name], show(default, unit))


def _declared(declared: type[RuleSettings]) -> Iterator[tuple[str, str, float]]:
    """Yield name, unit and default of each field of a settings dataclass."""
    hints = get_type_hints(declared, include_extras=True)
    default = declared.default()
    for name, hint in hints.items():
        unit = get_args(hint)[1] if get_origin(hint) is Annotated else ""
        yield name, str(unit), float(getattr(default, name))
