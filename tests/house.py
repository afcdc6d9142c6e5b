"""The rules of the house as pure functions: each takes what there is and returns the breaches."""

from __future__ import annotations

import ast
import re
from collections.abc import Collection, Iterable, Iterator
from pathlib import PurePosixPath
from typing import Final

TOP: Final = {
    "README.md", "DEVELOPERS.md", "manage.py", "requirements.txt",
    "shop", "templates", "static", "tests",
}  # fmt: skip

# Folders beside those named after rooms.
EXTRA_FOLDERS: Final = {
    "templates": {"drawing", "admin"},
    "static": {"vendor", "style", "icons", "pictures"},
    "tests": {"browser", "bench"},
}

# A room is entered through these files only. Rooms without models have no need of doors.
DOORS: Final = {
    "floor": {"door", "board", "tags", "photos"},
    "stock": {"ledger", "shelf"},
    "catalogue": {"revising", "book"},
    "people": {"badges", "roles", "gate", "languages", "fresh"},
}

# Foreign keys go to a lower step. What Django brings is the ground.
STEPS: Final = {"people": 1, "catalogue": 1, "stock": 2, "floor": 3}
SCREENS: Final = 4

SQL_WRITE: Final = re.compile(
    r"\b(?:INSERT\s+INTO|UPDATE|DELETE\s+FROM)\s+[\"'`]?(floor|stock|catalogue|people)_",
    re.IGNORECASE,
)


def strays_at_the_top(paths: Iterable[str]) -> list[str]:
    """Names at the top level that do not belong there; dotfiles are the tools' settings."""
    tops = {PurePosixPath(path).parts[0] for path in paths}
    return sorted(top for top in tops if top not in TOP and not top.startswith("."))


def folders_of_no_room(paths: Iterable[str], rooms: Collection[str]) -> list[str]:
    """Folders of templates, static and tests that bear the name of no room."""
    found = set()
    for path in paths:
        parts = PurePosixPath(path).parts
        if len(parts) > 2 and parts[0] in EXTRA_FOLDERS:
            known = {*rooms, *EXTRA_FOLDERS[parts[0]]}
            if parts[1] not in known:
                found.add(f"{parts[0]}/{parts[1]}")
    return sorted(found)


def back_doors(path: str, source: str) -> list[str]:
    """What a file of ``shop`` takes from inside another room, past its doors."""
    own = PurePosixPath(path).parts[1]
    tree = ast.parse(source)
    found = [
        f"{path}: {module}"
        for module in _imported(path, tree)
        if (inside := _room_and_file(module)) and _is_back_door(own, *inside)
    ]
    return found + [f"{path}: {breach}" for breach in _tables_touched(own, tree)]


def _imported(path: str, tree: ast.AST) -> Iterator[str]:
    """Every module or name imported anywhere in a file, dotted and absolute."""
    package = PurePosixPath(path).parent.parts
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else ()
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield from (f"{base}.{name.name}" for name in node.names)


def _room_and_file(module: str) -> tuple[str, str] | None:
    parts = module.split(".")
    if parts[0] != "shop" or len(parts) < 2 or parts[1] not in DOORS:
        return None
    return parts[1], parts[2] if len(parts) > 2 else ""


def _is_back_door(own: str, room: str, file: str) -> bool:
    return room != own and file not in DOORS[room]


def _tables_touched(own: str, tree: ast.AST) -> Iterator[str]:
    """Another room's tables reached by the registry or by SQL of one's own."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _called(node) == "get_model":
            for argument in node.args[:1]:
                if not (isinstance(argument, ast.Constant) and isinstance(argument.value, str)):
                    continue
                name = argument.value
                room = name.split(".")[0]
                if room in DOORS and room != own:
                    yield f"get_model of {name}"
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            written = SQL_WRITE.search(node.value)
            if written and written[1].lower() != own:
                yield f"SQL that writes {written[1]}"


def _called(call: ast.Call) -> str:
    if isinstance(call.func, ast.Attribute):
        return call.func.attr
    return call.func.id if isinstance(call.func, ast.Name) else ""


def climbing_keys(keys: Iterable[tuple[str, str, str]], rooms: Collection[str]) -> list[str]:
    """Foreign keys, as (name, from room, to room), that do not go down."""
    return [
        f"{name}: {here} to {there}"
        for name, here, there in keys
        if here in rooms and there in rooms and here != there and _step(there) >= _step(here)
    ]


def _step(room: str) -> int:
    return STEPS.get(room, SCREENS)


def missing_paths(guide: str, paths: Iterable[str]) -> list[str]:
    """Paths that a guide names in backticks and that are not there, as such or under shop."""
    there: set[str] = set()
    for path in paths:
        there.add(path)
        there.update(str(parent) for parent in PurePosixPath(path).parents)
    named = re.findall(r"`([\w.-]+(?:/[\w.-]+)*/?)`", guide)
    looks_like_path = re.compile(r"/|\.(?:py|md|txt|js|css|html|svg|json)$")
    return sorted(
        {
            name
            for name in named
            if looks_like_path.search(name)
            and not {name.rstrip("/"), f"shop/{name.rstrip('/')}"} & there
        }
    )


INLINE: Final = {
    "a script inside the page": re.compile(r"<script(?![^>]*\bsrc\s*=)[^>]*>", re.IGNORECASE),
    "a style element": re.compile(r"<style\b", re.IGNORECASE),
    "a style attribute": re.compile(r"<[a-z][^>]*\sstyle\s*=", re.IGNORECASE),
    "an event attribute": re.compile(r"<[a-z][^>]*\s(?:on[a-z]+|hx-on[:\w-]*)\s*=", re.IGNORECASE),
    "a script address": re.compile(r"=\s*[\"']?\s*javascript:", re.IGNORECASE),
}


def inline_code(template: str) -> list[str]:
    """What the content security policy would refuse in a template."""
    return [what for what, pattern in INLINE.items() if pattern.search(template)]


def foreign_script(path: str, source: str) -> list[str]:
    """Signs that a file under static was made by others and only copied here."""
    name = PurePosixPath(path)
    signs = []
    if name.suffix == ".wasm" or name.name.endswith((".min.js", ".min.css")):
        signs.append("built elsewhere")
    if path.startswith("static/vendor/") and name.name not in {"package.json", "package-lock.json"}:
        signs.append("a vendor's file")
    if name.suffix in {".js", ".mjs", ".css"}:
        if any(len(line) > 300 for line in source.splitlines()):
            signs.append("minified")
        if re.search(r"/\*!|@license|sourceMappingURL", source):
            signs.append("a vendor's banner")
    return [f"{path}: {sign}" for sign in signs]
