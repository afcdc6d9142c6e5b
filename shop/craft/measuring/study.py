"""How far a gauge can be believed: several people measure the same parts several times each.

A crossed study. Its analysis of variance tells what lies in the parts, what in the gauge
itself (the same person, the same part, again: repeatability) and what in the hands that hold
it (another person: reproducibility). Where a person does not read some parts otherwise than
the rest (interaction, p above 0.25), the interaction counts as repeatability.

Method, the level for pooling and the limits of 10 and 30 % for its judgement: AIAG,
Measurement Systems Analysis, 4th ed. (2010), ch. III, ANOVA method, two-way random model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import sqrt
from typing import Final, Literal

from shop.craft.finding import Finding, note, stop, warn
from shop.craft.formula import Symbol, formula
from shop.craft.words import THIN, several

Values = Sequence[Sequence[Sequence[float | Decimal]]]
"""What was measured, ``values[part][person][trial]``, all in one unit."""

Source = Literal["part", "person", "interaction", "repeat"]

POOL_ABOVE: Final = 0.25
GOOD_PCT: Final = 10.0
DOUBTFUL_PCT: Final = 30.0
LEAST: Final = 2  # of parts, people and trials
USUAL_PARTS: Final = 10
SPREADS: Final = 6  # standard deviations that are set against a tolerance
LEAST_DISTINCT: Final = 5
CITED: Final = "AIAG, Measurement Systems Analysis, 4th ed. (2010)"


@formula(
    "gauge-reproducibility",
    "Spread between people",
    "s = √((MSₚ − MSₑ) / (n · r)), 0 where that is negative",
    Symbol("MSₚ", "ms_people", "mean square between people", "mm²"),
    Symbol("MSₑ", "ms_error", "mean square of the error it is held against", "mm²"),
    Symbol("n", "parts", "parts in the study", ""),
    Symbol("r", "trials", "times each person measured each part", ""),
    Symbol("s", "", "standard deviation between people", "mm"),
    source=f"{CITED}, ANOVA method",
    given={"ms_people": 1.58363, "ms_error": 0.03997, "parts": 10, "trials": 3},
    places=4,
)
def between_people(ms_people: float, ms_error: float, parts: int, trials: int) -> float:
    """Standard deviation between people, from the mean squares.

    >>> round(between_people(1.58363, 0.03997, 10, 3), 4)
    0.2268
    """
    return sqrt(max(ms_people - ms_error, 0.0) / (parts * trials))


@formula(
    "gauge-tolerance-share",
    "Share of a tolerance that a gauge takes up",
    "p = 100 · 6 · s / T",
    Symbol("s", "sd", "standard deviation of the gauge, people and all", "mm"),
    Symbol("T", "tolerance", "whole width of the tolerance", "mm"),
    Symbol("p", "", "share of the tolerance", "%"),
    source=CITED,
    given={"sd": 0.302373, "tolerance": 8.0},
)
def tolerance_share(sd: float, tolerance: float) -> float:
    """Six standard deviations in per cent of a tolerance's whole width.

    >>> round(tolerance_share(0.302373, 8.0), 2)
    22.68
    """
    return 100 * SPREADS * sd / tolerance


@formula(
    "gauge-distinct",
    "Kinds of part that a gauge can tell apart",
    "n = 1.41 · sₚ / s",
    Symbol("sₚ", "sd_parts", "standard deviation between parts", "mm"),
    Symbol("s", "sd_gauge", "standard deviation of the gauge, people and all", "mm"),
    Symbol("n", "", "kinds of part, whole ones count", ""),
    source=CITED,
    given={"sd_parts": 1.042327, "sd_gauge": 0.302373},
    places=3,
)
def distinct(sd_parts: float, sd_gauge: float) -> float:
    """How many kinds of part can be told apart, before it is cut to a whole number.

    >>> round(distinct(1.042327, 0.302373), 2)
    4.86
    """
    return 1.41 * sd_parts / sd_gauge


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the analysis of variance.

    ``df`` are degrees of freedom, ``ss`` and ``ms`` sum and mean of squares; ``f`` and ``p``
    are ``None`` where there is nothing to hold it against.
    """

    source: Source
    df: int
    ss: float
    ms: float
    f: float | None = None
    p: float | None = None


@dataclass(frozen=True, slots=True)
class Study:
    """What a crossed study came to; standard deviations in the unit that was measured in.

    ``rows`` are the analysis with its interaction, ``pooled`` whether that was counted as
    repeatability after. ``tolerance`` is the whole width of what is allowed, if any is.
    """

    parts: int
    people: int
    trials: int
    rows: tuple[Row, ...]
    pooled: bool
    sd_repeat: float
    sd_people: float  # reproducibility: people, and people with parts where that is kept
    sd_parts: float
    tolerance: float | None = None

    @property
    def sd_gauge(self) -> float:
        """Repeatability and reproducibility together."""
        return sqrt(self.sd_repeat**2 + self.sd_people**2)

    @property
    def sd_total(self) -> float:
        return sqrt(self.sd_gauge**2 + self.sd_parts**2)

    @property
    def study_pct(self) -> float:
        """The gauge's spread in per cent of all the spread that was seen."""
        return 100 * self.sd_gauge / self.sd_total if self.sd_total else 0.0

    @property
    def contribution_pct(self) -> float:
        """The gauge's part of the variance, in per cent."""
        return 100 * (self.sd_gauge / self.sd_total) ** 2 if self.sd_total else 0.0

    @property
    def tolerance_pct(self) -> float | None:
        """Six of its standard deviations in per cent of the tolerance."""
        return tolerance_share(self.sd_gauge, self.tolerance) if self.tolerance else None

    @property
    def kinds(self) -> int | None:
        """How many kinds of part it tells apart; ``None`` where no two readings differed."""
        return int(distinct(self.sd_parts, self.sd_gauge)) if self.sd_gauge else None

    @property
    def judged_pct(self) -> float:
        """What it is judged by: its share of the tolerance, or of the spread without one."""
        share = self.tolerance_pct
        return self.study_pct if share is None else share

    @property
    def finding(self) -> Finding:
        """Whether it will do, in words."""
        return judged(self)


def lacking(values: Values) -> tuple[str, ...]:
    """Why this is no study yet, a sentence each; nothing where it is one.

    >>> lacking([[[1.0, 1.1], [1.0, 1.0]]])
    ('1 part. A study needs 2 or more.',)
    """
    said = []
    people = {len(part) for part in values}
    trials = {len(cell) for part in values for cell in part}
    for count, noun in ((len(values), "part"), (min(people, default=0), "person")):
        if count < LEAST:
            said.append(f"{_counted(count, noun)}. A study needs {LEAST} or more.")
    if min(trials, default=0) < LEAST:
        least = several(min(trials, default=0), "reading")
        said.append(f"{least} of some part by some person. Each measures each part twice or more.")
    if len(people) > 1 or len(trials) > 1:
        said.append("Every person measures every part as often as the others do.")
    return tuple(said)


def study(values: Values, tolerance: float | None = None) -> Study:
    """The analysis of a study. ``tolerance``: whole width of what is allowed.

    Raises ``ValueError`` for what :func:`lacking` speaks of.
    """
    if told := lacking(values):
        raise ValueError(" ".join(told))
    parts, people, trials = len(values), len(values[0]), len(values[0][0])
    rows = _rows(values)
    of_part, of_person, of_both, of_repeat = rows
    pooled = of_both.p is None or of_both.p > POOL_ABOVE
    if pooled:
        error = (of_both.ss + of_repeat.ss) / (of_both.df + of_repeat.df)
        repeat, interaction = error, 0.0
    else:
        error, repeat = of_both.ms, of_repeat.ms
        interaction = max(of_both.ms - of_repeat.ms, 0.0) / trials
    alone = between_people(of_person.ms, error, parts, trials)
    return Study(
        parts=parts,
        people=people,
        trials=trials,
        rows=rows,
        pooled=pooled,
        sd_repeat=sqrt(repeat),
        sd_people=sqrt(alone**2 + interaction),
        sd_parts=sqrt(max(of_part.ms - error, 0.0) / (people * trials)),
        tolerance=tolerance,
    )


def judged(found: Study) -> Finding:
    """Whether a gauge will do: under 10 % it does, up to 30 % it may, beyond it does not."""
    share = f"{found.judged_pct:.1f}{THIN}%"
    if found.tolerance:
        words = f"The gauge takes up {share} of the tolerance."
    else:
        words = f"The gauge makes {share} of the spread that was seen."
    if found.judged_pct < GOOD_PCT:
        return note("GR1", words, "Use it.")
    then = (
        "Most of it is the gauge itself: clean it, check its zero, try a finer one."
        if found.sd_repeat >= found.sd_people
        else "Most of it is between people: agree how it is held and read, then measure again."
    )
    if found.judged_pct <= DOUBTFUL_PCT:
        return warn("GR1", words, then)
    return stop("GR1", words, then)


def _rows(values: Values) -> tuple[Row, Row, Row, Row]:
    """Parts, people, both together, repeats: sums of squares about their means.

    Worked in fractions of the figures as they were written: readings that repeat exactly
    leave exactly nothing, whatever their size.
    """
    read = [[[Fraction(str(one)) for one in cell] for cell in part] for part in values]
    parts, people, trials = len(read), len(read[0]), len(read[0][0])
    cells = [[sum(cell) / Fraction(trials) for cell in part] for part in read]
    by_part = [sum(part) / Fraction(people) for part in cells]
    by_person = [sum(part[one] for part in cells) / Fraction(parts) for one in range(people)]
    mean = sum(by_part) / Fraction(parts)
    ss_part = people * trials * sum((one - mean) ** 2 for one in by_part)
    ss_person = parts * trials * sum((one - mean) ** 2 for one in by_person)
    ss_both = trials * sum(
        (cells[i][j] - by_part[i] - by_person[j] + mean) ** 2
        for i in range(parts)
        for j in range(people)
    )
    ss_repeat = sum(
        (one - cells[i][j]) ** 2
        for i, part in enumerate(read)
        for j, cell in enumerate(part)
        for one in cell
    )
    df_part, df_person = parts - 1, people - 1
    df_both, df_repeat = df_part * df_person, parts * people * (trials - 1)
    return (
        _row("part", df_part, ss_part, df_both, ss_both),
        _row("person", df_person, ss_person, df_both, ss_both),
        _row("interaction", df_both, ss_both, df_repeat, ss_repeat),
        Row("repeat", df_repeat, float(ss_repeat), float(ss_repeat) / df_repeat),
    )


def _row(
    source: Source, df: int, ss: Fraction | int, df_error: int, ss_error: Fraction | int
) -> Row:
    if not ss_error:  # nothing to hold it against: surely more than nothing, or nothing too
        return Row(source, df, float(ss), float(ss) / df, None, 0.0 if ss else None)
    ratio = float(Fraction(ss) / df / (Fraction(ss_error) / df_error))
    # Slow to import, and only wanted where it is asked for.
    from scipy.stats import f as f_distribution

    p = float(f_distribution.sf(ratio, df, df_error))
    return Row(source, df, float(ss), float(ss) / df, ratio, p)


def _counted(count: int, noun: str) -> str:
    """
    >>> _counted(0, "person"), _counted(1, "part")
    ('0 people', '1 part')
    """
    if noun == "person" and count != 1:
        return f"{count} people"
    return several(count, noun)
