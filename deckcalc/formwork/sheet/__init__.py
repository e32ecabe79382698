"""Sheet of formwork: inputs, results, pieces, checks and the governing case. The drawings stand in `deckcalc.formwork.sheet.drawings`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from deckcalc import formwork
from deckcalc.core import tables, units
from deckcalc.core.check import SATISFIED, Check
from deckcalc.core.sources import Cite
from deckcalc.formwork.design import Forms
from deckcalc.formwork.design.access import steps
from deckcalc.formwork.design.forms import si
from deckcalc.formwork.sheet import drawings
from deckcalc.show import sections
from deckcalc.show.figures import Picture
from deckcalc.show.governing import governing, leading_to, made_by
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, caution, measured, plain
from deckcalc.show.written import HandCalculations

DANGER = (
    "Formwork over traffic or water is designed, inspected and stripped under a licensed engineer, by the local safety rules and the "
    "owner's; what stands here is a draft for that engineer. In the United States 29 CFR 1926.703 asks for drawings on site, for "
    "inspection before, during and after placing, and for proof of strength before anything is removed.",
    "The form is no working deck until it is finished and inspected, and the hole is a fall edge; what passes below is stopped or kept "
    "clear while concrete is placed and while the form is stripped.",
)


def danger() -> Text:
    """Caution that stands at the top of the sheet."""
    return caution(*DANGER)


def deflection_rule(forms: Forms) -> tuple[str, str]:
    """Return the rule of deflection in words, and who set it."""
    if forms.choices.deflection == "no limit":
        return "no limit", "job file"
    cap = forms.limit("form_deflection_cap")
    ratio = si(forms.limit("form_deflection_ratio").value, "")
    return f"span/{ratio:.0f}, at most {forms.show(cap.value, units.Deflection)}", plain(cap.source)


def basis(forms: Forms) -> Text:
    """What the engineer chose for the forms, and the holes."""
    want = forms.inputs.formwork
    if want is None:
        return Text("")
    rows = [
        ["minimum loads", f"set {want.load_set}, {want.placing}, {want.tables} values", "job file"],
        ["unit weight of fresh concrete with bars, or that by its materials where greater", forms.show(want.unit_weight, units.UnitWeight), "job file"],
        ["weight of the form allowed for", forms.show(want.self_weight, units.Pressure), "job file"],
        ["impact of placing, suction", f"{forms.show(want.impact, units.Share)}, {forms.show(want.suction, units.Pressure)}", plain(want.loads_source)],
        ["uplift on the empty form", forms.show(want.uplift, units.Pressure), plain(want.loads_source)],
        ["lumber", f"{want.service} service, load duration factor {forms.show(forms.limit('form_duration').value, units.Ratio)}", plain(forms.limit("form_duration").source)],
        ["strength that twisted wire keeps", forms.show(want.twist, units.Ratio), "job file: none is published"],
        ["safety factor of hangers", forms.show(forms.limit("hanger_safety").value, units.Ratio), plain(forms.limit("hanger_safety").source)],
        ["beams: moment coefficients, shear of joists", f"set {want.coefficients}, shear {want.shear}", "job file"],
        ["deflection", *deflection_rule(forms)],
    ]  # fmt: skip
    high = any(hole.clear_height is not None for hole in want.holes.values())
    holes = [
        [plain(name), hole.carried, ", ".join(forms.patches[name].location.below), place(forms, name), "yes" if hole.access_below else "no", hole.put_together,
         forms.show(hole.clear_height, units.Distance) if hole.clear_height is not None else ""][:7 if high else 6]
        for name, hole in want.holes.items() if name in forms.patches
    ]  # fmt: skip
    heads = ["hole", "form", "below it", "place", "underside reached", "put together", "sill to slab"]
    return block([
        pipe_table(["input", "value", "from"], rows if forms.each else [], "lll") if forms.each else "",
        pipe_table(heads[: 7 if high else 6], holes, "llllllr"[: 7 if high else 6]) if holes else "",
    ])  # fmt: skip


def place(forms: Forms, name: str) -> str:
    """Say where a hole lies, and whether a form is laid out there."""
    said = plain(forms.patches[name].location.kind)
    return f"{said}; **not covered: engineer to assess**" if name in forms.uncovered else said


def coefficients() -> Text:
    """Beam coefficients of the set in use beside the others."""
    found = tables.load("beam_coefficients").rows
    last = {row["set"]: row["spans"] for row in found}
    cites = [Cite(row["source"], row["where"], row["provenance"]) for row in found]  # type: ignore[arg-type]
    rows = [
        [row["set"], row["spans"] + (" or more" if row["spans"] == last[row["set"]] else ""),
         *(row[key] for key in ("c_M", "c_V", "c_R", "c_D")), str(cite)] for row, cite in zip(found, cites, strict=True)
    ]  # fmt: skip
    heads = ["set", "spans", "$M/(wl^2)$", "$V/(wl)$", "$R/(wl)$", r"$\delta EI/(wl^4)$", "where"]
    return Text(pipe_table(heads, rows, "lrrrrrl"))


def results(forms: Forms, written: HandCalculations) -> Text:
    """The governing check of each part of each form and of each plate, and the layout of every hole in words."""
    said = [[plain(item), plain(what)] for item, what in forms.decisions.items()]
    rows = []
    for one in governing_checks(forms):
        run, (value, limit) = made_by(forms, one), one.printed(forms.system)
        rows.append([
            plain(one.item), plain(one.title), written.numbers[run] if run else "", value, f"{one.sense} {limit}",
            f"{100 * (one.utilisation or 0):.0f} %", one.words if one.verdict == SATISFIED else f"**{one.words}**",
        ])  # fmt: skip
    heads = ["item", "governing check of each part", "calculation", "value", "limit", "used", "verdict"]
    return block([
        pipe_table(heads, rows, "lllrrrl") if rows else "",
        pipe_table(["item", "decision"], said, "ll") if said else "No hole goes through the slab.",
    ])  # fmt: skip


#: Parts of a form by the first word of the titles of their checks.
PART_OF = {"joist": "joists", "strongback": "strongbacks", "stringer": "stringers", "plate": "hangers"}


def governing_checks(forms: Forms) -> list[Check]:
    """Return the governing check of each part of each form, and of each plate over a hole."""
    parts: dict[tuple[str, str], list[Check]] = {}
    for form in forms:
        for check in form.checks:
            word = check.title.replace(",", " ").split()[0]
            parts.setdefault((form.item, PART_OF.get(word, word)), []).append(check)
    for plate in forms.plates.values():
        parts[f"plate over hole {plate.name}", "plate"] = plate.checks
    found = [governing([one for one in checks if made_by(forms, one)] or checks) for checks in parts.values()]
    return [one for one in found if one is not None]


def checks(forms: Forms) -> Text:
    """Checks that are not satisfied, not covered or near their limit and do not stand among the results."""
    return sections.checks(forms, governing_checks(forms))


def stock(forms: Forms) -> Text:
    """Materials in stock, as they were listed."""
    if forms.inputs.formwork is None:
        return Text("")
    parts: dict[str, Sequence[Any]] = {
        "Panels": forms.inputs.panels, "Lumber": forms.inputs.lumber, "Hangers": forms.inputs.hangers,
    }  # fmt: skip
    return block(part for name, rows in parts.items() for part in (f"**{name}**", measured(rows, forms.system)))


def sequence(forms: Forms) -> Text:
    """From where each form is put together, and the steps from the empty hole to the deck without a form."""
    if not forms.each:
        return Text("")
    parts = []
    for form in forms:
        taken = form.hole.away or "**not said: engineer to assess**"
        parts.append(
            f"**{form.item[0].upper() + form.item[1:]}**, put together {form.hole.put_together}, taken away by: {plain(taken) if form.hole.away else taken}"
        )
        parts.append("\n".join(f"{number}. {plain(step)}" for number, step in enumerate(steps(forms, form), 1)) + "\n")
    parts.append(f"Traffic: {'; '.join(f'{form.item}: {plain(form.keep_off)}' for form in forms)}.\n")
    return block(parts)


def plates(forms: Forms) -> Text:
    """What the plates over open holes are worked for; nothing where the job has none."""
    want = forms.inputs.formwork.plates if forms.inputs.formwork else None
    if want is None:
        return Text("")
    load = forms.inputs.plate_load(forms.deck.year_built)
    thick, lap = forms.show(want.thickness, units.Length), forms.show(want.overlap, units.Length)
    print_of = ", its print and the existing concrete as in the deck strip of [sheet 02](#reinforcement)"
    return Text(
        f"Plates over open holes are {thick} thick, {lap} beyond every edge ({plain(want.source)}), for a wheel of {forms.show(load.wheel, units.Force)}"
        f"{print_of if forms.inputs.deck_strip else ''}. A hole that may not be closed stays closed to traffic until its concrete may be opened.\n"
    )


#: What feeds a case and is cited by its number: unit weight and material values.
FED = (formwork.concrete_weight, formwork.lumber_values, formwork.class_values, formwork.own_lumber, formwork.panel_values, formwork.plywood_values, formwork.own_panel)  # fmt: skip


def hand(forms: Forms, written: HandCalculations) -> Text:
    """Write out what leads to the check that governs the forms, to what holds that form where no load leads to it, and to the governing plate."""
    led = governing_cases(forms)
    said = "; ".join(f"{plain(one.item)}: {plain(one.title)}, {100 * (one.utilisation or 0):.0f} % used" for one in led)
    values = [value for one in led for value in (one.demand, one.limit.value)]
    if not led:
        return Text("")
    return block([
        f"{said[0].upper() + said[1:]}. Every calculation of every hole stands in the appendix, line by line.",
        str(written.worked(run for run in leading_to(forms, *values) if run.calculation not in FED)),
    ])  # fmt: skip


def governing_cases(forms: Forms) -> list[Check]:
    """Return the checks that are written out: the one that governs the forms, that of what holds that form where no load leads to the first, that of the plates."""
    led = [one for one in forms.checks if made_by(forms, one)]
    worst = governing(one for one in led if any(one.item == form.item for form in forms))
    found = [worst]
    if worst and not loaded(forms, worst):
        found.append(
            governing(one for one in led if one.item == worst.item and one.title.startswith(("hangers,", "shores,")))
        )
    found.append(governing(one for one in led if one.item.startswith("plate over")))
    return [one for one in found if one is not None]


def loaded(forms: Forms, check: Check) -> bool:
    """Whether the load on the form leads to a check."""
    loads = {id(run) for run in forms.runs_of(formwork.form_load)}
    return any(id(run) in loads for run in leading_to(forms, check.demand, check.limit.value))


def further(forms: Forms) -> list[Text | Picture]:
    """Return what stands in the appendix: the steps of each form, holes without one, what is in stock, the beam coefficients."""
    parts: dict[str, Sequence[Text | Picture]] = {
        "Erection and stripping": [sequence(forms)], "Holes without a form": drawings.without_form(forms), "Materials in stock": [stock(forms)],
        "Beam coefficients": [coefficients()] if forms.each else [],
    }  # fmt: skip
    return [part for title, made in parts.items() if any(made) for part in (Text(f"### {title}\n"), *made)]
