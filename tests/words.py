"""All that is said to people, gathered: ``python -m tests.words gather`` brings the messages of
every language up to date, ``… missing PATH…`` prints, as JSON, what has no translation yet.

Templates and gettext calls are read as Django's own ``makemessages`` reads them. A sentence
that Python makes with figures in it is a message with places, named after what stands there:
``f"Ready {when(at)}."`` is ``Ready {when}.`` Words that are data of the code and not for people
are told apart by where they stand, and the rest of them are listed in ``NOT_SAID``.
"""

from __future__ import annotations

import ast
import io
import json
import re
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_python
from babel.messages.pofile import read_po, write_po

ROOT: Final = Path(__file__).resolve().parent.parent
LOCALE: Final = ROOT / "shop/locale"
LANGUAGES: Final = ("es",)
NOT_SAID: Final = ROOT / "tests/not_said.txt"
# Words of one piece that the code puts together or takes from data of its own.
ALSO_SAID: Final = ROOT / "tests/also_said.txt"
# Nothing there is said to whoever uses the shop: set-up, the database, the demo's own data, and
# commands, which speak to whoever looks after the machine.
UNSAID: Final = re.compile(
    r"shop/(settings|urls|wsgi)\.py|/migrations/|/demo/|/management/|shop/database/|(stock|floor)/guard\.py"
    r"|/chain\.py|/locale/|/apps\.py|/checks\.py|/following\.py|/verifying\.py"
    r"|phone/lan/(given|keeping|readying|authority)\.py"
    r"|paper/(plates|stamps|running|working|typesetting|templatetags/\w+)\.py"
)
GETTEXT: Final = {"_": None, "gettext": None, "gettext_lazy": None, "gettext_noop": None,
                  "named": None, "ngettext": (1, 2), "ngettext_lazy": (1, 2)}  # fmt: skip
# Their first argument is the name of a rule, not a word.
NAMED_FIRST: Final = {"stop", "warn", "note", "clear", "Finding", "rule"}
# What they raise is for whoever writes code.
FOR_CODERS: Final = {"TypeError", "KeyError", "ImproperlyConfigured", "NotImplementedError",
                     "RuntimeError", "AssertionError", "LookupError", "PermissionError",
                     "cast", "Literal", "TypeVar", "import_string"}  # fmt: skip
SENTENCE: Final = re.compile(r"[^\W\d_]{2,}[^\w]* [^\n]*[^\W\d_]|^[A-Z][a-z]+[.:]?$")
# Places and units: what is left without them is what has to be said in another language.
BARE: Final = re.compile(r"\{\w+\}|\b(?:mm|in|kg|g|N|h|min|s|RH|kB|MB)\b")
CODE: Final = re.compile(
    r"attachment; |inline; |default-src|paper/|<span|\(\?[:P]|"
    r"[a-z_]+\.[a-z_.]+$|M\{|.*[<>=]{2}|^[/.]|\\|^%|^text/|"
    r"SELECT |WITH [\w{]+[(}]|\w+ (?:AS )?MATERIALIZED|UPDATE |INSERT "
)


@dataclass(frozen=True, slots=True)
class Message:
    """One thing that is said, with where. ``plural`` is "" where it has none."""

    words: str
    plural: str
    where: str
    line: int


def messages(paths: Iterable[str] = ("shop", "templates")) -> dict[str, Message]:
    """Every message under these paths by its words, in the order of files."""
    unsaid = not_said()
    found: dict[str, Message] = {}
    for path in paths:
        at = ROOT / path
        for file in sorted(at.rglob("*")) if at.is_dir() else [at]:
            for one in _of(file):
                if one.words in found and one.plural and not found[one.words].plural:
                    found[one.words] = one
                elif one.words not in unsaid:
                    found.setdefault(one.words, one)
    if "shop" in paths:
        for one in (*_labels(), *_also()):
            found.setdefault(one.words, one)
    return found


def not_said() -> set[str]:
    """Words in the code that nobody is told, each for a reason that its place shows."""
    return {line for line in NOT_SAID.read_text().splitlines() if line and line[0] != "#"}


def _of(file: Path) -> Iterator[Message]:
    name = file.relative_to(ROOT).as_posix()
    if file.suffix in {".html", ".svg", ".txt", ".xml"} and name.startswith("templates/"):
        yield from _of_template(file, name)
    elif file.suffix == ".py" and not UNSAID.search(name):
        yield from _of_python(file, name)


def _of_template(file: Path, name: str) -> Iterator[Message]:
    from django.utils.translation.template import templatize

    text = templatize(file.read_text(), origin=name)
    # It is read as if it were Python, where a line's indent would mean something.
    lines = "\n".join(line.lstrip() for line in text.split("\n"))
    yield from _called(io.BytesIO(lines.encode()), name)


def _called(source: io.BytesIO, name: str) -> Iterator[Message]:
    found: Any = extract_python(source, GETTEXT, [], {})  # words are one or several
    for line, _function, words, _comments in found:
        one, *more = [words] if isinstance(words, str) else words or [""]  # "": a variable
        if one:
            yield Message(one, more[0] if more and more[0] else "", name, line)


def _of_python(file: Path, name: str) -> Iterator[Message]:
    tree = ast.parse(file.read_text())
    yield from _called(io.BytesIO(file.read_bytes()), name)
    skipped = set(_skipped(tree))
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.JoinedStr):
            words = _with_places(node)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            words = node.value
        else:
            continue
        words = words.strip()  # a piece of a longer one
        if SENTENCE.search(BARE.sub(" ", words)) and not CODE.match(words):
            yield Message(words, "", name, node.lineno)


def _skipped(tree: ast.AST) -> Iterator[int]:
    """The strings that are no words: documentation, names of rules, types, what coders read."""
    for node in ast.walk(tree):
        for part in _unsaid(node):
            yield from map(id, ast.walk(part))


def _unsaid(node: ast.AST) -> Iterator[ast.AST]:  # noqa: C901 one case a kind of code
    """The parts of one piece of code that hold no words."""
    match node:
        case ast.Expr(value=ast.Constant() as documentation):
            yield documentation
        case ast.Assign(targets=[ast.Name(id="__all__")]):
            yield node.value
        case ast.JoinedStr():
            for part in node.values:
                if isinstance(part, ast.Constant):
                    yield part
                elif isinstance(part, ast.FormattedValue) and part.format_spec:
                    yield part.format_spec
        case ast.Call():
            called = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if called in FOR_CODERS:
                yield from node.args
            elif called == "formula":  # its address, how it is written, its source: in any language
                yield from (node.args[0], node.args[2]) if len(node.args) > 2 else ()
                yield from (one.value for one in node.keywords if one.arg == "source")
            elif called == "Symbol":
                yield from (*node.args[:2], *node.args[3:])
            elif called in NAMED_FIRST and isinstance(node.func, ast.Name):
                yield from node.args[:1]
        case ast.AnnAssign(annotation=kind) | ast.arg(annotation=ast.expr() as kind):
            yield kind
        case ast.FunctionDef(returns=ast.expr() as kind):
            yield kind
        case ast.Subscript(value=ast.Name(id="Literal")):
            yield node.slice


def _with_places(node: ast.JoinedStr) -> str:
    """An f-string as a message: ``{name}`` for each place, the same name twice for one thing."""
    names: dict[str, str] = {}
    said = []
    for part in node.values:
        if isinstance(part, ast.Constant):
            said.append(str(part.value))
        elif isinstance(part, ast.FormattedValue):
            source = ast.unparse(part.value)
            if source not in names:
                name = wanted = _name(part.value)
                number = 2
                while name in names.values():
                    name, number = f"{wanted}{number}", number + 1
                names[source] = name
            said.append(f"{{{names[source]}}}")
    return "".join(said)


def _name(node: ast.expr) -> str:
    """What stands in a place, by the last name in its expression."""
    if isinstance(node, ast.Call):
        inner = [_name(one) for one in node.args if isinstance(one, ast.Name | ast.Attribute)]
        return inner[0] if inner and inner[0] != "it" else _name(node.func)
    if isinstance(node, ast.Attribute):
        return node.attr.strip("_") or "it"
    if isinstance(node, ast.Name):
        return node.id.strip("_") or "it"
    if isinstance(node, ast.Subscript):
        key = node.slice
        if (
            isinstance(key, ast.Constant)
            and isinstance(key.value, str)
            and key.value.isidentifier()
        ):
            return key.value
        return _name(node.value)
    return "it"


def _also() -> Iterator[Message]:
    for number, words in enumerate(ALSO_SAID.read_text().splitlines(), 1):
        if words and words[0] != "#":
            yield Message(words, "", "tests/also_said.txt", number)


def _labels() -> Iterator[Message]:
    """What the office pages call our tables and their fields, where Django makes the words."""
    import django
    from django.apps import apps

    django.setup()
    for room in apps.get_app_configs():
        if room.name.startswith("shop."):
            for model in room.get_models():
                names = [model._meta.verbose_name, model._meta.verbose_name_plural]
                names += [
                    field.verbose_name
                    for field in model._meta.get_fields()
                    if hasattr(field, "verbose_name")
                ]
                for words in names:
                    yield Message(str(words), "", f"{room.name}.models", 1)


def catalogue(language: str) -> Catalog:
    """The messages of a language as they are kept."""
    file = LOCALE / language / "LC_MESSAGES/django.po"
    if not file.exists():
        return Catalog(locale=language, domain="django", project="Heelcap")
    with file.open("rb") as source:
        return read_po(source, locale=language, domain="django")


def gather(language: str, more: Iterable[Path] = ()) -> Catalog:
    """The messages of a language with all that is said now and nothing that is not any more.
    ``more``: JSON files of translations to take over, words to words."""
    said: dict[str, tuple[str, ...]] = _kept(language)
    for file in more:
        given: dict[str, str | list[str]] = json.loads(file.read_text())
        for words, other in given.items():
            said[words] = (other,) if isinstance(other, str) else tuple(other)
    new = Catalog(locale=language, domain="django", project="Heelcap", fuzzy=False)
    for words, one in sorted(messages().items()):
        forms = said.get(words, ("",))
        at = [(one.where, one.line)]
        if one.plural:
            message = new.add((words, one.plural), (forms[0], forms[-1]), locations=at)
        else:
            message = new.add(words, forms[0], locations=at)
        if "%(" not in words:
            message.flags.discard("python-format")  # a % of so many is no place
    return new


def _kept(language: str) -> dict[str, tuple[str, ...]]:
    """What is said for each message now: one form, or one for each number."""
    return {
        one.id if isinstance(one.id, str) else one.id[0]: tuple(
            [one.string or ""] if isinstance(one.string, str | None) else map(str, one.string)
        )
        for one in catalogue(language)
        if one.id
    }


def write(language: str, new: Catalog) -> None:
    file = LOCALE / language / "LC_MESSAGES/django.po"
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("wb") as to:
        write_po(to, new, width=100, omit_header=False, include_lineno=False, sort_output=True)


def untranslated(language: str, found: dict[str, Message]) -> list[Message]:
    """Of these messages, those that are not said in this language, whole."""
    kept = _kept(language)
    return [one for words, one in found.items() if not all(kept.get(words, ("",)))]


def main(what: str, *paths: str) -> None:
    if what == "gather":
        for language in LANGUAGES:
            write(language, gather(language, map(Path, paths)))
    elif what == "missing":
        for language in LANGUAGES:
            rows = untranslated(language, messages(paths or ("shop", "templates")))
            told = {one.words: [one.plural, f"{one.where}:{one.line}"] for one in rows}
            sys.stdout.write(json.dumps(told, ensure_ascii=False, indent=0) + "\n")
    else:
        raise SystemExit("python -m tests.words gather [JSON…] | missing [PATH…]")


if __name__ == "__main__":
    import os

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    main(*sys.argv[1:])
