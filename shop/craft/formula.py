"""A formula, with what a person needs to check it: symbols, source, a worked example.

Each formula of the shop is one function of plain numbers, declared as a formula where it
stands. Its page shows what is declared beside it and works the example anew with the same
function, so that the page cannot say another thing than the shop does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Final, Generic, ParamSpec

P = ParamSpec("P")

COMMON: Final = "common practice, no source"
"""The source of a formula or figure that benches share and nobody published."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """One letter of a formula: its sign, the argument it is, its words and its unit.

    The sign of the result has ``argument`` "".
    """

    sign: str
    argument: str
    words: str
    unit: str


@dataclass(frozen=True, slots=True)
class Formula(Generic[P]):
    """What stands on a formula's page, and the function that works it out."""

    key: str  # as in its address: "fret-place"
    title: str
    written: str  # "x = L · (1 − 2^(−n/12))"
    symbols: tuple[Symbol, ...]
    source: str
    given: dict[str, Any]  # the arguments of the worked example
    places: int  # decimals of its result
    reckon: Callable[P, float]
    # A template shows a formula; it does not work it out.
    do_not_call_in_templates: ClassVar[bool] = True

    @property
    def example(self) -> float:
        """The result of the worked example, worked out now."""
        result: float = self.reckon(**self.given)  # type: ignore[call-arg]
        return result

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> float:
        return self.reckon(*args, **kwargs)


def formula(
    key: str,
    title: str,
    written: str,
    *symbols: Symbol,
    source: str,
    given: dict[str, Any],
    places: int = 2,
) -> Callable[[Callable[P, float]], Formula[P]]:
    """Declare the function below as a formula.

    >>> @formula(
    ...     "double", "Twice a length", "b = 2 · a",
    ...     Symbol("a", "length_mm", "a length", "mm"),
    ...     Symbol("b", "", "twice it", "mm"),
    ...     source=COMMON, given={"length_mm": 1.5},
    ... )
    ... def double(length_mm: float) -> float:
    ...     return 2 * length_mm
    >>> double(2.0), double.example
    (4.0, 3.0)
    """

    def declared(reckon: Callable[P, float]) -> Formula[P]:
        return Formula(key, title, written, symbols, source, given, places, reckon)

    return declared
