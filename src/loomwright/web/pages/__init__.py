"""The families of pages, one module each; what lies under a panel comes before the panel's own files."""

from __future__ import annotations

from importlib import import_module

from fastapi import APIRouter

FAMILIES = (
    "jobs", "listing", "drafts", "survey", "rig", "wiring", "vehicle", "findings", "faults", "power", "sound",
    "crossover", "joining", "bands", "switching", "outline", "sawing", "panel", "advice", "amplifiers", "loom",
    "compare", "build", "papers", "tasks", "settings", "catalogue", "stock", "events", "pair",
)  # fmt: skip


def routers() -> tuple[APIRouter, ...]:
    """The routes of every family."""
    found: list[APIRouter] = [import_module(f"{__name__}.{name}").router for name in FAMILIES]
    return tuple(found)
