"""Drawings of figures over time, as SVG that a page may hold as it stands.

What is drawn is told in plain values: panels one below the other over one axis, each with
rows of values, levels and bands. The SVG carries no style of its own, which the pages'
policy would refuse: inks are classes (``static/desk/plots.css``), so that it follows light,
dark and forced colours and prints black; words stay words, in the page's own type; the same
values give the same text, to the letter. 360 units wide, it can be read on a phone.
"""

from __future__ import annotations

import io
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, Final, Literal

from django.utils.safestring import SafeString

from shop.desk.plain_svg import INKS, Ink, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Dot = Literal["", "disc", "ring", "square", "triangle"]
Xs = Sequence[float] | Sequence[datetime]

WIDTH: Final = 360.0
PANEL: Final = 220.0  # high, the words above it within
LEFT, RIGHT, ABOVE, BELOW = 58.0, 8.0, 50.0, 46.0
TYPE: Final = 17.0  # at this width no word on a phone is under 16 px
LONGEST: Final = 34  # letters of a line above a panel
MARKERS: Final[dict[Dot, str]] = {
    "": "",
    "disc": "o",
    "ring": "o",
    "square": "s",
    "triangle": "^",
}


@dataclass(frozen=True, slots=True)
class Row:
    """Values along the axis: joined by a line, or standing alone as dots of some shape.

    Raises ``ValueError`` where there is not one value for each place.
    """

    xs: Xs
    ys: Sequence[float]
    ink: Ink = "ink"
    joined: bool = True
    dot: Dot = ""
    large: bool = False

    def __post_init__(self) -> None:
        if len(self.xs) != len(self.ys):
            raise ValueError(f"{len(self.ys)} values at {len(self.xs)} places")


@dataclass(frozen=True, slots=True)
class Level:
    """A line across at one value, with its words above its right end, or its left one."""

    y: float
    words: str = ""
    ink: Ink = "faint"
    dashed: bool = True
    left: bool = False


@dataclass(frozen=True, slots=True)
class Band:
    """A shaded band between two values, or between two places along the axis."""

    low: float | datetime
    high: float | datetime
    ink: Ink = "clear"
    upright: bool = False  # between two places along the axis


@dataclass(frozen=True, slots=True)
class Panel:
    """One field of a drawing; its words, with the unit, stand above it."""

    words: str
    rows: Sequence[Row]
    levels: Sequence[Level] = ()
    bands: Sequence[Band] = ()
    share: float = 1.0  # of a field's usual height
    shown: tuple[float, float] | None = None  # a bottom that stands, a top that is at least this


def drawing(name: str, title: str, panels: Sequence[Panel], along: str = "") -> SafeString:
    """The panels as one SVG element. ``name`` sets its ids apart from those of others on the
    page, ``title`` is what is read out in its place, ``along`` the words of the axis.

    Places along the axis are numbers, or moments with a time zone, shown in that of the first.
    """
    figure, high = _figure(panels, along)
    written = io.BytesIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    figure.savefig(written, format="svg", metadata=nothing, transparent=True)
    return SafeString(plain(written.getvalue(), name, title, f"0 0 {WIDTH:g} {high:g}"))


def _figure(panels: Sequence[Panel], along: str) -> tuple[Figure, float]:
    """The figure and how high it is."""
    # Loaded by the first who wants a drawing: it takes seconds, and most never want one.
    import matplotlib as mpl
    from matplotlib.figure import Figure

    mpl.rcParams.update({"svg.fonttype": "none", "svg.hashsalt": "heelcap", "font.size": TYPE})
    heights = [PANEL * one.share for one in panels]
    high = sum(heights) + BELOW
    figure = Figure(figsize=(WIDTH / 72, high / 72), dpi=72)
    first: Axes | None = None
    top = high
    for at, (panel, height) in enumerate(zip(panels, heights, strict=True)):
        box = (
            LEFT / WIDTH,
            (top - height + 12) / high,
            (WIDTH - LEFT - RIGHT) / WIDTH,
            (height - ABOVE - 12) / high,
        )
        axes = figure.add_axes(box, sharex=first)
        first = first or axes
        _draw(axes, panel)
        is_last = at == len(panels) - 1
        axes.tick_params(axis="x", labelbottom=is_last)
        if is_last and along:
            axes.set_xlabel(along, color=INKS["faint"], labelpad=2)
        top -= height
    return figure, high


def _draw(axes: Axes, panel: Panel) -> None:
    from matplotlib.ticker import MaxNLocator

    words = textwrap.fill(panel.words, LONGEST)
    axes.set_title(words, loc="left", fontsize=TYPE, color=INKS["ink"], pad=8)
    for name, spine in axes.spines.items():
        spine.set_visible(name in {"left", "bottom"})
        spine.set_color(INKS["faint"])
    axes.tick_params(color=INKS["faint"], labelcolor=INKS["faint"], labelsize=TYPE)
    axes.yaxis.set_major_locator(MaxNLocator(4))
    axes.ticklabel_format(axis="y", useOffset=False)
    for band in panel.bands:
        span: Any = axes.axvspan if band.upright else axes.axhspan
        span(band.low, band.high, facecolor=INKS[band.ink], edgecolor="none", alpha=0.16)
    for row in panel.rows:
        _row(axes, row)
    _along(axes, panel)
    for level in panel.levels:
        style = (0, (5, 3)) if level.dashed else "solid"
        axes.axhline(level.y, color=INKS[level.ink], linewidth=1, linestyle=style)
        axes.annotate(
            level.words,
            (0 if level.left else 1, level.y),
            xycoords=("axes fraction", "data"),
            xytext=(3 if level.left else -2, 3),
            textcoords="offset points",
            ha="left" if level.left else "right",
            color=INKS[level.ink],
            fontsize=TYPE,
            bbox={"facecolor": INKS["paper"], "edgecolor": "none", "pad": 0.5},
        )
    axes.margins(y=0.16)
    if panel.shown:
        bottom, top = panel.shown
        axes.set_ylim(bottom, max(top, axes.get_ylim()[1]))


def _row(axes: Axes, row: Row) -> None:
    colour = INKS[row.ink]
    xs: Any = list(row.xs)
    axes.plot(
        xs,
        list(row.ys),
        color=colour,
        linewidth=1.4,
        linestyle="solid" if row.joined else "none",
        marker=MARKERS[row.dot] or None,
        markersize=9 if row.large else 4.5,
        markerfacecolor=INKS["paper"] if row.dot == "ring" and not row.large else colour,
        markeredgecolor=colour,
        markeredgewidth=1.4,
        fillstyle="none" if row.large else "full",
    )


def _along(axes: Axes, panel: Panel) -> None:
    """Marks along the axis: whole numbers, or days and hours."""
    from matplotlib.dates import AutoDateLocator, num2date
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    moments = [x for row in panel.rows for x in row.xs if isinstance(x, datetime)]
    if not moments:
        axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
        return
    zone = moments[0].tzinfo
    spread = max(moments) - min(moments)
    pattern = "%H:%M" if spread <= timedelta(days=1) else "%m-%d"

    def words(number: float, _at: int) -> str:
        moment: datetime = num2date(number, tz=zone)  # type: ignore[no-untyped-call]
        return moment.strftime(pattern)

    locator = AutoDateLocator(tz=zone, minticks=3, maxticks=5)  # type: ignore[no-untyped-call]
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(FuncFormatter(words))
    ends: Any = (min(moments), max(moments) + spread / 50)
    axes.set_xlim(*ends)
