"""The lightest admissible layout of a form from what is in stock, for many holes at once.

Plain arrays in coherent SI. A layout is two counts: bays of joists and bays of the lines that carry them (strongbacks of a
suspended form, stringers of a shored one). Spacings follow from the counts: the clear width less the edge distances,
divided into equal bays, each rounded down to the step that is marked on site; what is left over goes to the overhangs. One
step wider is one bay fewer. For given counts the force on every member is known, so panel, joist, carrier and hanger are
each chosen by themselves, and the minimum mass over all counts is the minimum of all combinations.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from deckcalc.formwork.formulas import beams, coefficients, plywood, shores
from deckcalc.formwork.formulas import strongbacks as supports

Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Panels:
    """Panels in stock, one entry each: thickness, mass per area, stresses, section as laid, size, pieces."""

    t: Array
    m: Array
    F_b: Array
    F_s: Array
    E: Array
    E_s: Array
    S: Array
    I: Array
    Q: Array
    C_s: Array
    along_span: Array  # side of the panel that lies along its own span
    along_joists: Array
    pieces: Array


@dataclass(frozen=True)
class Members:
    """Lumber in stock: section, design values, mass per length, stock length, pieces."""

    b: Array
    d: Array
    F_b: Array
    F_v: Array
    F_cp: Array
    F_c: Array
    E: Array
    E_min: Array
    m: Array
    stock: Array
    pieces: Array


@dataclass(frozen=True)
class Hangers:
    """Hangers in stock: allowable load, side of the square plate under the joist and on the strongback."""

    T: Array
    plate: Array


@dataclass(frozen=True)
class Rules:
    """What the job asks of a layout."""

    coefficients: str
    r_d: float
    d_max: float
    step: float
    edge: float
    lap: float
    clear: float
    bearing: float
    slenderness: float
    shear_depths: float = 0.0  # distance from the support at which shear of joists is taken, in depths
    block: float = 0.0  # height of the blocks under strongbacks
    most: int = 12


@dataclass(frozen=True)
class Holes:
    """Holes: marked sides, load, uplift, and clear height where they are shored (nan where they are suspended)."""

    L: Array
    B: Array
    p: Array
    p_up: Array
    height: Array


@dataclass(frozen=True)
class Found:
    """The lightest layout of one hole.

    Attributes
    ----------
    turned : bool
        Joists run along the second side of the hole.
    n_b, n_a, n_p : int
        Bays of joists, of carrying lines, and of shores along a stringer (0 where suspended).
    panel, joist, carrier, last : int
        Places in stock; `last` is the hanger, or the shore.
    mass : float
    admissible : int
        Number of layouts that pass everything.
    """

    turned: bool
    n_b: int
    n_a: int
    n_p: int
    panel: int
    joist: int
    carrier: int
    last: int
    mass: float
    admissible: int


def bays(width: Any, n: Any, rules: Rules) -> tuple[Any, Any]:
    """Return spacing and overhang of `n` equal bays across a width; the spacing is 0 where there is no room."""
    room = np.maximum(width - 2 * rules.edge, 0.0)
    s = np.floor(room / n / rules.step + 1e-9) * rules.step
    s = np.where(s >= 4 * rules.step - 1e-12, s, 0.0)
    return s, (width - n * s) / 2


def width_carried(s: Any, o: Any, n: Any, rules: Rules) -> Any:
    """Return the width of load on the most heavily loaded support."""
    return coefficients.joist_load.function(p=1.0, s=s, o=o, n=n, coefficients=rules.coefficients).b_t


def panel_use(p: Any, s: Any, o: Any, n: Any, b_s: Any, panel: Panels, rules: Rules) -> Any:
    """Return the maximum utilisation of a panel."""
    made = plywood.panel_check.function(
        p=p, s=s, o=o, n=n, b_s=b_s, F_b=panel.F_b, F_s=panel.F_s, E=panel.E, E_s=panel.E_s, S=panel.S, I=panel.I,
        Q=panel.Q, t=panel.t, C_s=panel.C_s, coefficients=rules.coefficients, r_d=rules.r_d, d_max=rules.d_max,
    )  # fmt: skip
    return greatest(made, "u_b", "u_s", "u_d", "u_ob", "u_od")


def joist_use(w: Any, l: Any, o: Any, n: Any, joist: Members, rules: Rules) -> Any:
    """Return the maximum utilisation of a joist."""
    made = beams.beam_check.function(
        w=w, l=l, o=o, n=n, b=joist.b, d=joist.d, F_b=joist.F_b, F_v=joist.F_v, E=joist.E,
        coefficients=rules.coefficients, r_d=rules.r_d, d_max=rules.d_max, d_v=rules.shear_depths * joist.d,
    )  # fmt: skip
    return greatest(made, "u_b", "u_v", "u_d", "u_o")


def strongback_use(P: Any, n_P: Any, s: Any, l_h: Any, member: Members, rules: Rules) -> Any:
    """Return the maximum utilisation of a strongback."""
    made = supports.strongback_check.function(
        P=P, n_P=n_P, s=s, l_h=l_h, e_b=rules.clear, l_b=rules.bearing, b=member.b, d=member.d, F_b=member.F_b,
        F_v=member.F_v, F_cp=member.F_cp, E=member.E, r_d=rules.r_d, d_max=rules.d_max,
    )  # fmt: skip
    return greatest(made, "u_b", "u_v", "u_d", "u_p")


def stringer_use(P: Any, s: Any, l: Any, o: Any, n: Any, member: Members, rules: Rules) -> tuple[Any, Any]:
    """Return the maximum utilisation of a stringer, and its reaction on a shore."""
    made = supports.stringer_check.function(
        P=P, s=s, l=l, o=o, n=n, b=member.b, d=member.d, F_b=member.F_b, F_v=member.F_v, E=member.E,
        coefficients=rules.coefficients, r_d=rules.r_d, d_max=rules.d_max,
    )  # fmt: skip
    return greatest(made, "u_b", "u_v", "u_d"), made.R


def shore_use(P: Any, l_u: Any, shore: Members, rules: Rules) -> Any:
    """Return the maximum utilisation of a shore, slenderness included."""
    made = shores.shore_check.function(
        P=P, l_u=l_u, b=shore.b, d=shore.d, F_c=shore.F_c, E_min=shore.E_min, r_max=rules.slenderness
    )
    return made.u


def greatest(made: Any, *names: str) -> Any:
    """Return the maximum of several results, element by element; one that is no number counts as not passed."""
    worst = getattr(made, names[0])
    for name in names[1:]:
        worst = np.maximum(worst, getattr(made, name))
    return np.where(np.isfinite(worst), worst, np.inf)


def enough(length: Any, count: Any, member: Members) -> Any:
    """Return whether pieces of a length can be cut from the stock of one member."""
    cuts = np.floor(member.stock / length + 1e-9)
    return cuts * member.pieces >= count - 1e-9


def shaped(record: Any, axes: int) -> Any:
    """Return a record of arrays with `axes` axes before the last."""
    return type(record)(
        **{field.name: getattr(record, field.name).reshape((1,) * axes + (-1,)) for field in fields(record)}
    )


def search(holes: Holes, panels: Panels, members: Members, hangers: Hangers, rules: Rules) -> list[Found | None]:
    """Find the lightest admissible layout of every hole.

    Parameters
    ----------
    holes : Holes
        Arrays of one length.
    panels, members, hangers
        The stock.
    rules : Rules

    Returns
    -------
    list of Found or None
        None where nothing in stock will do.
    """
    found: list[Found | None] = []
    count = len(holes.L)
    for start in range(0, count, 8):
        part = slice(start, min(start + 8, count))
        block = Holes(**{field.name: np.asarray(getattr(holes, field.name), float)[part] for field in fields(holes)})
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            found += _search(block, panels, members, hangers, rules)
    return found


def _search(holes: Holes, panels: Panels, members: Members, hangers: Hangers, rules: Rules) -> list[Found | None]:
    """Search a block of holes. Axes: hole, which way, bays of joists, bays of lines, then what is in stock."""
    a = np.stack([holes.L, holes.B], axis=1)[:, :, None, None]
    b = np.stack([holes.B, holes.L], axis=1)[:, :, None, None]
    p, p_up = holes.p[:, None, None, None], holes.p_up[:, None, None, None]
    n = np.arange(1, rules.most + 1)
    n_b, n_a = n[None, None, :, None], n[None, None, None, :]
    s_b, o_b = bays(b, n_b, rules)
    s_a, o_a = bays(a, n_a, rules)
    room = (s_b > 0) & (s_a > 0)
    w = p * width_carried(s_b, o_b, n_b, rules)
    P = w * width_carried(s_a, o_a, n_a, rules)
    panel_mass, panel_at, panel_ways = _lightest_panel(a, b, p, s_b, o_b, n_b, panels, members, rules)
    each = shaped(members, 4)
    more = lambda x: x[..., None]  # noqa: E731
    ok = joist_use(more(w), more(s_a), more(o_a), more(n_a), each, rules) <= 1 + 1e-9
    lifted = more(p_up * width_carried(s_b, o_b, n_b, rules)) * more(a) ** 2 / 8 / (each.F_b * each.b * each.d**2 / 6)
    joist_length = more(a + 2 * rules.lap)
    ok &= (lifted <= 1 + 1e-9) & more(room) & enough(joist_length, more(n_b) + 1, each)
    kind = np.unique(members.b, return_inverse=True)[1]
    joist_mass = (more(n_b) + 1) * joist_length * each.m + panel_mass[..., kind]
    joist_mass = np.where(ok & np.isfinite(joist_mass), joist_mass, np.inf)
    ways = np.where(ok, panel_ways[..., kind], 0)
    finish = _suspended if np.isnan(holes.height).all() else _shored
    if 0 < np.isnan(holes.height).sum() < len(holes.height):  # both kinds in one block: one at a time
        answers: list[Found | None] = []
        for i in range(len(holes.L)):
            one = Holes(**{field.name: getattr(holes, field.name)[i : i + 1] for field in fields(holes)})
            answers += _search(one, panels, members, hangers, rules)
        return answers
    return finish(holes, b, s_b, n_b, n_a, P, joist_mass, ways, panel_at[..., kind], members, hangers, rules)


def _lightest_panel(
    a: Any, b: Any, p: Any, s: Any, o: Any, n: Any, panels: Panels, members: Members, rules: Rules
) -> tuple[Array, Array, Array]:
    """Return mass, place and number of admissible panels, with the breadth of joist as the last axis."""
    breadths = np.unique(members.b)
    each = shaped(panels, 5)
    wide = lambda x: np.asarray(x)[..., None, None]  # noqa: E731
    use = panel_use(wide(p), wide(s), wide(o), wide(n), breadths[None, None, None, None, :, None], each, rules)
    lap_a, lap_b = wide(a) + 2 * rules.lap, wide(b) + 2 * rules.lap
    pieces = np.ceil(lap_b / each.along_span - 1e-9) * np.ceil(lap_a / each.along_joists - 1e-9)
    clear = wide(s) > 1.25 * breadths[:, None]
    ok = (use <= 1 + 1e-9) & (pieces <= each.pieces) & clear
    mass = np.where(ok, each.m * lap_a * lap_b, np.inf)
    return mass.min(-1), mass.argmin(-1), ok.sum(-1)


def _score(mass: Array, *counts: Any) -> Array:
    """Return masses to compare by: rounded, so that noise decides nothing; fewer pieces first where they are equal."""
    score = np.round(mass, 6)
    for count in counts:
        score = score + 1e-5 * count
    return score


def _suspended(
    holes: Holes, b: Any, s_b: Any, n_b: Any, n_a: Any, P: Any, joist_mass: Array, ways: Array, panel_at: Array,
    members: Members, hangers: Hangers, rules: Rules,
) -> list[Found | None]:  # fmt: skip
    """Hang the joists from strongbacks."""
    each = shaped(members, 4)
    more = lambda x: np.asarray(x)[..., None]  # noqa: E731
    length = more(b + 2 * (rules.clear + rules.bearing))
    ok = strongback_use(more(P), more(n_b) + 1, more(s_b), more(b), each, rules) <= 1 + 1e-9
    ok &= enough(length, more(n_a) + 1, each)
    back_mass = np.where(ok, (more(n_a) + 1) * length * each.m, np.inf)
    best = [None] * len(holes.L)
    least = np.full(len(holes.L), np.inf)
    total = np.zeros(len(holes.L), dtype=int)
    for h in range(len(hangers.T)):
        bears = more(P) <= plate_load(each, hangers.plate[h]) * (1 + 1e-9)
        holds = (hangers.T[h] * (1 + 1e-9) >= P)[..., None]
        joists = np.where(bears & holds, joist_mass, np.inf)
        backs = np.where(bears & holds, back_mass, np.inf)
        total += ((ways * np.isfinite(joists)).sum(-1) * np.isfinite(backs).sum(-1)).sum((1, 2, 3))
        mass = joists.min(-1) + backs.min(-1)
        score = _score(mass, n_b, n_a)
        for i in range(len(holes.L)):
            place = np.unravel_index(int(np.argmin(score[i])), score[i].shape)
            if not score[i][place] < least[i] - 1e-9:
                continue
            least[i] = score[i][place]
            joist, back = int(joists[i][place].argmin()), int(backs[i][place].argmin())
            panel = int(panel_at[np.s_[i, *place[:2], 0 if panel_at.shape[3] == 1 else place[2], joist]])
            best[i] = Found(  # type: ignore[call-overload]
                bool(place[0]), int(place[1]) + 1, int(place[2]) + 1, 0, panel, joist, back, h, float(mass[i][place]), 0
            )
    return _counted(best, total)


def plate_load(member: Members, plate: float) -> Any:
    """Return the force that a square plate may press on a member."""
    return member.F_cp * np.minimum(member.b, plate) * plate


def _shored(
    holes: Holes, b: Any, s_b: Any, n_b: Any, n_a: Any, P: Any, joist_mass: Array, ways: Array, panel_at: Array,
    members: Members, hangers: Hangers, rules: Rules,
) -> list[Found | None]:  # fmt: skip
    """Stand the joists on stringers, and those on shores. One axis more: bays of shores."""
    each = shaped(members, 5)
    n_p = np.arange(1, 7)
    s_p, o_p = bays(b[..., None], n_p, rules)
    more = lambda x: np.asarray(x)[..., None]  # noqa: E731
    narrow = members.b.min()
    use, R = stringer_use(more(more(P)), more(more(s_b)), more(s_p), more(o_p), more(n_p), each, rules)
    length = more(more(b + 2 * rules.lap))
    ok = (use <= 1 + 1e-9) & enough(length, more(more(n_a)) + 1, each) & more(s_p > 0)
    ok &= more(more(P)) <= each.F_cp * each.b * narrow * (1 + 1e-9)
    stringer_mass = np.where(ok, (more(more(n_a)) + 1) * length * each.m, np.inf)
    force = R[..., 0]  # the reaction does not depend on the member
    height = holes.height[:, None, None, None, None, None]
    shores = (more(n_a) + 1) * (n_p + 1)
    stands = shore_use(more(force), height, each, rules) <= 1 + 1e-9
    stands &= more(force) <= members.F_cp.min() * narrow * np.minimum(each.b, each.d) * (1 + 1e-9)
    stands &= enough(height, more(shores), each)
    shore_mass = np.where(stands, more(shores) * height * each.m, np.inf)
    joists = np.where(more(P) <= members.F_cp * members.b * narrow * (1 + 1e-9), joist_mass, np.inf)
    mass = more(joists.min(-1)) + stringer_mass.min(-1) + shore_mass.min(-1)
    total = (
        (more((ways * np.isfinite(joists)).sum(-1)) * np.isfinite(stringer_mass).sum(-1) * np.isfinite(shore_mass).sum(-1))
        .sum((1, 2, 3, 4))
    )  # fmt: skip
    score = _score(mass, more(n_b), more(n_a), n_p)
    best: list[Any] = [None] * len(holes.L)
    for i in range(len(holes.L)):
        place = np.unravel_index(int(np.argmin(score[i])), score[i].shape)
        if not np.isfinite(score[i][place]):
            continue
        joist = int(joists[i][place[:3]].argmin())
        panel = int(panel_at[np.s_[i, *place[:2], 0 if panel_at.shape[3] == 1 else place[2], joist]])
        best[i] = Found(
            bool(place[0]), int(place[1]) + 1, int(place[2]) + 1, int(place[3]) + 1, panel, joist,
            int(stringer_mass[i][place].argmin()), int(shore_mass[i][place].argmin()), float(mass[i][place]), 0,
        )  # fmt: skip
    return _counted(best, total)


def _counted(best: list[Any], total: Array) -> list[Found | None]:
    """Give every layout the number of admissible ones."""
    return [
        None if one is None else Found(**{**vars(one), "admissible": int(n)})
        for one, n in zip(best, total, strict=True)
    ]
