"""Every name in a script, and what each of them stands for: its scopes, as ECMA-262 has them
(the ECMAScript language specification, "Scope Analysis" and "Declarative Environment Records").
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Final

import tree_sitter_javascript
from tree_sitter import Language, Node, Parser

NAMES: Final = frozenset(
    {"identifier", "shorthand_property_identifier", "shorthand_property_identifier_pattern"}
)
FUNCTIONS: Final = frozenset(
    {"function_declaration", "generator_function_declaration", "function_expression",
     "generator_function", "arrow_function", "method_definition"}
)  # fmt: skip
BLOCKS: Final = frozenset(
    {"statement_block", "for_statement", "for_in_statement", "switch_body", "class"}
)
# What can look names up while it runs, or what no script of ours needs.
UNCLEAR: Final = frozenset({"with_statement", "class_static_block", "decorator", "html_comment"})


class Unclear(Exception):
    """Something in the script may mean more than it says."""


@dataclass(eq=False, slots=True)
class Binding:
    """One thing that has a name. ``fixed``: others know it by its name."""

    name: str
    number: int
    fixed: bool = False
    short: str = ""
    uses: list[Use] = field(default_factory=list)


@dataclass(eq=False, slots=True)
class Scope:
    """Where names are looked up. ``function``: a ``var`` inside belongs here; ``joined``: its
    own names may not be those of the scope around it, as a body's may not be its parameters'.
    """

    outer: Scope | None
    function: bool = False
    joined: bool = False
    own: dict[str, Binding] = field(default_factory=dict)
    borrowed: set[Binding] = field(default_factory=set)

    def outwards(self) -> Iterator[Scope]:
        at: Scope | None = self
        while at:
            yield at
            at = at.outer


@dataclass(frozen=True, slots=True)
class Use:
    """A name at a place in the script (bytes). ``property``: it is a property's name too."""

    begin: int
    end: int
    name: str
    scope: Scope
    property: bool


@cache
def _parser() -> Parser:
    return Parser(Language(tree_sitter_javascript.language()))


class Reading:
    """A script with every name in it: ``bindings`` with their uses, ``scopes`` from the outside
    in, and ``free``, the names that nothing in it declares. ``text`` is its UTF-8.

    Raises ``Unclear`` where it may mean more than can be read from it.
    """

    def __init__(self, script: str) -> None:
        self.text = script.encode()
        self.scopes: list[Scope] = []
        self.bindings: list[Binding] = []
        self.uses: list[Use] = []
        self.exported: set[str] = set()
        root = _parser().parse(self.text).root_node
        if root.has_error:
            raise Unclear
        waiting = [(root, self._scope(None, function=True))]
        while waiting:
            node, scope = waiting.pop()
            if node.type in UNCLEAR or node.type.startswith("jsx"):
                raise Unclear
            if node.type in NAMES:
                self._use(node, scope)
            waiting += self._inside(node, scope)
        self.uses.sort(key=lambda use: use.begin)
        self.free = self._resolve()

    def _scope(self, outer: Scope | None, function: bool = False, joined: bool = False) -> Scope:
        self.scopes.append(Scope(outer, function, joined))
        return self.scopes[-1]

    def _use(self, node: Node, scope: Scope) -> None:
        name = _text(node)
        if name == "eval" or "\\" in name:
            raise Unclear
        short = node.type != "identifier"
        self.uses.append(Use(node.start_byte, node.end_byte, name, scope, short))

    def _declare(self, names: Iterable[Node], scope: Scope, fixed: bool = False) -> None:
        for node in names:
            name = _text(node)
            if name not in scope.own:
                scope.own[name] = Binding(name, len(self.bindings))
                self.bindings.append(scope.own[name])
            scope.own[name].fixed |= fixed

    def _declare_var(self, names: Iterable[Node], scope: Scope, fixed: bool = False) -> None:
        """What belongs to the whole function, wherever in it this stands."""
        for node in names:
            within = []
            for one in scope.outwards():
                within.append(one)
                if one.function:
                    break
            *blocks, home = within
            if any(_text(node) in one.own for one in blocks):
                raise Unclear  # the same name as what a catch took
            if home.joined and home.outer and _text(node) in home.outer.own:
                home = home.outer  # a parameter once more
            self._declare([node], home, fixed)

    def _inside(self, node: Node, scope: Scope) -> list[tuple[Node, Scope]]:
        """The parts of a node, each with the scope it is read in; what it declares is noted."""
        if node.type in FUNCTIONS:
            return self._of_function(node, scope)
        if node.type == "catch_clause":
            return self._of_catch(node, scope)
        if node.type == "import_statement":
            return self._of_import(node, scope)
        if node.type == "export_statement" and node.child_by_field_name("source"):
            return []
        if node.type == "export_specifier":
            self.exported.add(_text(_part(node, "name")))
            return [(_part(node, "name"), scope)]  # what follows "as" is a name outside
        if node.type in BLOCKS:
            scope = self._scope(scope)
        if node.type == "variable_declarator":
            self._of_variable(node, scope)
        elif node.type == "for_in_statement" and node.child_by_field_name("kind"):
            declare = self._declare_var if _text(_part(node, "kind")) == "var" else self._declare
            declare(_bound(_part(node, "left")), scope)
        elif node.type in {"class_declaration", "class"} and node.child_by_field_name("name"):
            self._declare([_part(node, "name")], scope, fixed=_exported(node))
        return [(one, scope) for one in node.children]

    def _of_variable(self, node: Node, scope: Scope) -> None:
        around = node.parent
        assert around is not None
        declare = self._declare_var if around.type == "variable_declaration" else self._declare
        declare(_bound(_part(node, "name")), scope, fixed=_exported(around))

    def _of_function(self, node: Node, scope: Scope) -> list[tuple[Node, Scope]]:
        name, named = node.child_by_field_name("name"), scope
        if name and node.type.endswith("declaration"):
            if not scope.function:
                raise Unclear  # where it is known depends on how strict the script is
            self._declare_var([name], scope, fixed=_exported(node))
        elif name and node.type != "method_definition":
            named = self._scope(scope)
            self._declare([name], named)
        taken = self._scope(named)
        body = self._scope(taken, function=True, joined=True)
        parts: list[tuple[Node, Scope]] = [(name, named)] if name else []
        for each in ("parameter", "parameters"):
            for one in node.children_by_field_name(each):
                self._declare(_bound(one), taken)
                parts.append((one, taken))
        whole = _part(node, "body")
        inside = whole.children if whole.type == "statement_block" else [whole]
        return parts + [(one, body) for one in inside]

    def _of_catch(self, node: Node, scope: Scope) -> list[tuple[Node, Scope]]:
        taken = self._scope(scope)
        body = self._scope(taken, joined=True)
        parts = [(one, body) for one in _part(node, "body").children]
        for one in node.children_by_field_name("parameter"):
            self._declare(_bound(one), taken)
            parts.append((one, taken))
        return parts

    def _of_import(self, node: Node, scope: Scope) -> list[tuple[Node, Scope]]:
        """What comes from another script keeps the name it has there."""
        for one in _walk(node):
            if one.type == "import_specifier":
                local = one.child_by_field_name("alias") or _part(one, "name")
                self._declare([local], scope, fixed=True)
            elif one.type in {"import_clause", "namespace_import"}:
                names = [child for child in one.children if child.type == "identifier"]
                self._declare(names, scope, fixed=True)
        return []

    def _resolve(self) -> set[str]:
        """Tie every name to what it stands for; returns those that nothing here declares."""
        free = set()
        for name in self.exported & self.scopes[0].own.keys():
            self.scopes[0].own[name].fixed = True
        for use in self.uses:
            home = next((one for one in use.scope.outwards() if use.name in one.own), None)
            if home is None:
                free.add(use.name)
                continue
            binding = home.own[use.name]
            binding.uses.append(use)
            for scope in use.scope.outwards():
                if scope is home:
                    break
                scope.borrowed.add(binding)
        return free

    def meaning(self) -> list[tuple[int, str]]:
        """For each name in the script which thing it stands for, and by which name others know
        it, if they do."""
        told = {use: (-1, use.name) for use in self.uses}
        for binding in self.bindings:
            known = binding.name if binding.fixed else ""
            told |= dict.fromkeys(binding.uses, (binding.number, known))
        return [told[use] for use in self.uses]


def _text(node: Node) -> str:
    assert node.text is not None
    return node.text.decode()


def _part(node: Node, name: str) -> Node:
    part = node.child_by_field_name(name)
    if part is None:
        raise Unclear
    return part


def _walk(node: Node) -> Iterator[Node]:
    yield node
    for child in node.children:
        yield from _walk(child)


def _bound(pattern: Node) -> Iterator[Node]:
    """The names that a parameter or a variable declares, however it is taken apart."""
    if pattern.type in NAMES:
        yield pattern
    elif pattern.type in {"assignment_pattern", "object_assignment_pattern"}:
        yield from _bound(_part(pattern, "left"))
    elif pattern.type == "pair_pattern":
        yield from _bound(_part(pattern, "value"))
    elif pattern.type in {"formal_parameters", "object_pattern", "array_pattern", "rest_pattern"}:
        for child in pattern.named_children:
            yield from _bound(child)
    elif pattern.type != "comment":
        raise Unclear


def _exported(node: Node) -> bool:
    around = node.parent
    return around is not None and around.type == "export_statement"
