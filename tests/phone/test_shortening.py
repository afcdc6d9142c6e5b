"""Scripts with short names. What is so in a script is what the ECMAScript specification (ECMA-262)
says of scopes, of declarations and of patterns; the pieces here are ours.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import rjsmin  # type: ignore[import-untyped]
import tree_sitter_javascript
from tree_sitter import Language, Node, Parser

from shop.phone.scopes import Reading
from shop.phone.shortening import WORDS, shortened

ROOT = Path(__file__).resolve().parents[2]
OWN = sorted(ROOT.glob("static/*/*.js"))
SHIPPED = {one.relative_to(ROOT / "static").as_posix(): one.read_text() for one in OWN}
# Each of the three ways a name is written without saying what of.
SHORTHAND = {"shorthand_property_identifier", "shorthand_property_identifier_pattern"}


def leaves(node: Node) -> Iterator[Node]:
    if not node.children:
        yield node
    for child in node.children:
        yield from leaves(child)


def kinds(script: str) -> list[str]:
    """The kinds of the tokens of a script; ``{a}`` counts as the ``{a: a}`` that it means."""
    root = Parser(Language(tree_sitter_javascript.language())).parse(script.encode()).root_node
    assert not root.has_error
    found = []
    for leaf in leaves(root):
        short = leaf.type in SHORTHAND
        found += ["property_identifier", ":", "identifier"] if short else [leaf.type]
    return found


def others(script: str) -> list[str]:
    """What may never change: properties, figures, texts, words of the language, in order."""
    root = Parser(Language(tree_sitter_javascript.language())).parse(script.encode()).root_node
    known = {"identifier", ":", *SHORTHAND}
    return [
        leaf.text.decode()
        for leaf in leaves(root)
        if leaf.text
        and leaf.type not in known
        and (leaf.type != "property_identifier" or (leaf.parent and leaf.parent.type[:4] != "pair"))
    ]


# --- what gets a short name ---


@pytest.mark.parametrize(
    ("script", "short"),
    [
        ("const wide = 3; use(wide);", "const e = 3; use(e);"),
        ("const twice = (length) => length * 2;", "const e = (e) => e * 2;"),
        ("function go(from, to) { return to - from; } go(1, 2);",
         "function e(e, t) { return t - e; } e(1, 2);"),
        ("(function again(left) { if (left) again(left - 1); })(3);",
         "(function e(t) { if (t) e(t - 1); })(3);"),
        ("class Part {} new Part();", "class e {} new e();"),
        ("for (const each of all) use(each);", "for (const e of all) use(e);"),
        ("try { use(); } catch (trouble) { use(trouble); }",
         "try { use(); } catch (e) { use(e); }"),
        ("const [first, , ...rest] = use(); use(rest, first);",
         "const [e, , ...t] = use(); use(t, e);"),
        ("async (word) => `${word} ${await word}`;", "async (e) => `${e} ${await e}`;"),
        ("switch (use()) { case 1: let one = 1; use(one); }",
         "switch (use()) { case 1: let e = 1; use(e); }"),
    ],
)  # fmt: skip
def test_what_nobody_else_knows_by_name_gets_a_letter(script: str, short: str) -> None:
    assert shortened(script) == short


@pytest.mark.parametrize(
    ("script", "short"),
    [
        ("const wide = 3; use({ wide });", "const e = 3; use({ wide:e });"),
        ("const { wide } = use(); use(wide);", "const { wide:e } = use(); use(e);"),
        ("const { wide = 2 } = use(); use(wide);", "const { wide:e = 2 } = use(); use(e);"),
        ("const { wide: far } = use(); use(far);", "const { wide: e } = use(); use(e);"),
        ("use(({ wide, ...rest }) => use(rest, wide, wide));",
         "use(({ wide:e, ...t }) => use(t, e, e));"),
        ("let wide; ({ wide } = use()); use(wide);", "let e; ({ wide:e } = use()); use(e);"),
        ("let wide; ({ wide = 1 } = use()); use(wide);",
         "let e; ({ wide:e = 1 } = use()); use(e);"),
        ("const key = 1; use({ [key]: 2, key: 3 }.key);",
         "const e = 1; use({ [e]: 2, key: 3 }.key);"),
    ],
)  # fmt: skip
def test_a_property_keeps_its_name_however_it_is_written(script: str, short: str) -> None:
    assert shortened(script) == short


@pytest.mark.parametrize(
    "script",
    [
        "export const wide = 3;",
        "export function go() {}",
        "export class Part {}",
        "export default function go() {}",
        "const wide = 3; export { wide };",
        "const wide = 3; export { wide as far };",
        "export const { wide, far: [near] } = use();",
        'import { wide } from "./a.js"; use(wide);',
        'import { far as wide } from "./a.js"; use(wide);',
        'import * as wide from "./a.js"; import far from "./b.js"; use(wide.far, far);',
        'export { wide } from "./a.js";',
        "window.wide = document.far; use(import.meta.url);",
        "class e { #wide = 1; far = this.#wide; get near() { return this.far; } }",
        "wide: for (;;) break wide;",
    ],
)
def test_what_others_know_by_name_keeps_it(script: str) -> None:
    assert shortened(script) == script


# --- what a name stands for stays ---


def test_a_letter_that_the_browser_or_another_script_has_is_not_taken() -> None:
    assert shortened("const wide = e; use(wide, t);") == "const n = e; use(n, t);"
    script = 'import { e } from "./a.js"; const wide = 3; use(e, wide);'
    assert shortened(script) == 'import { e } from "./a.js"; const t = 3; use(e, t);'


def test_an_inner_name_does_not_hide_an_outer_one_that_is_asked_for_inside() -> None:
    script = "const far = 1; const go = (near) => () => near + far; go(far);"
    assert shortened(script) == "const e = 1; const t = (t) => () => t + e; t(e);"


def test_the_same_name_may_stand_for_two_things_one_inside_the_other() -> None:
    script = "const at = 1; { const at = 2; use(at); } use(at);"
    assert shortened(script) == "const e = 1; { const e = 2; use(e); } use(e);"


def test_a_body_does_not_declare_what_its_parameters_are_called() -> None:
    """ECMA-262, "Function Definitions, Static Semantics: Early Errors": a name of the parameters
    is no name of a let or const of the body; and so with what a catch takes."""
    for script in (
        "(function (wide) { let far = 1; use(far, far); })();",
        "use((wide) => { const far = 1; use(far); });",
        "try { use(); } catch (wide) { let far = 1; use(far); }",
    ):
        short = shortened(script)
        assert short != script
        taken, own = (one.name for one in Reading(short).bindings)
        assert taken != own


def test_a_var_is_known_in_all_of_its_function_and_in_no_other() -> None:
    script = "function go() { use(late); { var late = 1; } } function off() { use(late); } go(off);"
    short = shortened(script)
    assert "use(late)" in short
    assert short.count("late") == 1


def test_a_var_with_the_name_of_a_parameter_is_the_parameter() -> None:
    script = "use(function (wide) { var wide = wide || 2; return wide; });"
    assert shortened(script) == "use(function (e) { var e = e || 2; return e; });"


def test_a_default_of_a_parameter_does_not_see_what_the_body_declares() -> None:
    script = "const wide = 1; use((far = () => wide) => { const wide = 2; return far() + wide; });"
    short = "const e = 1; use((t = () => e) => { const e = 2; return t() + e; });"
    assert shortened(script) == short


def test_more_things_than_letters_get_two_letters_and_no_word_of_the_language() -> None:
    names = [f"long{number}" for number in range(2000)]
    script = "".join(f"let {one};" for one in names) + f"use({','.join(names)});"
    short = shortened(script)
    got = [one.name for one in Reading(short).bindings]
    assert len(set(got)) == 2000
    assert WORDS.isdisjoint(got)
    assert max(map(len, got)) == 2
    assert kinds(short) == kinds(script)


def test_letters_of_other_tongues_before_a_name_do_not_move_it() -> None:
    script = 'use("⌫ año"); const wide = 1; use(wide, "é");'
    assert shortened(script) == 'use("⌫ año"); const e = 1; use(e, "é");'


# --- what is not clear is left alone ---


@pytest.mark.parametrize(
    "script",
    [
        'const wide = 1; eval("wide");',
        "with (use()) { const wide = 1; use(wide); }",
        "const wide = ;",
        "if (use()) { function go() {} } const wide = 1;",
        "try {} catch (wide) { var wide = 1; } const far = 1;",
        "class Part { static { const wide = 1; } }",
        "const w\\u0069de = 1; use(wide);",
        "const wide = <p>{far}</p>;",
        "",
    ],
)
def test_where_anything_is_unclear_the_script_stays_as_it_was(script: str) -> None:
    assert shortened(script) == script


# --- our own scripts ---


@pytest.mark.parametrize("name", SHIPPED)
def test_a_script_of_ours_is_the_same_but_for_names(name: str) -> None:
    """Read by tree-sitter's grammar of JavaScript, which knows nothing of scopes."""
    script = rjsmin.jsmin(SHIPPED[name])
    short = shortened(script)
    assert len(short) < len(script), "nothing was renamed"
    assert kinds(short) == kinds(script)
    assert others(short) == others(script)
    assert Reading(short).free == Reading(script).free
    assert Reading(short).meaning() == Reading(script).meaning()


@pytest.mark.parametrize("name", SHIPPED)
def test_no_script_of_ours_asks_a_function_or_a_class_what_it_is_called(name: str) -> None:
    assert "constructor.name" not in SHIPPED[name]
    assert "new.target" not in SHIPPED[name]


def test_our_scripts_are_a_tenth_lighter_for_it() -> None:
    bare = [rjsmin.jsmin(script) for script in SHIPPED.values()]
    assert sum(map(len, map(shortened, bare))) < 0.9 * sum(map(len, bare))
