"""Our scripts with short names for what only they call by name, so that phones fetch less.

Parameters, variables, functions and classes that are not exported get names of a letter. Nobody
else can know them: properties, exports, imports and names of the browser stay as they are. The
script that comes of it is read once more and taken only where every name still stands for what
it stood for; where anything is unclear, the script stays as it was. No script of ours may ask a
function or a class what it is called.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count, product
from typing import Final

from shop.phone.scopes import Reading, Scope, Unclear

# Words of the language of two letters: no names.
WORDS: Final = frozenset({"as", "at", "do", "if", "in", "is", "of"})
LETTERS: Final = "etnrisoaclduhmpfgbvywxkjqzETNRISOACLDUHMPFGBVYWXKJQZ_"


def shortened(script: str) -> str:
    """The same script with short names, or as it was where that is not certain.

    >>> shortened("const wide = (length) => length * 2;export { wide };")
    'const wide = (e) => e * 2;export { wide };'
    """
    try:
        before = Reading(script)
        text = _written(before)
        after = Reading(text)
    except Unclear:
        return script
    return text if before.meaning() == after.meaning() else script


def _written(script: Reading) -> str:
    fixed = script.free | {one.name for one in script.bindings if one.fixed}
    for scope in script.scopes:  # outer ones come first
        _name(scope, fixed)
    short = {use: one.short for one in script.bindings if not one.fixed for use in one.uses}
    out, at = b"", 0
    for use, name in sorted(short.items(), key=lambda pair: pair[0].begin):
        text = f"{use.name}:{name}" if use.property else name
        out += script.text[at : use.begin] + text.encode()
        at = use.end
    return (out + script.text[at:]).decode()


def _name(scope: Scope, fixed: set[str]) -> None:
    """Give what a scope declares the shortest names that mean nothing else inside of it, the
    shortest to what is used most."""
    taken = fixed | {one.short for one in scope.borrowed}
    if scope.joined and scope.outer:
        taken |= {one.short for one in scope.outer.own.values()}
    names = (name for name in _short() if name not in taken)
    mine = [one for one in scope.own.values() if not one.fixed]
    for binding in sorted(mine, key=lambda one: (-len(one.uses), one.number)):
        binding.short = next(names)


def _short() -> Iterator[str]:
    for length in count(1):
        for letters in product(LETTERS, repeat=length):
            if (name := "".join(letters)) not in WORDS:
                yield name
