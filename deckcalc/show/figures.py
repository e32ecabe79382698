"""How drawings of the job are made: legible in black and white, the same bytes for the same job."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable, Sequence
from contextvars import ContextVar
from typing import Any

import matplotlib
import matplotlib.text
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure

STYLE: Any = {
    "font.family": "DejaVu Sans", "font.size": 8.5, "axes.linewidth": 0.6, "lines.linewidth": 0.9, "hatch.linewidth": 0.5,
    "axes.spines.top": False, "axes.spines.right": False, "legend.frameon": False, "text.parse_math": False, "svg.hashsalt": "deckcalc",
}  # fmt: skip
#: Dots to an inch of a picture, and the width in inches of one as wide as the text.
DPI, WIDTH = 200, 6.6
HATCHES = ("", "////", "....", "xxxx", "----")
MARKS = ("o", "s", "^", "D", "v", "P")
#: `gid` of a text that is a symbol of a formula, such as “$h_d$”; no word of a job ever has it.
SYMBOL = "symbol"

#: How the texts of drawings are read where a document is made: its words, its decimal sign.
READING: ContextVar[Callable[[str], str]] = ContextVar("READING", default=str)


class Renderer(RendererAgg):
    """Draws and measures each text as it is read in the document."""

    def draw_text(self, gc: Any, x: float, y: float, s: str, *how: Any, **more: Any) -> None:
        """Draw a text."""
        super().draw_text(gc, x, y, READING.get()(s), *how, **more)

    def get_text_width_height_descent(self, s: str, prop: Any, ismath: Any) -> tuple[float, float, float]:
        """Return the size of a text as it is drawn."""
        return super().get_text_width_height_descent(READING.get()(s), prop, ismath)


class Canvas(FigureCanvasAgg):
    """The canvas of a picture."""

    own: Renderer | None = None

    def get_renderer(self) -> Renderer:
        """Return what draws, made anew when the picture has another size."""
        w, h = self.figure.bbox.size
        if self.own is None or (self.own.width, self.own.height, self.own.dpi) != (w, h, self.figure.dpi):
            self.own = Renderer(w, h, self.figure.dpi)
        return self.own


class Picture:
    """A figure with its caption; a notebook shows it, the package binds it."""

    def __init__(self, figure: Figure, caption: str) -> None:
        self.figure, self.caption = figure, caption

    @property
    def png(self) -> bytes:
        """The figure as PNG, the same bytes for the same job."""
        with matplotlib.rc_context(STYLE), io.BytesIO() as file:
            for written in self.figure.findobj(matplotlib.text.Text):
                written.set_parse_math(written.get_gid() == SYMBOL)  # names of the job are no mathematics
            Canvas(self.figure)
            self.figure.savefig(file, format="png", dpi=DPI, metadata={"Software": None})
            return file.getvalue()

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, str]:
        return {"text/plain": self.caption, "image/png": base64.b64encode(self.png).decode()}


def pages(items: Sequence[Any], most: int) -> list[Sequence[Any]]:
    """Return the items in groups, each small enough for the drawing of one page."""
    return [items[start : start + most] for start in range(0, len(items), most)]


def axes(width: float, height: float) -> tuple[Figure, Axes]:
    """Return a figure of that size in inches, with one set of axes."""
    figure = Figure(figsize=(width, height), layout="constrained")
    return figure, figure.add_subplot()


def measure(
    drawing: Axes, start: tuple[float, float], end: tuple[float, float], text: str, at: tuple[float, float]
) -> None:
    """Draw a dimension line between two points with its symbol, offset in points from its middle."""
    arrow: dict[str, Any] = {
        "arrowstyle": "<->",
        "linewidth": 0.6,
        "shrinkA": 0,
        "shrinkB": 0,
        "mutation_scale": 7,
    }
    drawing.annotate("", start, end, arrowprops=arrow)
    middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    drawing.annotate(
        f"${text}$",
        middle,
        xytext=at,
        textcoords="offset points",
        ha="center",
        va="center",
        parse_math=True,
        gid=SYMBOL,
    )
