"""How a form gets to its place and away again, and how far wheels stay from it."""

from __future__ import annotations

from deckcalc import formwork
from deckcalc.core import units
from deckcalc.core.bars import bar_diameter
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Quantity, quantity
from deckcalc.formwork.design.forms import FormDesign, Forms
from deckcalc.formwork.inputs import BELOW, THROUGH

NO_WAY = (
    "nobody reaches the underside, and the job does not say how the form is removed: wires that are cut drop it; set "
    "taken_away in job.toml; engineer to assess"
)


def cut_shores(forms: Forms, form: FormDesign) -> None:
    """Work out the length to which the shores are cut, sill and wedges taken off."""
    hole = form.hole
    assert hole.height is not None
    made = forms.run(
        formwork.shore_length, f"{form.item}, shores", h=hole.height, t_s=hole.sill_taken_off,
        t_w=forms.limit("shore_wedges").value, t_p=form.thickness, d_j=form.joist.depth, d_c=form.carrier.depth,
    )  # fmt: skip
    form.shore_length = float(made.L_s.m_as("m"))


def reach(forms: Forms, form: FormDesign) -> None:
    """Check that the parts get below the hole from where somebody can stand, and say how the form comes away."""
    if form.hole.put_together == THROUGH:
        deck = forms.deck
        thickest = max(bar_diameter(deck.top_bar_outer), bar_diameter(deck.top_bar_inner))
        made = forms.run(
            formwork.passage, f"{form.item}, passage", s_b=deck.bar_spacing, d_b=thickest, c_p=forms.limit("form_play").value,
            b=form.joist.breadth, d=form.joist.depth, w=forms.length(form.reach[0]),
        )  # fmt: skip
        form.strips = round(float(made.n_s.m_as("")))
        form.strip_width = float(made.w_s.m_as("m"))
        limit = Limit(
            "form", "joists between the bars", made.c_b, units.kind_of(units.Length), "hand calculation on this sheet"
        )
        add(
            forms,
            form,
            Check(
                form.item, "joists pass between the bars", made.d_m, limit, "at most", "shallower joists, or from below"
            ),
        )
    if form.hole.away is None:
        one = Limit("form", "a way to remove the form", quantity(1.0), units.kind_of(units.Ratio), "job file")
        add(forms, form, Check(form.item, "form removed", None, one, "at most", NO_WAY))


def keep_off(forms: Forms, form: FormDesign, support: Quantity) -> None:
    """Say what one wheel would do to the form, and how far wheels stay from the hole."""
    rules, clear, plates = form.rules, forms.limit("form_keep_off"), forms.choices.plates
    bearing = (rules.clear, rules.bearing) if form.hanger is not None else (0.0, 0.0)
    if plates is None:
        distance = forms.show(quantity(sum(bearing), "m") + clear.value, units.Distance)
        weight = ""
    else:
        made = forms.run(
            formwork.wheel_on_form, f"{form.item}, wheel", P=forms.inputs.plate_load(forms.deck.year_built).wheel, i=plates.impact,
            n_f=quantity(float(form.hangers if form.hanger is not None else form.shores)), T_f=support,
            e_b=forms.length(bearing[0]), l_b=forms.length(bearing[1]), c_k=clear.value,
        )  # fmt: skip
        distance = forms.show(made.D, units.Distance)
        weight = (
            f"; one wheel of {forms.show(made.P_i, units.Force)} with impact is {forms.show(made.u, units.Ratio)} times what all "
            f"{'hangers' if form.hanger is not None else 'shores'} together may carry"
        )
    form.keep_off = forms.decisions[f"{form.item}, traffic"] = (
        f"keep every wheel off the hole and {distance} round it until the concrete has {forms.strip_strength(form.name)}{weight}"
    )


def add(forms: Forms, form: FormDesign, check: Check) -> None:
    """Add a check of one form."""
    form.checks.append(check)
    forms.checks.append(check)


def steps(forms: Forms, form: FormDesign) -> list[str]:
    """Return the steps from the empty hole to the deck without a form, in order."""
    below = form.hole.put_together == BELOW
    joists, carriers = form.found.n_b + 1, form.found.n_a + 1
    size = lambda metres: forms.show(forms.length(metres), units.Length)  # noqa: E731
    first = (
        "Guard the hole. From the platform or ladder below, hold panel and joists up under the slab."
        if below
        else f"Guard the hole and stand on sound deck beside it. Lower {joists} joists end first between the bars, then the soffit as "
        f"{form.strips} strips {size(form.strip_width)} wide that lie across the joists; each piece is tied to a line before it goes down."
    )
    if form.hanger is None:
        return [
            first.replace("hold panel and joists up", "set sills, stringers and shores, then joists and panel"),
            f"Drive the wedges until the soffit is tight; cut shores to {size(form.shore_length)}; {form.braces}.",
            "Have the form inspected. Place; watch it while concrete goes in.",
            *coming_off(forms, form).values(),
        ]
    return [
        f"Set {carriers} strongbacks on blocks {size(form.rules.block)} high, on concrete found sound, so that screed and trowel pass below them.",
        first,
        f"Pass {form.hangers} hangers through soffit and round the joists, over plates on the strongbacks, and draw the soffit tight.",
        "Have the form inspected. Place and finish under the strongbacks; watch the hangers while concrete goes in.",
        *coming_off(forms, form).values(),
    ]


def coming_off(forms: Forms, form: FormDesign) -> dict[str, str]:
    """Return the steps that take a form off, in order, each by what it takes off: the same that rates.csv gives the times of."""
    word = f"With {forms.strip_strength(form.name)} in place and the engineer's word: "
    if form.hanger is None:
        said = [
            f"{word}slack the wedges by turns from the middle out, take shores, stringers, joists and panel down; nobody stands below what "
            "is loosened."
        ]
    else:
        away = form.hole.away or "a way that the engineer has still to give"
        said = [
            f"{word}make sure that {away} holds the form; only then loosen the hangers, one strongback after the other, and take "
            "strongbacks and blocks off the deck.",
            "Cut the hangers back below the surface or draw them, fill their holes, and cure what was under the blocks.",
            f"Remove the form by {away}; nobody stands below it.",
        ]
    return dict(zip(form.take_off, said, strict=True))
