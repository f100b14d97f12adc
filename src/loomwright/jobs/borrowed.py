"""The shop's own parts that a job takes along, and what a shop does with parts that a job brings."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import tomli
import tomlkit
from sqlalchemy.orm import Session

from loomwright.jobs.shop import current_text
from loomwright.rig import catalogue


def used_parts(session: Session, rigs: Iterable[str]) -> str:
    """The shop's own catalogue with only the parts that some rigs use; empty where they use none of it."""
    text = current_text(session, "catalogue")
    return without(text, keep=set().union(*map(_parts_of, rigs))) if text.strip() else ""


def joined(text: str, brought: str, name: str) -> str:
    """The shop's own catalogue with the parts that a job brings, where no catalogue here has one of that name.

    Raises
    ------
    InputError
        Where the brought catalogue cannot be used.
    """
    found = catalogue.parse(brought, name)
    here = catalogue.builtin().tables.keys() | (tomli.loads(text).get("part", {}).keys() if text.strip() else set())
    new = without(brought, keep=found.tables.keys() - here)
    if not new:
        return text
    document = tomlkit.parse(new)
    if not text.strip():
        return new
    for key in [k for k in document if k != "part"]:
        document.remove(key)
    return f"{text.rstrip()}\n\n{tomlkit.dumps(document).lstrip()}"


def without(text: str, keep: Iterable[str]) -> str:
    """A catalogue without the parts that are not to be kept; empty where none is left."""
    document = tomlkit.parse(text)
    parts: Any = document.get("part", {})
    kept = set(keep)
    for part_id in [str(p) for p in parts if p not in kept]:
        parts.remove(part_id)
    return tomlkit.dumps(document) if parts else ""


def _parts_of(rig: str) -> set[str]:
    try:
        items = tomli.loads(rig).get("item", {})
    except ValueError:
        return set()
    tables = items.values() if isinstance(items, dict) else ()
    return {str(t["part"]) for t in tables if isinstance(t, dict) and "part" in t}
