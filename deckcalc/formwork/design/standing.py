"""Where on the deck a form stands: its parts in plan, and what keeps a hole from having one of the kind that is laid out here."""

from __future__ import annotations

from typing import Any, NamedTuple

import shapely
from shapely import affinity

from deckcalc.core import units
from deckcalc.core.units import Length
from deckcalc.formwork.design.forms import FormDesign, Forms, si
from deckcalc.formwork.formulas.girders import Flange, Span, clashes, free_strips
from deckcalc.patch.design.location import NOISE, girder_names
from deckcalc.patch.design.marking import rules_of

#: Parts that lie above the deck; all others lie or stand below it.
ABOVE = ("strongback", "block")


class Part(NamedTuple):
    """A part of a form in plan: a rectangle in metres from a corner of the hole, x along its length L, y along its width B."""

    kind: str
    number: int
    x_1: float
    y_1: float
    x_2: float
    y_2: float

    @property
    def name(self) -> str:
        """What it is called."""
        return f"{self.kind} {self.number}" if self.number else self.kind

    @property
    def shape(self) -> Any:
        """It as a polygon."""
        return shapely.box(self.x_1, self.y_1, self.x_2, self.y_2)


def places(s: float, o: float, n: int) -> list[float]:
    """Return positions of supports across a width."""
    return [o + i * s for i in range(n + 1)]


def parts(form: FormDesign) -> list[Part]:
    """Return soffit, joists and what carries them, above and below."""
    lap, rules, found = form.rules.lap, form.rules, form.found
    wide = {"joist": si(form.joist.breadth, "m") / 2, form.carrier_part: si(form.carrier.breadth, "m") / 2}
    joists, carriers = places(form.s_b, form.o_b, found.n_b), places(form.s_a, form.o_a, found.n_a)
    end = rules.clear + rules.bearing if form.hanger is not None else lap
    made = [Part("soffit", 0, -lap, -lap, form.a + lap, form.b + lap)]
    made += [
        Part("joist", i, -lap, q - wide["joist"], form.a + lap, q + wide["joist"]) for i, q in enumerate(joists, 1)
    ]
    half = wide[form.carrier_part]
    made += [Part(form.carrier_part, i, p - half, -end, p + half, form.b + end) for i, p in enumerate(carriers, 1)]
    if form.hanger is not None:
        hung, points, half = "hanger", joists, si(form.hanger.plate, "m") / 2
        made += [
            Part("block", 0, p - wide["strongback"], q, p + wide["strongback"], q + rules.bearing)
            for p in carriers
            for q in (-end, form.b + rules.clear)
        ]
    else:
        assert form.shore
        hung, points = "shore", places(form.s_p, form.o_p, found.n_p)
        half = max(si(form.shore.breadth, "m"), si(form.shore.depth, "m")) / 2
    spots = [(p, q) for p in carriers for q in points]
    made += [Part(hung, i, p - half, q - half, p + half, q + half) for i, (p, q) in enumerate(spots, 1)]
    if form.found.turned:  # joists run along the width
        made = [Part(one.kind, one.number, one.y_1, one.x_1, one.y_2, one.x_2) for one in made]
    return made


def outline(forms: Forms, name: str) -> Any:
    """Return the repair limits of a hole, station and offset in metres."""
    return forms.patches[name].marked.piece.outline


def on_deck(forms: Forms, name: str, shape: Any) -> Any:
    """Return a shape, given from a corner of its hole, as it lies on the deck: station and offset in metres."""
    sides, middle = forms.patches[name].limits, outline(forms, name).centroid
    moved = affinity.translate(shape, middle.x - si(sides.L, "m") / 2, middle.y - si(sides.B, "m") / 2)
    return affinity.rotate(moved, rules_of(forms.patches.context).turn, origin=middle, use_radians=True)


def flanges(forms: Forms) -> list[Flange]:
    """Return the flanges of the girders, by offset."""
    plan = forms.patches.inputs.plan
    half = (plan.flange_width or 0.0) / 2
    return [Flange(name, y - half, y + half) for name, y in zip(girder_names(plan), sorted(plan.girders), strict=True)]


def not_here(forms: Forms, name: str) -> str | None:
    """Return why no form of the kind that is laid out here fits the place of a hole; None where it does."""
    one, lap = forms.patches[name], forms.limit("form_lap").value
    where, reach = one.location, si(lap, "m")
    L, B, hole = si(one.limits.L, "m"), si(one.limits.B, "m"), outline(forms, name)
    show = lambda metres: units.show_at_most(forms.length(metres), Length, forms.system)  # noqa: E731
    if abs(hole.area - L * B) > 1e-6 + NOISE * (L + B):
        return "it is no rectangle, being cut off at the joint or the kerb"
    if where.in_overhang:
        return "it lies in an overhang: what the cantilever beside the open hole carries, and its free edge, want their own design"
    below = on_deck(forms, name, shapely.box(-reach, -reach, L + reach, B + reach))
    _, low, _, high = below.bounds
    met = clashes([Span("soffit", low, high)], flanges(forms))
    if met:
        named = " and ".join(dict.fromkeys(clash.girder for clash in met))
        over = (
            f"it lies over {named}" if where.over_girder
            else f"the lap of its soffit, {forms.show(lap, Length)}, meets the flange of {named}"
        )  # fmt: skip
        left = free_strips(hole.bounds[1], hole.bounds[3], flanges(forms), reach)
        wide = " and ".join(show(stop - start) for start, stop in left)
        return (
            f"{over}, and no joist, soffit, hanger or shore goes through a girder; "
            + (f"clear of flange and lap are {wide} of its width, each part with a form of its own" if left
               else "nothing of its width is clear of flange and lap")
        )  # fmt: skip
    if where.near_joint(lap):
        return (
            f"the lap of its soffit, {forms.show(lap, Length)}, reaches the joint, {show(where.joint)} away: what stands under the end of the "
            "deck, and what holds the soffit there, is not known here"
        )
    if where.edge < reach - NOISE:
        return (
            f"the lap of its soffit, {forms.show(lap, Length)}, reaches the edge of the slab, {show(where.edge)} away"
        )
    return None


def crossing(forms: Forms, form: FormDesign) -> str | None:
    """Return which part of a form as laid out stands in a girder, or bears beyond the deck of its span; None where none does."""
    marked, plan = forms.patches.marked, forms.patches.inputs.plan
    panel = marked.found.panels[forms.patches[form.name].marked.span - plan.first_span].buffer(NOISE)
    below, beyond = [], []
    for part in parts(form):
        shape = on_deck(forms, form.name, part.shape)
        if part.kind in ABOVE:
            beyond += [part.kind] if not panel.covers(shape) else []
        else:
            below.append(Span(part.name, shape.bounds[1], shape.bounds[3]))
    met = clashes(below, flanges(forms))
    if met:
        said = ", ".join(f"{clash.part} in {clash.girder}" for clash in met[:4])
        return f"parts of the lightest form from stock would stand in a girder ({said})"
    if beyond:
        return "its strongbacks would bear beyond the joint or the kerb"
    return None
