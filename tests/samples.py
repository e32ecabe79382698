"""Good inputs that several tests start from: the demo jobs, and one set of arguments for every calculation."""

from functools import cache

from deckcalc import published, units
from deckcalc.job import carry
from deckcalc.sources import folder

SYSTEMS = ("SI", "US")
DEMO = {system: folder("notebooks") / f"demo_{system.lower()}" for system in SYSTEMS}
REGISTER = published.register()
CASES = published.cases()


@cache
def demo(system):
    """Return the demo job of a unit system, carried through once."""
    return carry(DEMO[system])


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


@cache
def good(key):
    """Return one good set of arguments for a calculation, defaults filled in."""
    calculation = REGISTER[key]
    if key == "chloride.content_at_depth":  # its cases lie on a reading, where nothing may be moved
        written = {"x": "50 mm", "x_1": "44 mm", "C_1": "1.32 kg/m^3", "x_2": "57 mm", "C_2": "0.81 kg/m^3"}
        return {name: units.read(text, calculation.params[name].kind) for name, text in written.items()}
    return calculation.bind((), arguments(cases_of(calculation)[0]))


def results(calculation, answer):
    """Return the results of a call by name."""
    return dict(zip(calculation.kinds, answer if calculation.record else (answer,), strict=True))


def base(quantity, kind):
    """Return the plain number in the coherent SI unit."""
    return units.registry().Quantity(quantity).m_as(kind.base)
