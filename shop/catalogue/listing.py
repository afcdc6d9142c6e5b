"""Items as rows of a list: what each column says of an item, and what is wrong with it.

The columns are those all items have and, behind them, the measures of every family. A row
says only those of its own family.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from functools import reduce
from operator import and_
from typing import Any, Final, TypeAlias, cast

from django.core.exceptions import ValidationError
from django.db import models as fields
from django.db.models import CheckConstraint, Q

from shop.catalogue.models import CHILD_OF, PARTS, Item, Spec, SpecRevision
from shop.craft import cell
from shop.craft.hardware import Family
from shop.craft.words import listed

Field: TypeAlias = "fields.Field[Any, Any]"

SHARED: Final = ("family", "key", "name", "metal", "obsolete", "tolerances")
PART_OF: Final = {part.family_is: part for part in PARTS}

# What a rule of a family's table says where a row breaks it; those that want a number above
# zero say so by themselves.
BROKEN: Final = {
    "tuners_some_machines": ("left", "A set has machines left, right or both. Give their number."),
    "tuners_peghead_range": ("peghead_max_mm", "It lies under peghead_min_mm. Swap the two."),
    "tuners_bushing_has_od": ("bushing_od_mm", "A bushing has a diameter. Give it, or no bushing."),
    "tail_grip_range": ("grip_max_mm", "It lies under grip_min_mm. Swap the two."),
}


class NoItem(Exception):
    """The row says no item that can be; column and words of everything that is wrong."""

    def __init__(self, *faults: tuple[str, str]) -> None:
        self.faults = faults


def _measures(part: type[Item]) -> dict[str, Field]:
    """What this family adds, by column."""
    return {one.name: one for one in part._meta.local_fields if not one.is_relation}


def _columns(part: type[Item]) -> dict[str, Field]:
    """Every column a row of this family may fill, beside its family and its key."""
    shared = {name: cast("Field", part._meta.get_field(name)) for name in SHARED[2:]}
    return shared | _measures(part)


ITEM_COLUMNS: Final = (*SHARED, *dict.fromkeys(name for part in PARTS for name in _measures(part)))


def items_as_they_are() -> dict[str, Item]:
    """Every item with its measures, by key, in one statement."""
    rows = Item.objects.select_related(*CHILD_OF.values())
    return {row.key: getattr(row, CHILD_OF[row.family]) for row in rows}


def item_cells(item: Item) -> tuple[object, ...]:
    """What each of ``ITEM_COLUMNS`` says of an item; nothing where it is of another family."""
    own = {"family", "key", *_columns(type(item))}
    return tuple(getattr(item, name) if name in own else None for name in ITEM_COLUMNS)


def item_said(cells: Mapping[str, str], known: Item | None) -> tuple[Item, tuple[str, ...]]:
    """The item a row says, not kept yet, and in words what becomes other of the one known.

    A column that is not there leaves what is known; an empty cell empties what may be empty,
    and leaves the rest as it is or usually is. Raises ``NoItem``.
    """
    part = PART_OF[_family(cells, known)]
    item = copy.copy(known) if known else part(key=cells["key"])
    columns, faults = _columns(part), []
    for name, text in cells.items():
        if name in columns:
            try:
                setattr(item, name, _value(columns[name], text, getattr(item, name)))
            except cell.NotSo as why:
                faults.append((name, str(why)))
        elif text and name not in {"family", "key"}:
            words = f"{_of(part)} has no {name}. Leave the cell empty."
            faults.append((name, words))
    changes = _changes(item, known, columns)
    if known is None or changes:
        wrong = {name for name, _ in faults}
        faults += [one for one in _against(item, columns) if one[0] not in wrong]
    if faults:
        raise NoItem(*faults)
    return item, changes


def _family(cells: Mapping[str, str], known: Item | None) -> Family:
    said = cells["family"].casefold()
    found = next((one for one in Family if said in {one.value, one.words}), None)
    if found is None:
        words = f"No such family. Write one of {listed([one.value for one in Family])}."
        raise NoItem(("family", words))
    if known and known.family != found.value:
        raise NoItem(
            ("family", f"{known.key} is of {known.family}. Give the new item its own key.")
        )
    return found


def _of(part: type[Item]) -> str:
    return f"The family {part.family_is.value}"


def _value(field: Field, text: str, now: Any) -> Any:
    """What a cell says of this field. Raises ``NotSo``."""
    if not text:
        if field.null:
            return None
        return "" if field.blank and isinstance(field, fields.CharField) else now
    if field.choices:
        return _choice(field, text)
    if isinstance(field, fields.BooleanField):
        return cell.yes(text)
    if isinstance(field, fields.DecimalField):
        return cell.exact(text)
    if isinstance(field, fields.IntegerField):
        return cell.whole(text, least=0, most=32_767)
    return cell.words(text, cast("int", field.max_length))


def _choice(field: Field, text: str) -> str:
    choices = cast("list[tuple[str, str]]", field.flatchoices)
    for value, words in choices:
        if text.casefold() in {value.casefold(), words.casefold()}:
            return value
    known = listed([value for value, _ in choices])
    raise cell.NotSo(f"{cell.quoted(text)} is not known. Write one of {known}.")


def _against(item: Item, columns: Mapping[str, Field]) -> Iterator[tuple[str, str]]:
    """What keeps an item from being kept: column and words."""
    empty = [
        name
        for name, field in columns.items()
        if getattr(item, name) in {None, ""} and not (field.null or field.blank)
    ]
    for name in empty:
        yield name, f"It is missing. {_of(type(item))} has one."
    try:
        pointers = {one.name for one in item._meta.fields if one.is_relation}
        item.full_clean(
            exclude={*pointers, *empty}, validate_unique=False, validate_constraints=False
        )
    except ValidationError as told:
        for name, messages in told.message_dict.items():
            yield name, " ".join(messages)
        return
    if not empty:
        yield from _broken(item)


def _broken(item: Item) -> Iterator[tuple[str, str]]:
    """The rules of its table that the row breaks. The database answers: first all of them in
    one statement, which is enough for a row that breaks none."""
    part = type(item)
    rules = [one for one in part._meta.constraints if isinstance(one, CheckConstraint)]
    if not rules or _holds(part, item, reduce(and_, (one.condition for one in rules), Q())):
        return
    for one in rules:
        if not _holds(part, item, one.condition):
            yield BROKEN.get(one.name) or _not_positive(part, one.name)


def _holds(part: type[Item], item: Item, condition: Any) -> bool:
    try:
        CheckConstraint(condition=condition, name="asked").validate(part, item)
    except ValidationError:
        return False
    return True


def _not_positive(part: type[Item], rule: str) -> tuple[str, str]:
    name = next(name for name in _measures(part) if rule.endswith(f"_{name}_positive"))
    return name, "It is above zero. Give the true figure."


def _changes(item: Item, known: Item | None, columns: Mapping[str, Field]) -> tuple[str, ...]:
    if known is None:
        return ()
    pairs = ((name, getattr(item, name), getattr(known, name)) for name in columns)
    return tuple(f"{name} {_said(now)}, was {_said(was)}" for name, now, was in pairs if now != was)


def _said(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "empty" if value in {None, ""} else str(value)


def used_in(item_ids: Sequence[int]) -> list[SpecRevision]:
    """The drafts and open revisions whose kits name one of these items, or have it approved."""
    named = Q(kit__lines__item__in=item_ids) | Q(kit__lines__substitutes__in=item_ids)
    used = SpecRevision.objects.filter(named, state__in=["draft", "open"])
    return list(used.select_related("spec").distinct())


def spec_ids(keys: Sequence[str]) -> dict[str, int]:
    return dict(Spec.objects.filter(key__in=keys).values_list("key", "pk"))
