"""Anything is done at the shelf, in any order, and the ledger holds.

Beside it a model of its own keeps count in plain numbers. It knows what may be done and what
that moves; which lot a line is kept of is the ledger's choice, and the model judges that.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import ClassVar

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from shop.stock import ledger, shelf
from shop.stock.ledger import OutOfStep
from shop.stock.models import Lot, Tray, TrayLine
from tests.floor.morning import NOW, undone
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db

KEYS = ["T03", "T10", "P04"]
ITEM = st.sampled_from(KEYS)
FEW = st.integers(1, 4)
WHICH = st.integers(0, 5)
OPERATIONS = ["N60", "A30"]
TOLD: Counter[tuple[str, str]] = Counter()
"""How often each move was made and refused, over all walks."""


@dataclass
class Pile:
    """A lot as the model counts it."""

    key: str
    on_hand: int = 0
    reserved: int = 0
    out: int = 0
    held: bool = False

    @property
    def free(self) -> int:
        return self.on_hand - self.reserved


@dataclass
class Want:
    """A line of a tray."""

    key: str
    quantity: int
    operation: str
    kept_of: int | None = None  # the lot it is kept of
    state: str = "open"
    got: str = ""
    out_of: int | None = None  # the lot that was put in
    checked: bool = False
    fitted: int = 0

    @property
    def rest(self) -> int:
        return self.quantity - self.fitted


@dataclass
class Box:
    """A tray."""

    number: int
    wants: dict[int, Want] = field(default_factory=dict)
    closed: bool = False


class Shelf(RuleBasedStateMachine):
    """The corner of the shelf, and a clerk who does anything."""

    corner: ClassVar[Corner]

    def __init__(self) -> None:
        super().__init__()
        self._undone = undone()
        self._undone.__enter__()
        self.at = NOW
        self.boxes: list[Box] = []
        self.piles = {
            one.pk: Pile(one.item.key, one.on_hand)
            for one in Lot.objects.filter(item__key__in=KEYS).select_related("item")
        }

    def teardown(self) -> None:
        self._undone.__exit__(None, None, None)

    # --- one move ---

    def made(self, name: str, expected: bool, move: Callable[[], object]) -> bool:
        """Make the move; it must be refused, in a sentence, just where it is expected to be."""
        self.at += timedelta(minutes=1)
        refused = ""
        try:
            move()
        except OutOfStep as why:
            refused = str(why)
        TOLD[name, "refused" if refused else "done"] += 1
        assert bool(refused) != expected, f"{name}: {refused or 'it went through'}"
        assert not refused or refused.endswith(".")
        return expected

    def box(self, which: int) -> Box | None:
        return self.boxes[which % len(self.boxes)] if self.boxes else None

    def want(self, which: int, line: int) -> tuple[Box, int, Want] | None:
        box = self.box(which)
        if box is None:
            return None
        numbers = sorted(box.wants)
        number = numbers[line % len(numbers)]
        return box, number, box.wants[number]

    def kept(self, box: Box, *numbers: int) -> None:
        """See of which lot the ledger keeps for these lines, and count it so."""
        for number in numbers:
            line, want = TrayLine.objects.get(pk=number), box.wants[number]
            if not line.reserved:
                assert not self.could_cover(want), f"{want} is kept nowhere"
                continue
            assert line.reserved == want.quantity, "a line is kept whole or not at all"
            assert line.reserved_lot_id is not None
            pile = self.piles[line.reserved_lot_id]
            assert pile.key == want.key
            assert not pile.held, "kept of a lot that is held"
            assert pile.free >= want.quantity, "kept of what is not free"
            pile.reserved += want.quantity
            want.kept_of = line.reserved_lot_id

    def could_cover(self, want: Want) -> bool:
        return any(
            one.key == want.key and not one.held and one.free >= want.quantity
            for one in self.piles.values()
        )

    def given_back(self, want: Want) -> None:
        if want.kept_of is not None:
            self.piles[want.kept_of].reserved -= want.quantity
            want.kept_of = None

    # --- lots ---

    @rule(key=ITEM, quantity=FEW, lot=WHICH)
    def receive(self, key: str, quantity: int, lot: int) -> None:
        on = date(2031, 1, 1) + timedelta(days=lot)
        number = self.corner.receive(key, quantity, on, f"L{lot}", f"Y-{lot}")
        self.piles.setdefault(number, Pile(key)).on_hand += quantity

    @rule(which=WHICH)
    def hold(self, which: int) -> None:
        number = sorted(self.piles)[which % len(self.piles)]
        pile, by = self.piles[number], self.corner.clerk
        if self.made("hold", not pile.held, lambda: ledger.hold(number, "Spotted", by, self.at)):
            pile.held = True

    @rule(which=WHICH)
    def free(self, which: int) -> None:
        held = [number for number, one in sorted(self.piles.items()) if one.held]
        number = (held or sorted(self.piles))[which % len(held or self.piles)]
        pile, by = self.piles[number], self.corner.clerk
        if self.made("free", pile.held, lambda: ledger.free(number, "Looked at", by, self.at)):
            pile.held = False

    @rule(key=ITEM, quantity=FEW, which=WHICH)
    def set_apart(self, key: str, quantity: int, which: int) -> None:
        by, name = self.corner.clerk, f"off Y-{which}"
        number = ledger.quarantine(self.corner.items[key], quantity, name, "Scrap", by, self.at)
        pile = self.piles.setdefault(number, Pile(key))
        pile.on_hand, pile.held = pile.on_hand + quantity, True

    @rule(which=WHICH, fewer=st.integers(0, 3))
    def promise(self, which: int, fewer: int) -> None:
        number = sorted(self.piles)[which % len(self.piles)]
        pile = self.piles[number]
        if pile.free <= fewer:
            return
        some = pile.free - fewer
        move = lambda: ledger.promise(number, some, self.at, "orders to come")  # noqa: E731
        if self.made("promise", not pile.held, move):
            pile.reserved += some

    # --- trays ---

    @initialize()
    def two_trays(self) -> None:
        """There is something to do from the first move on: one closed, one to check."""
        self.ask({"T03": 2, "T10": 1}, "A30")
        self.fill(0)
        self.ask({"P04": 3, "T03": 1}, "N60")
        self.put_in(1, ["own", "own"])

    @rule(
        wanted=st.dictionaries(ITEM, FEW, min_size=1),
        operation=st.sampled_from(OPERATIONS),
    )
    def ask(self, wanted: dict[str, int], operation: str) -> None:
        asks = [
            ledger.Ask(self.corner.items[key], quantity, operation if place else OPERATIONS[0])
            for place, (key, quantity) in enumerate(wanted.items())
        ]
        serial = f"Y-{len(self.boxes)}"
        tray = ledger.ask_tray(
            serial, self.corner.revision, NOW.date(), asks, self.corner.clerk, self.at
        )
        box = Box(tray.pk)
        for line in tray.lines.select_related("item"):
            box.wants[line.pk] = Want(line.item.key, line.quantity, line.used_at)
        self.boxes.append(box)
        self.kept(box, *box.wants)

    @rule(which=WHICH, got=st.lists(st.sampled_from(["own", "own", "own", "none", *KEYS])))
    def put_in(self, which: int, got: list[str]) -> None:
        box = self.box(which)
        if box is None or not got:
            return
        pairs = list(zip(sorted(box.wants), got, strict=False))
        keys = {n: box.wants[n].key if what == "own" else what for n, what in pairs}
        picks = [
            ledger.PutIn(n, None if key == "none" else self.corner.items[key])
            for n, key in keys.items()
        ]
        fine = not box.closed and not any(box.wants[n].fitted for n in keys)
        if not self.made("put in", fine, lambda: ledger.put_in(box.number, picks)):
            return
        for number, key in keys.items():
            want, line = box.wants[number], TrayLine.objects.get(pk=number)
            want.state, want.checked = ("short" if key == "none" else "taken"), False
            want.got, want.out_of = ("" if key == "none" else key), line.lot_id
            if line.lot_id is not None:
                pile = self.piles[line.lot_id]
                assert (pile.key, pile.held) == (key, False), "taken of a wrong lot, or a held one"
                assert line.lot_id == want.kept_of or pile.free >= want.quantity

    @rule(which=WHICH, line=WHICH, more=st.sampled_from([0, 0, 0, 0, 1]))
    def check(self, which: int, line: int, more: int) -> None:
        box = self.box(which)
        if box is None:
            return
        ready = [n for n, one in box.wants.items() if one.state == "taken" and not one.checked]
        numbers = sorted(ready or box.wants)
        number = numbers[line % len(numbers)]
        want = box.wants[number]
        fine = not box.closed and want.state == "taken" and not more
        count, by = want.quantity + more, self.corner.clerk
        if self.made("check", fine, lambda: ledger.check_line(number, "count", count, by, self.at)):
            want.checked = True

    @rule(which=WHICH)
    def check_and_close(self, which: int) -> None:
        if box := self.box(which):
            for number, want in box.wants.items():
                if not box.closed and want.state == "taken" and not want.checked:
                    ledger.check_line(number, "count", want.quantity, self.corner.clerk, self.at)
                    want.checked = True
            self.close(which)

    @rule(which=WHICH)
    def fill(self, which: int) -> None:
        """All that it wants goes in, and it is closed."""
        if box := self.box(which):
            self.put_in(which, ["own"] * len(box.wants))
            self.check_and_close(which)

    @rule(which=WHICH)
    def close(self, which: int) -> None:
        box = self.box(which)
        if box is None:
            return
        by = self.corner.clerk
        fine = self.may_close(box)
        if not self.made("close", fine, lambda: ledger.close_tray(box.number, by, self.at)):
            return
        box.closed = True
        for want in box.wants.values():
            self.given_back(want)
        for want in box.wants.values():
            if want.out_of is not None and want.state == "taken":
                pile = self.piles[want.out_of]
                pile.on_hand, pile.out = pile.on_hand - want.rest, pile.out + want.rest

    def may_close(self, box: Box) -> bool:
        """Every line is picked and checked, and each lot can give what was taken of it."""
        wants = box.wants.values()
        if box.closed or any(one.state == "open" for one in wants):
            return False
        taken = [one for one in wants if one.state == "taken" and one.rest]
        if any(not (one.checked or one.fitted) or one.out_of is None for one in taken):
            return False
        room = {number: one.free for number, one in self.piles.items()}
        for one in wants:
            if one.kept_of is not None:
                room[one.kept_of] += one.quantity
        for one in taken:
            assert one.out_of is not None
            room[one.out_of] -= one.rest
            if self.piles[one.out_of].held:
                return False
        return all(left >= 0 for number, left in room.items() if self._touched(box, number))

    def _touched(self, box: Box, number: int) -> bool:
        return any(one.out_of == number and one.rest for one in box.wants.values())

    @rule(which=WHICH)
    def open_again(self, which: int) -> None:
        box = self.box(which)
        if box is None:
            return
        by = self.corner.clerk
        if not self.made("open", box.closed, lambda: ledger.open_tray(box.number, by, self.at)):
            return
        box.closed = False
        for want in box.wants.values():
            if want.state == "taken" and want.rest and want.out_of is not None:
                pile = self.piles[want.out_of]
                pile.on_hand, pile.out = pile.on_hand + want.rest, pile.out - want.rest
                pile.reserved += want.rest
                want.kept_of = want.out_of

    @rule(which=WHICH, operation=st.sampled_from([*OPERATIONS, None]))
    def fit(self, which: int, operation: str | None) -> None:
        """What lies in a closed tray is fitted once, however often it is said."""
        box = self.box(which)
        if box is None:
            return
        fitted = ledger.consume(box.number, operation, self.corner.clerk, self.at)
        expected = Counter[str]()
        for want in box.wants.values():
            if not box.closed or want.state != "taken" or want.out_of is None:
                continue
            if operation in (None, want.operation) and want.rest:
                expected[want.got] += want.rest
                self.piles[want.out_of].out -= want.rest
                want.fitted += want.rest
        found = Counter[str]()
        for one in fitted:
            found[one.key] += one.quantity
        assert found == expected
        TOLD["fit", "done" if fitted else "refused"] += 1

    @rule(which=WHICH)
    def give_up(self, which: int) -> None:
        box = self.box(which)
        if box is None:
            return
        by = self.corner.clerk
        fine = not box.closed
        if self.made("give up", fine, lambda: ledger.give_up_tray(box.number, by, self.at)):
            box.closed = True
            for want in box.wants.values():
                self.given_back(want)
                if not want.fitted:
                    want.state, want.got, want.out_of = "short", "", None

    # --- lines ---

    @rule(which=WHICH, line=WHICH, first=st.integers(0, 4))
    def split(self, which: int, line: int, first: int) -> None:
        found = self.want(which, line)
        if found is None:
            return
        box, number, want = found
        fine = not box.closed and want.state != "taken" and 1 <= first < want.quantity
        by = self.corner.clerk
        if self.made("split", fine, lambda: ledger.split_line(number, first, by, self.at)):
            self.given_back(want)
            new = TrayLine.objects.filter(tray=box.number).latest("pk").pk
            box.wants[new] = Want(want.key, want.quantity - first, want.operation)
            want.quantity, want.state = first, "open"
            self.kept(box, number, new)

    @rule(which=WHICH, line=WHICH, into=ITEM)
    def swap(self, which: int, line: int, into: str) -> None:
        found = self.want(which, line)
        if found is None or any(one.key == into for one in found[0].wants.values()):
            return
        box, _, want = found
        them = {n: one for n, one in box.wants.items() if one.key == want.key}
        fine = not box.closed and all(one.state != "taken" for one in them.values())
        out_id, in_id = self.corner.items[want.key], self.corner.items[into]
        by = self.corner.clerk
        if self.made(
            "swap", fine, lambda: ledger.swap_line(box.number, out_id, in_id, by, self.at)
        ):
            for one in them.values():
                self.given_back(one)
                one.key, one.state = into, "open"
            self.kept(box, *them)

    @rule(which=WHICH, line=WHICH)
    def let_go(self, which: int, line: int) -> None:
        found = self.want(which, line)
        if found is None:
            return
        _, number, want = found
        by = self.corner.clerk
        fine = want.state != "taken"
        if self.made("let go", fine, lambda: ledger.let_go([number], by, self.at, "sooner")):
            self.given_back(want)

    # --- what holds after every move ---

    @invariant()
    def the_counts_are_those_of_the_model(self) -> None:
        lots = Lot.objects.filter(pk__in=self.piles).order_by("pk")
        found = {one.pk: (one.on_hand, one.reserved, one.out, bool(one.held)) for one in lots}
        mine = {n: (p.on_hand, p.reserved, p.out, p.held) for n, p in self.piles.items()}
        assert found == dict(sorted(mine.items()))

    @invariant()
    def nothing_free_is_below_none(self) -> None:
        assert all(one.free >= 0 and one.out >= 0 for one in self.piles.values())

    @invariant()
    def every_tray_stands_as_in_the_model(self) -> None:
        for box in self.boxes:
            closed = Tray.objects.values_list("state", flat=True).get(pk=box.number) == "closed"
            assert closed == box.closed
        lines = TrayLine.objects.filter(tray__in=[one.number for one in self.boxes])
        mine = {n: want for box in self.boxes for n, want in box.wants.items()}
        assert {one.pk: (one.quantity, one.state, one.reserved, one.fitted) for one in lines} == {
            n: (one.quantity, one.state, one.quantity if one.kept_of else 0, one.fitted)
            for n, one in mine.items()
        }

    @invariant()
    def the_ledger_is_proved(self) -> None:
        faults: list[str] = []
        shelf.prove(faults.append)
        assert faults == []
        assert shelf.unbalanced() == []


def test_the_ledger_holds_whatever_is_done_at_the_shelf(corner: Corner) -> None:
    Shelf.corner = corner
    TOLD.clear()
    run_state_machine_as_test(
        Shelf,
        settings=settings(
            max_examples=25,
            stateful_step_count=40,
            deadline=None,
            derandomize=True,  # so that each kind of move is known to come up
            phases=[Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink],
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
        ),
    )
    moves = {"hold", "put in", "check", "close", "open", "fit", "let go", "promise"}
    assert {name for name, result in TOLD if result == "done"} >= moves
