"""The JSON schema of the intent page, for editors that complete and check YAML.

``python -m boardvet.intent.schema > boardvet-schema.json`` writes it; an editor finds it by a
first line ``# yaml-language-server: $schema=boardvet-schema.json`` in the page.
"""

from __future__ import annotations

import json
from typing import Any

from boardvet.intent.models import page_model

__all__ = ["json_schema"]


def json_schema() -> dict[str, Any]:
    """Return the schema of the page.

    It knows the keys and the words that can be chosen. It takes a number or yes/no where the
    page reads a text, since that is what editors make of ``3`` and ``yes``, and it does not
    look inside values such as ``1.8 to 5.5 V``.
    """
    schema = page_model().model_json_schema()
    described: dict[str, Any] = _without(schema, {"title", "default"})
    cell = described["properties"]["cell"]
    listed = {key: cell.pop(key) for key in ("type", "items")}
    cell["anyOf"] = [listed["items"], listed]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "boardvet intent page",
        **described,
    }


def _without(schema: Any, names: set[str]) -> Any:
    """Drop what pydantic adds for programs; no key of the page has such a name."""
    if isinstance(schema, list):
        return [_without(item, names) for item in schema]
    if isinstance(schema, dict):
        return {key: _without(each, names) for key, each in schema.items() if key not in names}
    return schema


if __name__ == "__main__":
    print(json.dumps(json_schema(), indent=2))
