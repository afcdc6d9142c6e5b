"""The house stands as it is drawn, and each rule catches a breach planted on purpose."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

import pytest
from django.apps import apps

from tests import house

ROOT = Path(__file__).resolve().parents[1]


@cache
def files() -> tuple[str, ...]:
    """Every file that is, or is about to be, kept in the repository."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    names = sorted({name for name in listed.stdout.split("\0") if name})
    return tuple(name for name in names if (ROOT / name).is_file())


@cache
def rooms() -> frozenset[str]:
    return frozenset(
        name.split("/")[1] for name in files() if name.count("/") > 1 and in_shop(name)
    )


def in_shop(name: str) -> bool:
    return name.startswith("shop/") and name.endswith(".py")


def text(name: str) -> str:
    return (ROOT / name).read_text()


def test_the_top_level_holds_what_it_is_drawn_with() -> None:
    assert house.strays_at_the_top(files()) == []


def test_a_stray_at_the_top_is_caught() -> None:
    paths = ["shop/urls.py", ".ruff.toml", ".ci/run", "utils/odds.py", "notes.md"]
    assert house.strays_at_the_top(paths) == ["notes.md", "utils"]


def test_folders_bear_the_names_of_rooms() -> None:
    assert house.folders_of_no_room(files(), rooms()) == []


def test_a_folder_of_no_room_is_caught() -> None:
    paths = [
        "templates/base.html",
        "templates/drawing/head.svg",
        "static/floor/floor.css",
        "static/js/odds.js",
        "tests/helpers/odds.py",
    ]
    found = house.folders_of_no_room(paths, {"floor"})
    assert found == ["static/js", "tests/helpers"]


def test_rooms_are_entered_by_their_doors() -> None:
    breaches = [
        breach
        for name in files()
        if in_shop(name) and "/migrations/" not in name
        for breach in house.back_doors(name, text(name))
    ]
    assert breaches == []


@pytest.mark.parametrize(
    "line",
    [
        "from shop.floor.models import Step",
        "from shop.floor import models",
        "import shop.floor.models",
        "from shop import floor",
        "from ..floor.models import Step",
        "from ..floor import models as things",
        "def late():\n    from shop.stock.models import Bin",
        'apps.get_model("floor", "Step")',
        'apps.get_model("floor.Step")',
        'cursor.execute("UPDATE floor_step SET by = 1")',
        'cursor.execute("insert into stock_entry values (1)")',
    ],
)
def test_a_back_door_is_caught(line: str) -> None:
    assert house.back_doors("shop/bench/views.py", line)


@pytest.mark.parametrize(
    "line",
    [
        "from shop.floor import door, board",
        "from shop.floor.door import record",
        "from ..floor.door import record",
        "from shop.craft.route import may_start",
        "from shop.bench.forms import StepForm",
        'cursor.execute("SELECT id FROM floor_step")',
        '"The lead may update floor plans."',
    ],
)
def test_the_front_door_is_open(line: str) -> None:
    assert house.back_doors("shop/bench/views.py", line) == []


def test_a_room_is_open_to_itself() -> None:
    lines = 'from shop.floor.models import Step\ncursor.execute("DELETE FROM floor_step")'
    assert house.back_doors("shop/floor/door.py", lines) == []


def test_foreign_keys_go_down_only() -> None:
    keys = [
        (str(field), model._meta.app_label, field.related_model._meta.app_label)
        for model in apps.get_models(include_auto_created=True)
        for field in model._meta.get_fields()
        if field.concrete and field.is_relation and field.related_model
    ]
    assert any(here == "floor" for _, here, _ in keys), "the floor has no foreign keys at all"
    assert house.climbing_keys(keys, rooms()) == []


def test_a_foreign_key_that_climbs_or_stays_on_its_step_is_caught() -> None:
    keys = [
        ("Step.by", "floor", "people"),
        ("Bin.item", "stock", "catalogue"),
        ("Badge.groups", "people", "auth"),
        ("Step.after", "floor", "floor"),
        ("Bin.instrument", "stock", "floor"),
        ("Spec.by", "catalogue", "people"),
    ]
    rooms = {"floor", "stock", "catalogue", "people"}
    assert house.climbing_keys(keys, rooms) == [
        "Bin.instrument: stock to floor",
        "Spec.by: catalogue to people",
    ]


def test_paths_named_in_the_guide_exist() -> None:
    assert house.missing_paths(text("DEVELOPERS.md"), files()) == []


def test_a_path_that_is_gone_is_caught() -> None:
    guide = (
        "Rules live in `craft/fit/tuners.py`, settings in `shop/settings.py`, `shop/gone/`; "
        "see `README.md`, `old.md`, `@needs('step.record')`, `step.record`, `DATABASE_URL`."
    )
    paths = ["README.md", "shop/settings.py", "shop/craft/fit/tuners.py"]
    assert house.missing_paths(guide, paths) == ["old.md", "shop/gone/"]


def test_templates_hold_no_inline_code() -> None:
    found = {
        name: breaches
        for name in files()
        if name.startswith("templates/") and (breaches := house.inline_code(text(name)))
    }
    assert found == {}


@pytest.mark.parametrize(
    ("template", "what"),
    [
        ("<script>go()</script>", "a script inside the page"),
        ('<script type="module">\ngo()</script>', "a script inside the page"),
        ("<style>p { margin: 0 }</style>", "a style element"),
        ('<p class="a"\n style="margin: 0">', "a style attribute"),
        ('<button onclick="go()">', "an event attribute"),
        ('<button hx-on:click="go()">', "an event attribute"),
        ('<a href="javascript:go()">', "a script address"),
    ],
)
def test_inline_code_is_caught(template: str, what: str) -> None:
    assert house.inline_code(template) == [what]


def test_a_linked_script_is_no_inline_code() -> None:
    template = '<script type="module" src="{% static \'phone/scanner.js\' %}"></script>'
    assert house.inline_code(template) == []


def test_scripts_and_sheets_are_our_own() -> None:
    found = [
        sign
        for name in files()
        if name.startswith("static/")
        and Path(name).suffix in {".js", ".mjs", ".css", ".wasm", ".json"}
        for sign in house.foreign_script(name, "" if name.endswith(".wasm") else text(name))
    ]
    assert found == []


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("static/phone/reader.wasm", ""),
        ("static/style/grid.min.css", ""),
        ("static/vendor/zxing/es/share.js", "export {};"),
        ("static/phone/reader.js", "x" * 301),
        ("static/phone/reader.js", "/*! Reader 3.1, MIT */\nexport {};"),
        ("static/phone/reader.js", "//# sourceMappingURL=reader.js.map"),
    ],
)
def test_a_script_made_by_others_is_caught(path: str, source: str) -> None:
    assert house.foreign_script(path, source)
