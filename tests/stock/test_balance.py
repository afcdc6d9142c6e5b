"""Whatever happens on the shelf in whatever order, the ledger balances."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from shop.stock import ledger, shelf
from shop.stock.ledger import OutOfStep
from shop.stock.models import Lot, Movement, Tray, TrayLine
from tests.floor.morning import NOW, undone
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db

KEYS = st.sampled_from(["T03", "T10", "P04"])
QUANTITIES = st.integers(1, 5)
WHICH = st.integers(0, 9)
TURNS = st.lists(
    st.one_of(
        st.tuples(st.just("receive"), KEYS, QUANTITIES, WHICH),
        st.tuples(st.just("promise"), WHICH, QUANTITIES),
        st.tuples(st.just("ask"), st.dictionaries(KEYS, QUANTITIES, min_size=1)),
        st.tuples(st.just("put in"), WHICH, st.lists(st.none() | KEYS, min_size=3, max_size=3)),
        st.tuples(st.just("close"), WHICH),
        st.tuples(st.just("quarantine"), KEYS, QUANTITIES, WHICH),
        st.tuples(st.just("give up"), WHICH),
    ),
    max_size=14,
)
CORNER = {"T03": 6, "T10": 6, "P04": 10}


class Shelf:
    """The corner played through, with a count beside it that knows nothing of the ledger."""

    def __init__(self, corner: Corner) -> None:
        self.corner = corner
        self.here: Counter[str] = Counter(CORNER)
        self.trays: list[Tray] = []

    def play(self, turn: tuple[Any, ...]) -> None:
        name, *rest = turn
        getattr(self, name.replace(" ", "_"))(*rest)

    def receive(self, key: str, quantity: int, lot: int) -> None:
        on = date(2031, 1, 1) + timedelta(days=lot)
        self.corner.receive(key, quantity, on, f"L{lot}", f"Y-{lot}")
        self.here[key] += quantity

    def promise(self, which: int, quantity: int) -> None:
        lots = list(Lot.objects.filter(item__key__in=CORNER).order_by("pk"))
        lot = lots[which % len(lots)]
        try:
            with transaction.atomic():
                ledger.promise(lot.pk, quantity, NOW, "orders to come")
        except IntegrityError:
            assert lot.on_hand - lot.reserved < quantity
        except OutOfStep:
            assert lot.held
        else:
            assert not lot.held

    def quarantine(self, key: str, quantity: int, which: int) -> None:
        corner, name = self.corner, f"off Y-{which}"
        ledger.quarantine(corner.items[key], quantity, name, "scrapped", corner.clerk, NOW)
        self.here[key] += quantity

    def give_up(self, which: int) -> None:
        if not self.trays:
            return
        tray = self.trays[which % len(self.trays)]
        closed = Tray.objects.get(pk=tray.pk).state == "closed"
        try:
            ledger.give_up_tray(tray.pk, self.corner.clerk, NOW)
        except OutOfStep:
            assert closed
        else:
            assert not closed

    def ask(self, wanted: dict[str, int]) -> None:
        self.trays.append(self.corner.ask(**wanted))

    def put_in(self, which: int, got: list[str | None]) -> None:
        if not self.trays:
            return
        tray = self.trays[which % len(self.trays)]
        lines = list(TrayLine.objects.filter(tray=tray))
        picks = [
            ledger.PutIn(line.pk, self.corner.items[key] if key else None)
            for line, key in zip(lines, got, strict=False)
        ]
        closed = Tray.objects.get(pk=tray.pk).state == "closed"
        refused = ""
        try:
            ledger.put_in(tray.pk, picks)
        except OutOfStep as why:
            refused = str(why)
        if refused:
            assert closed or self._of_two_baths(got, refused)
        else:
            assert not closed

    @staticmethod
    def _of_two_baths(got: list[str | None], told: str) -> bool:
        """What went in lies here from more lots than one, and two shades are told of."""
        keys = [key for key in got if key]
        lots = Lot.objects.filter(item__key__in=keys).count()
        return "two shades" in told and len(keys) > 1 and lots > 1

    def close(self, which: int) -> None:
        if not self.trays:
            return
        tray = self.trays[which % len(self.trays)]
        held = list(
            TrayLine.objects.filter(tray=tray, state="taken").values_list("put_in__key", "quantity")
        )
        ready = Tray.objects.get(pk=tray.pk).state == "picked" and not shelf.not_covered(tray.pk)
        try:
            self.corner.close(tray)
        except OutOfStep:
            assert not ready, "what was covered before the close was refused at the close"
        else:
            assert ready, "what was not covered before the close went through"
            for key, quantity in held:
                self.here[key] -= quantity


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@example(
    turns=[
        ("receive", "T03", 1, 0),
        ("ask", {"T03": 1, "T10": 1, "P04": 1}),
        ("put in", 0, ["T03", None, "T03"]),  # from two baths
    ]
)
@given(turns=TURNS)
def test_the_ledger_balances_whatever_happens_in_whatever_order(
    corner: Corner, turns: list[tuple[Any, ...]]
) -> None:
    with undone():
        played = Shelf(corner)
        for turn in turns:
            played.play(turn)
            assert shelf.unbalanced() == []
            lots = Lot.objects.filter(item__key__in=CORNER)
            assert all(0 <= lot.reserved <= lot.on_hand for lot in lots)
        found: Counter[str] = Counter()
        for key, on_hand in lots_of_the_corner():
            found[key] += on_hand
        assert found == played.here
        for tray in played.trays:
            taken = TrayLine.objects.filter(tray=tray, state="taken")
            closed = Tray.objects.get(pk=tray.pk).state == "closed"
            left = sum(line.quantity for line in taken) if closed else 0
            assert corner.deducted(tray) == left
            assert not (closed and kept_for(tray))


def lots_of_the_corner() -> list[tuple[str, int]]:
    return list(Lot.objects.filter(item__key__in=CORNER).values_list("item__key", "on_hand"))


def kept_for(tray: Tray) -> int:
    """What the tray still has reserved, by its movements."""
    return sum(Movement.objects.filter(tray=tray).values_list("reserved", flat=True))
