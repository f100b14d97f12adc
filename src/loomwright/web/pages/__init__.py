"""The families of pages, one module each."""

from __future__ import annotations

from fastapi import APIRouter


def routers() -> tuple[APIRouter, ...]:
    """The routes of every family."""
    from loomwright.web.pages import events, faults, findings, jobs, pair, papers, power, rig, settings, survey, wiring

    modules = (jobs, survey, rig, wiring, findings, faults, power, papers, settings, events, pair)
    return tuple(m.router for m in modules)
