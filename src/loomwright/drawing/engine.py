"""Runs the layout engine: elkjs inside quickjs, on one thread of its own, in the lighter wording of the build."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import Any

from loomwright.drawing import assets
from loomwright.errors import EngineMissing

_FRAME = """
globalThis.global = globalThis; globalThis.self = globalThis;
globalThis.setTimeout = function (f) { f(); return 0 }; globalThis.clearTimeout = function () {};
globalThis.module = { exports: {} }; globalThis.exports = module.exports;
"""
_START = """
globalThis.place = (function () {
  var worker = new module.exports.Worker(), answer = null
  worker.onmessage = function (m) { answer = m.data }
  worker.postMessage({ id: 0, cmd: 'register', algorithms: ['layered'] })
  return function (text) {
    answer = null
    worker.postMessage({ id: 1, cmd: 'layout', graph: JSON.parse(text) })
    if (!answer) throw new Error('no answer')
    if (answer.error) throw new Error(String(answer.error.message || answer.error.text || answer.error))
    return JSON.stringify(answer.data)
  }
})()
"""

@cache
def _worker() -> ThreadPoolExecutor:
    """The one thread that runs the engine: a running engine belongs to the thread that started it."""
    return ThreadPoolExecutor(1, "layout")


def warm() -> None:
    """Start the engine now, so that the first drawing need not wait for it; nothing where it is not installed."""
    try:
        _worker().submit(_engine).result()
    except EngineMissing:
        return


def placed(graph: str) -> str:
    """A graph with its places, both as JSON.

    Raises
    ------
    EngineMissing
        The layout engine is not installed.
    """
    return _worker().submit(_run, graph).result()


@cache
def _engine() -> Any:
    try:
        import quickjs  # type: ignore[import-untyped]
    except ImportError as error:
        raise EngineMissing("Diagrams need the quickjs-ng package: type `pip install quickjs-ng`.") from error
    script = assets.layout_engine().read_text("utf-8")
    context = quickjs.Context()
    context.set_max_stack_size(16 * 1024 * 1024)
    context.eval(_FRAME)
    context.eval(script)
    context.eval(_START)
    return context.get("place")


def _run(graph: str) -> str:
    answer: str = _engine()(graph)
    return answer
