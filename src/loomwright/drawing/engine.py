"""Runs the layout engine: elkjs inside quickjs, on one thread of its own.

The engine is Java that was compiled to JavaScript. Three of its small helpers are called more than any others, and
quickjs, which does not compile, feels each call: :func:`lightened` writes them anew, to the same effect. Where a later
engine words them otherwise it runs as it is.
"""

from __future__ import annotations

import re
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
_HASH = (
    r"function (\w+)\(a\)\{var b,c;b=0;for\(c=0;c<a\.length;c\+\+\)\{"
    r"(b=\(b<<5\)-b\+\(\w+\(c,a\.length\),a\.charCodeAt\(c\)\)\|0)\}return b\}"
)
_HASH_ONCE = (
    r"var hashes=new Map;function \1(a){var b=hashes.get(a),c;"
    r"if(b===undefined){b=0;for(c=0;c<a.length;c++){\2}hashes.set(a,b)}return b}"
)
_CAST = r"function (\w+)\(a,b\)\{\w+\(a==null\|\|\w+\(a,b\)\);return a\}"
_IS_A = (
    r"function (\w+)\(a,b\)\{if\((\w+)\(a\)\)\{return !!(\w+)\[b\]\}else if\(a\.(\w+)\)\{return !!a\.\4\[b\]\}else"
)
LIGHTER = (
    (_HASH, _HASH_ONCE),  # of a string, worked out letter by letter each time a property is looked up: once for each
    (_CAST, r"function \1(a){return a}"),  # which Java wants checked: the engine makes no wrong ones
    # whether a thing is of a class: asked of objects first, which most things are
    (_IS_A, r"function \1(a,b){if(a.\4){return !!a.\4[b]}else if(\2(a)){return !!\3[b]}else"),
)
"""Helpers of the engine by their wording, and how they are written instead."""


def lightened(script: str) -> str:
    """The engine's script with those helpers written anew."""
    for old, new in LIGHTER:
        script = re.sub(old, new, script, count=1)
    return script


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
    context.eval(lightened(script))
    context.eval(_START)
    return context.get("place")


def _run(graph: str) -> str:
    answer: str = _engine()(graph)
    return answer
