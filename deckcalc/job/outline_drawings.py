"""Closed polylines and circles of a DXF, read by a general library as data: nothing in it is run."""

from __future__ import annotations

import io
import math
from collections import Counter
from typing import Any

import numpy as np

from deckcalc.core.units import InputError, clipped
from deckcalc.job.outline_files import MOST_PARTS, Drawn, Line, bounded, library
from deckcalc.patch.inputs.survey import factor

#: Arcs are drawn as chords that lie at most so far inside them: metres.
FLAT = 0.002
#: No outline is larger: metres.
LARGEST = 1000.0
#: Units that a drawing may name in its head, by $INSUNITS.
DRAWING_UNITS = {
    1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 10: "yd", 14: "dm", 21: "survey_foot",
}  # fmt: skip


def dxf(data: bytes, unit: str, layers: list[str]) -> Drawn:
    """Read closed polylines and circles of the layers named, or of all; the unit is the drawing's, or the one given."""
    document = drawing(data)
    found = Drawn("DXF")
    code = int(document.header.get("$INSUNITS", 0)) if b"$INSUNITS" in data else 0  # the library fills in metres
    named = DRAWING_UNITS.get(code, "")
    if not unit and not named:
        raise InputError(
            f": the drawing names no unit that is known ($INSUNITS is {code}); say it with --unit, for instance --unit m"
        )
    found.metres = factor(unit or named)
    found.notes.append(f"One unit of the drawing is 1 {(unit or named).replace('_', ' ')}" + (
        f", as told; the drawing itself says {named}." if unit and named and factor(unit) != factor(named)
        else ", as told." if unit else ", as the drawing says."
    ))  # fmt: skip
    parts = list(document.modelspace())
    if len(parts) > MOST_PARTS:
        raise InputError(f": {len(parts)} parts, wanted at most {MOST_PARTS}; export the layer of the outlines alone")
    there = Counter(part.dxf.layer for part in parts)
    off = {one.dxf.name.casefold() for one in document.layers if one.is_off() or one.is_frozen()}
    told = [
        f"{clipped(layer)} ({there[layer]} part{'s' * (there[layer] > 1)}{', not shown' * (layer.casefold() in off)})"
        for layer in sorted(there)
    ]
    found.notes.append(f"Layers: {', '.join(told)}.")
    wanted = {layer.casefold() for layer in layers}
    for layer in layers:
        if layer.casefold() not in map(str.casefold, there):
            raise InputError(
                f": nothing is on a layer “{clipped(layer)}”; there are {', '.join(map(clipped, sorted(there)))}"
            )
    other = Counter[tuple[str, str]]()
    for part in parts:
        if wanted and part.dxf.layer.casefold() not in wanted:
            key = (f"layer {clipped(part.dxf.layer)}", "another layer than asked for")
        elif not outline_of(found, part):
            key = (
                f"{part.dxftype()}, layer {clipped(part.dxf.layer)}",
                "not read; draw it as a closed polyline if meant",
            )
        else:
            continue
        other[key] += 1
    found.left_out += [(f"{count} of {what}", why) for (what, why), count in other.items()]
    return found


def drawing(data: bytes) -> Any:
    """Return the drawing that a DXF text is."""
    ezdxf = library("ezdxf")
    from ezdxf.filemanagement import dxf_stream_info

    if b"\0" in data[:4096]:
        raise InputError(": a binary drawing; save it as a DXF text")
    try:
        encoding = dxf_stream_info(io.StringIO(data.decode("latin-1"))).encoding
        return ezdxf.read(io.StringIO(data.decode(encoding, "surrogateescape")))
    except MemoryError:
        raise
    except Exception as error:  # of many classes, by what is broken
        raise InputError(f": no DXF that can be read: {clipped(error, 120)}; save it again as a DXF text") from None


def outline_of(found: Drawn, part: Any) -> bool:
    """Take a polyline or a circle of a drawing; whether it is one."""
    from ezdxf.path import make_path

    kind, layer = part.dxftype(), part.dxf.layer
    what = f"{kind} {part.dxf.handle}, layer {clipped(layer)}"
    if kind not in ("LWPOLYLINE", "POLYLINE", "CIRCLE"):
        return False
    if kind == "POLYLINE" and not (part.is_2d_polyline or part.is_3d_polyline):
        return False
    try:
        within_reach(part, what, found.metres)
        path = make_path(part)
        xy = np.array([(v.x, v.y) for v in path.flattening(FLAT / found.metres)]).reshape(-1, 2)
    except InputError as error:
        found.take(Line(what, np.zeros((1, 2)), layer=layer, fault=str(error)), closed=True)
        return True
    except (ValueError, ArithmeticError, TypeError, AttributeError) as error:
        found.take(
            Line(what, np.zeros((1, 2)), layer=layer, fault=f"cannot be read: {clipped(error, 80)}"), closed=True
        )
        return True
    if len(xy) < 2:
        found.left_out.append((what, "fewer than two points"))
        return True
    if (
        path.has_curves
        and (said := f"Arcs are drawn as chords at most {FLAT * 1000:g} mm ({FLAT / factor('in'):.2f} in) inside them.")
        not in found.notes
    ):
        found.notes.append(said)
    closed = kind == "CIRCLE" or part.is_closed or bool(np.allclose(xy[0], xy[-1], rtol=0, atol=1e-6 / found.metres))
    if len(xy) > 1 and np.allclose(xy[0], xy[-1], rtol=0, atol=1e-6 / found.metres):
        xy = xy[:-1]
    found.take(Line(what, xy, layer=layer), closed)
    return True


def within_reach(part: Any, what: str, metres: float) -> None:
    """Refuse what is no place on a deck, before its arcs are drawn as chords."""
    if part.dxftype() == "CIRCLE":
        reach = [part.dxf.radius]
    else:
        vertices = (
            list(part.get_points("xyb"))
            if part.dxftype() == "LWPOLYLINE"
            else [(*vertex.dxf.location.vec2, vertex.dxf.get("bulge", 0.0)) for vertex in part.vertices]
        )
        bounded(np.empty((len(vertices), 2)), what)
        next_ones = vertices[1:] + vertices[:1]
        reach = [math.dist(a[:2], b[:2]) * max(abs(a[2]), 1.0) for a, b in zip(vertices, next_ones, strict=True)]
    if not all(math.isfinite(x) and x * metres <= LARGEST for x in reach):
        raise InputError("larger than any deck; is the unit of the drawing right?")
