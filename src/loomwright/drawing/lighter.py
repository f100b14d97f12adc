"""The layout engine's script with its small helpers written anew, to the same effect.

The engine is Java that was compiled to JavaScript. What runs it here does not compile, and feels each call: a few
helpers are called more than all others. Where a later engine words one of them otherwise it stays as it is.

It imports nothing of Loomwright: the build, which makes the lighter script once and for all, loads it by itself.
"""

from __future__ import annotations

import re

_HASH = (
    r"function (\w+)\(a\)\{var b,c;b=0;for\(c=0;c<a\.length;c\+\+\)\{"
    r"(b=\(b<<5\)-b\+\(\w+\(c,a\.length\),a\.charCodeAt\(c\)\)\|0)\}return b\}"
)
_HASH_ONCE = (
    r"var hashes=new Map;function \1(a){var b=hashes.get(a),c;"
    r"if(b===undefined){b=0;for(c=0;c<a.length;c++){\2}hashes.set(a,b)}return b}"
)
_HASH_ANY = (
    r"function (\w+)\(a\)\{return \w+\(a\)\?(\w+)\(a\):\w+\(a\)\?(\w+)\(a\):\w+\(a\)\?\(\w+\(a\),a\)\?1231:1237:"
    r"(\w+\(a\)\?a\.\w+\(\):\w+\(a\)\?\w+\(a\):\w+\(a\))\}"
)
_HASH_KIND = (
    r"function \1(a){switch(typeof a){case'string':return \2(a);case'number':return \3(a);"
    r"case'boolean':return a?1231:1237}return \4}"
)
_CAST = r"function (\w+)\(a,b\)\{\w+\(a==null\|\|\w+\(a,b\)\);return a\}"
_IS_A = (
    r"function (\w+)\(a,b\)\{if\((\w+)\(a\)\)\{return !!(\w+)\[b\]\}else if\(a\.(\w+)\)\{return !!a\.\4\[b\]\}else"
)
LIGHTER = (
    (_HASH, _HASH_ONCE),  # of a string, worked out letter by letter each time a property is looked up: once for each
    (_HASH_ANY, _HASH_KIND),  # of anything: its kind is asked for once
    (_CAST, r"function \1(a){return a}"),  # which Java wants checked: the engine makes no wrong ones
    # nor does it put things where they do not belong
    (r"function (\w+)\(a,b,c\)\{\w+\(c==null\|\|\w+\(a,c\)\);return a\[b\]=c\}", r"function \1(a,b,c){return a[b]=c}"),
    # whether a thing is of a class: asked of objects first, which most things are
    (_IS_A, r"function \1(a,b){if(a.\4){return !!a.\4[b]}else if(\2(a)){return !!\3[b]}else"),
    (
        r"function (\w+)\(a\)\{return !Array\.isArray\(a\)&&(a\.\w+===\w+)\}",
        r"function \1(a){return \2&&!Array.isArray(a)}",
    ),
    # a new array for Java, which seldom has to be filled
    (
        r"function (\w+)\(a,b,c,d,e,f\)\{var g;g=(\w+)\(e,d\);e!=10&&",
        r"function \1(a,b,c,d,e,f){var g;g=e>13&&e<17?\2(e,d):new Array(d);e!=10&&",
    ),
    # the next of a list
    (
        r"function (\w+)\(a\)\{(\w+)\(a\.a<a\.c\.c\.length\);a\.b=a\.a\+\+;",
        r"function \1(a){a.a<a.c.c.length||\2(false);a.b=a.a++;",
    ),
    # an entry of a map: none is looked for in an array made because there is none
    (
        r"function (\w+)\(a,b\)\{return (\w+)\(a,b,\w+\(a,a\.b\.(\w+)\(b\)\)\)\}",
        r"function \1(a,b){var c=a.a.get(a.b.\3(b));return c==null?null:\2(a,b,c)}",
    ),
)
"""Helpers of the engine by their wording, and how they are written instead."""


def lightened(script: str) -> str:
    """The engine's script with those helpers written anew, and without the calls of casts, which do nothing then."""
    cast, kind = re.search(_CAST, script), re.search(_IS_A, script)
    for old, new in LIGHTER:
        script = re.sub(old, new, script, count=1)
    if kind is not None:
        asks = rf"(function \w+\(a,b\)\{{return a!=null&&)({kind[1]}\(a,b\))\}}"
        script = re.sub(asks, rf"\1(a.{kind[4]}?!!a.{kind[4]}[b]:\2)}}", script, count=1)
    return script if cast is None else _without(cast[1], script)


def _without(cast: str, script: str) -> str:
    """The script with what is cast in the place of each cast, but for those with words or many brackets in them."""
    inner = r"[^()'\"]*"
    for _ in range(3):
        inner = rf"[^()'\"]*(?:\({inner}\)[^()'\"]*)*"
    call = re.compile(rf"(?<![\w$.\n]){re.escape(cast)}\(({inner}),\d+\)")
    count = 1
    while count:
        script, count = call.subn(r"(\1)", script)
    return script
