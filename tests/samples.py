"""Good inputs that several tests start from: the demo jobs, and one set of arguments for every calculation."""

from functools import cache

from deckcalc import published
from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.core.sources import folder
from deckcalc.job.file import read_job
from deckcalc.job.order import ORDER, Job, compute

SYSTEMS = ("SI", "US")
DEMO = {system: folder("notebooks") / f"demo_{system.lower()}" for system in SYSTEMS}
REGISTER = published.register()
CASES = published.cases()


@cache
def demo(system):
    """Return the demo job of a unit system, carried through once."""
    return compute(DEMO[system])


def refusal(folder, changes=None):
    """Return every fault of a job, one a line: it is refused, or a subject before the closure cannot be computed."""
    try:
        job = Job(read_job(folder, changes))
    except JobError as error:
        return str(error)
    for key in ORDER[: ORDER.index("closure")]:
        job.of(key)
    return "\n".join(line for fault in job.faults.values() for line in fault.faults)


def arguments(case):
    """Return the arguments of a check case as quantities."""
    calculation = REGISTER[case.calculation]
    return {name: published.read_argument(calculation, name, value) for name, value in case.given.items()}


def cases_of(calculation, most=None):
    """Return the check cases of a calculation, spread evenly if there are more than `most`."""
    found = [case for case in CASES if case.calculation == calculation.key]
    if most and len(found) > most:
        found = [found[i * len(found) // most] for i in range(most)]
    return found


#: Good inputs of calculations whose cases lie where nothing may be moved, or that no demo job needs.
WRITTEN = {
    "chloride.content_at_depth": {
        "x": "50 mm",
        "x_1": "44 mm",
        "C_1": "1.32 kg/m^3",
        "x_2": "57 mm",
        "C_2": "0.81 kg/m^3",
    },
    "steel.pit_loss": {"A_0": "200 mm^2", "d": "16 mm", "p": "4 mm"},  # its first case lies where two branches meet
    "mix.mixing_water (SI)": {"D_max": "9.5 mm", "slump": "40 mm", "exposure": "not air-entrained"},
    "steel.development_aci_simple (SI)": {
        "d_b": "16 mm",
        "f_y": "420 MPa",
        "f_c": "28 MPa",
        "case": "other",
        "h_below": "100 mm",
        "coating": "uncoated",
        "c_c": "40 mm",
        "c_s": "50 mm",
        "lamb": "1",
    },
    "patch.removal_depth": {  # its first case has one cover, which the least and the greatest may not cross
        "h_i": ["48 mm", "62 mm"],
        "c_min": "45 mm",
        "c_max": "57 mm",
        "d_1": "16 mm",
        "d_2": "12 mm",
        "s_c": "20 mm",
    },
    "patch.panel_depth": {"t": "200 mm", "t_p": "90 mm"},
    "patch.overlay_volume": {"A": "1.2 m^2", "t_o": "50 mm"},
    "patch.through_part": {"V_all": "0.12 m^3", "V_f": "0.03 m^3", "A_f": "0.3 m^2", "t": "200 mm"},
}


@cache
def good(key):
    """Return one good set of arguments for a calculation, defaults filled in."""
    calculation = REGISTER[key]
    written = WRITTEN.get(key)
    if written:
        return {name: published.read_argument(calculation, name, text) for name, text in written.items()}
    known = cases_of(calculation)
    if not known:  # none is published: what the demo job gives it
        run = next(run for one in demo("SI").subjects for run in one.runs if run.calculation is calculation)
        return calculation.bind((), run.arguments)
    return calculation.bind((), arguments(known[0]))


def results(calculation, answer):
    """Return the results of a call by name."""
    return dict(zip(calculation.kinds, answer if calculation.record else (answer,), strict=True))


def base(quantity, kind):
    """Return the plain number in the coherent SI unit."""
    return units.registry().Quantity(quantity).m_as(kind.base)
