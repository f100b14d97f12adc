"""JSON schema of the rig file and of a catalogue, for editors that check TOML while one types."""

from __future__ import annotations

from typing import Any

from loomwright.rig.keys import RigKeys
from loomwright.rig.part_keys import CatalogueKeys

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema() -> dict[str, Any]:
    """The schema of a rig file, format 1. What needs the whole rig (names, joins, ways) is not in it."""
    return {"$schema": DIALECT, **RigKeys.model_json_schema(by_alias=True), "title": "Loomwright rig file, format 1"}


def catalogue_schema() -> dict[str, Any]:
    """The schema of a catalogue file, format 1."""
    made = CatalogueKeys.model_json_schema(by_alias=True)
    return {"$schema": DIALECT, **made, "title": "Loomwright catalogue, format 1"}
