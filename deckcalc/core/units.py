"""The one unit registry: quantities as the trade writes, reads and prints them.

Inside a calculation there are plain floats in coherent SI; quantities stand at the edges. A `Kind` says what a
quantity is (a patch depth, a bar area, a cement content) and thereby in which unit, and with how many decimals,
it is printed in an SI job and in a US customary one. Kinds are written as types:

>>> show(read("2 1/2 in", Length), Length, "SI")
'64 mm'
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from contextlib import suppress
from contextvars import ContextVar
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP
from functools import cache, cached_property, lru_cache
from typing import Annotated, Any, Literal, cast, get_args

import numpy as np
import pint
from pint.facets.plain import PlainUnit
from pint.util import UnitsContainer

from deckcalc.core import digits, spelling, tables
from deckcalc.core.digits import exact_decimals as exact_decimals
from deckcalc.core.digits import fixed as fixed
from deckcalc.core.digits import small_decimals

Quantity = pint.Quantity
Unit = PlainUnit
System = Literal["SI", "US"]
SYSTEMS: tuple[str, ...] = get_args(System)
#: The unit system that messages speak; empty: as each range is declared, and SI for what has none.
SPOKEN: ContextVar[str] = ContextVar("spoken", default="")

#: Units of the trade which the registry does not bring along (tests hold each one to its published value).
DEFINITIONS = (
    "pound_per_cubic_foot = pound / foot**3 = lb/ft³ = pcf",
    "pound_per_square_foot = pound_force / foot**2 = lbf/ft² = psf",
    "pound_per_linear_foot = pound_force / foot = lbf/ft = plf",
    "kip_per_linear_foot = kip / foot = kip/ft = klf",
    "cement_bag_us = 94 * pound = bag94",
    "cement_bag_si = 42.6 * kilogram = bag42_6",
    "cement_bag_50 = 50 * kilogram = bag50",
    "hundred_kilograms = 100 * kilogram = hkg",
)
#: The longest text of a unit and of a quantity that is read.
LONGEST_UNIT, LONGEST_QUANTITY = 40, spelling.LONGEST
#: A size of bar, or a diameter, by its sign.
SIZED = re.compile(r"(?P<bar>#|no\.? ?(?=\d)|D(?=\d+$))|(?P<round>[ØøΦφ⌀] ?)", re.A | re.I)


class InputError(ValueError):
    """A value that cannot be used, with the name of the thing and what would be right."""

    def _render_traceback_(self) -> list[str]:
        """Show a notebook the message alone: what was wrong stands in it, and no line of the program helps."""
        return [f"{type(self).__name__}: {self}"]


def clipped(text: object, most: int = 40) -> str:
    """Return a text for a message: at most so many signs, those that cannot be printed replaced.

    Examples
    --------
    >>> clipped("220 mm" * 100, 12)
    '220 mm220 mm…'
    """
    if isinstance(text, int) and abs(text) >= 10**most:  # its digits may be too many to write
        return "a number of very many digits"
    written = str(text)
    return "".join(sign if sign.isprintable() else "�" for sign in written[:most]) + "…" * (len(written) > most)


class Waiting(pint.LazyRegistry):
    """pint's application registry before its first use: when it is built, the units of the trade come with it."""

    def __getattr__(self, item: str) -> Any:
        found = super().__getattr__(item)
        if type(self) is not Waiting:  # it was built just now, and pint made it a registry
            define(cast(pint.UnitRegistry, self))
        return found

    def __setattr__(self, key: str, value: object) -> None:
        if key != "__class__":
            self.__getattr__("define")
        setattr(self, key, value) if key != "__class__" else super().__setattr__(key, value)

    def __getitem__(self, item: str) -> Any:
        return self.__getattr__("__getitem__")(item)

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        """Read a text, as any registry does."""
        return self.__getattr__("__call__")(*args, **kwargs)


def define(ureg: pint.UnitRegistry) -> None:
    """Add the units of the trade to a registry; nothing else in it changes.

    Raises
    ------
    InputError
        If the registry gives one of these names to another unit.
    """
    for line in DEFINITIONS:
        name, definition, *aliases = (part.strip() for part in line.split("="))
        symbols = [alias for alias in aliases if alias.isidentifier()]
        known = [word for word in (name, *symbols) if word in ureg._units]
        for word in known:
            ours, theirs = (cast(Any, ureg.Quantity(text)).to_root_units() for text in (definition, word))
            if ours.units != theirs.units or not math.isclose(ours.magnitude, theirs.magnitude, rel_tol=1e-9):
                raise InputError(
                    f"the application registry of pint has a unit “{word}” that is not {definition}; "
                    "rename it, or set another registry with pint.set_application_registry"
                )
        if name not in known:
            free = [symbol for symbol in symbols if symbol not in known]
            ureg.define(" = ".join([name, definition, *(free[:1] or ["_"]), *free[1:]]))


class _Registry:
    """The application registry that has the units of the trade, and what was read with it."""

    ready: pint.UnitRegistry | None = None


def registry() -> pint.UnitRegistry:
    """Return pint's application registry, with the units of the trade in it.

    A quantity made here works with every other quantity of that registry, also with one that was unpickled. Nothing of
    the registry changes but the units added: its formats stay, and offset temperatures are not converted silently
    (``autoconvert_offset_to_baseunit`` stays as pint has it, off). A registry of your own joins by
    ``pint.set_application_registry``, at best before the first quantity is made: quantities made before belong to the
    registry before, and pint does not mix two. At the boundary of a calculation, quantities of any registry are taken.

    Returns
    -------
    pint.UnitRegistry
        With the trade's units defined: pcf, psf, plf, klf, thou, bags of 94 lb, 42.6 kg and 50 kg.

    Examples
    --------
    >>> registry().Quantity(1, "pcf").to("lb/ft**3").magnitude
    1.0
    >>> import pint
    >>> f"{pint.Quantity(2, 'm') * registry().Quantity(3, 'm'):~P}"
    '6 m²'
    """
    found: pint.UnitRegistry = pint.application_registry.get()
    if found is not _Registry.ready:
        define(found)
        _Registry.ready = found
    return found


def unit(text: str) -> Unit:
    """Return the unit that a text such as ``lb/yd³``, ``mm^2`` or ``°C`` names.

    Parameters
    ----------
    text : str
        A unit as people write it; superscripts, ``^`` and a bare digit after the letters all mean a power.

    Returns
    -------
    pint.Unit

    Raises
    ------
    InputError
        If the text is no unit.

    Examples
    --------
    >>> unit("lb/yd³") == unit("lb/yd^3") == unit("lb/yd3")
    True
    """
    return _unit(text, registry())


@cache
def _unit(text: str, ureg: pint.UnitRegistry) -> Unit:
    no_unit = f"“{clipped(text)}” is not a unit; write for instance mm, in, lb/yd^3 or MPa"
    if len(text) > LONGEST_UNIT:
        raise InputError(no_unit)
    if re.search(r"\bmils?\b", text):
        raise InputError("“mil” means several things; write thou for a thousandth of an inch")
    plain = spelling.unit(text)
    if plain is None:
        raise InputError(no_unit)
    try:
        return ureg.Unit(plain)
    except Exception as error:  # the registry raises several unrelated kinds of error
        raise InputError(no_unit) from error


def unit_of(text: str, kind: Kind) -> Unit:
    """Return the unit of a kind that a text names, its letters in either case where that can mean one unit alone.

    Raises
    ------
    InputError
        If the text is no unit, or one that letters of another case make another unit of the kind.

    Examples
    --------
    >>> f"{unit_of('MM', kind_of(Length)):~P} {unit_of('MPA', kind_of(Stress)):~P}"
    'mm MPa'
    """
    return _unit_of(text, kind, registry())


@cache
def _unit_of(text: str, kind: Kind, ureg: pint.UnitRegistry) -> Unit:
    usual = spelling.in_usual_case(text)
    if usual == text:
        return _unit(text, ureg)
    try:
        other = _unit(usual, ureg)
        scale = kind.scale(other)
    except InputError:
        return _unit(text, ureg)
    try:
        same = kind.scale(_unit(text, ureg)) == scale
    except InputError:
        same = True
    if not same:
        raise InputError(f"“{clipped(text)}” is a unit as well as “{usual}”; write {usual} if that is meant")
    return other


def ours(unit: Any) -> Unit:
    """Return a unit of any registry as a unit of ours, by its name.

    Raises
    ------
    InputError
        If our registry has no such unit.
    """
    try:
        return registry().Unit(f"{unit:D}")
    except Exception as error:  # the registry raises several unrelated kinds of error
        raise InputError(f"“{clipped(unit)}” is not a unit that is known here") from error


@dataclass(frozen=True)
class Kind:
    """What a quantity is, and how the trade prints it.

    Parameters
    ----------
    name : str
        In the words of the trade; error messages use it.
    si, us : str
        Unit printed in an SI job and in a US customary job, as the trade writes it.
    si_decimals, us_decimals : int
        Decimals that the trade uses in either.
    whole : bool
        Whether it counts things: an argument with a fraction is refused.
    tape : {"", "in", "ft"}
        Whether a US job prints it as a tape shows it: in inches, or in feet and inches.
    kept : bool
        Whether its decimals stand whatever its size, as those of money and of sizes of bars.
    up : bool
        Whether it is ordered, so that a decision value is rounded up.
    significant : tuple of int
        Significant digits of a decision value, in an SI job and in a US one.
    si_small, us_small : tuple of str, float and int
        The unit that people change to for a value below so much, and its decimals.
    """

    name: str
    si: str
    us: str
    si_decimals: int = 0
    us_decimals: int = 0
    whole: bool = False
    tape: Literal["", "in", "ft"] = ""
    kept: bool = False
    up: bool = False
    significant: tuple[int, int] = (3, 3)
    si_small: tuple[str, float, int] = ("", 0.0, 0)
    us_small: tuple[str, float, int] = ("", 0.0, 0)

    def symbol(self, system: str) -> str:
        """Return the printed unit."""
        return self.si if system == "SI" else self.us

    def decimals(self, system: str) -> int:
        """Return the number of decimals that the trade prints."""
        return self.si_decimals if system == "SI" else self.us_decimals

    def unit(self, system: str) -> Unit:
        """Return the printed unit as a unit of the registry."""
        return unit(self.symbol(system))

    @property
    def a_name(self) -> str:
        """The name with its article."""
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"

    @cached_property
    def dimensionality(self) -> UnitsContainer:
        """Dimensions, as the registry states them."""
        return self.unit("SI").dimensionality

    @cached_property
    def dimensionless(self) -> bool:
        """Whether bare numbers are accepted."""
        return not self.dimensionality

    @cached_property
    def is_temperature(self) -> bool:
        """Whether the quantity is a temperature (not a difference of two)."""
        return self.si == "°C"

    @property
    def base(self) -> Unit:
        """The coherent SI unit."""
        return registry().Unit(self._base)

    @cached_property
    def _base(self) -> UnitsContainer:
        return registry().Quantity(1, self.unit("SI")).to_base_units()._units

    def scale(self, units: Unit) -> tuple[float, float]:
        """Return factor and offset that take a magnitude in `units` to the coherent SI unit.

        Raises
        ------
        InputError
            If `units` has other dimensions, is an angle where a ratio is meant, or a temperature where a difference
            is meant or the reverse.
        """
        known = self._scales.get(units._units)
        if known is None:
            ureg = registry()
            if units.dimensionality != self.dimensionality or self._confuses_difference(units) or self._is_angle(units):
                raise InputError(f"{self.name} cannot be in {pretty(units)}")
            zero = ureg.Quantity(0.0, units).m_as(self.base)
            known = self._scales[units._units] = ureg.Quantity(1.0, units).m_as(self.base) - zero, zero
        return known

    @cached_property
    def _scales(self) -> dict[UnitsContainer, tuple[float, float]]:
        return {}

    def _is_angle(self, units: Unit) -> bool:
        return self.dimensionless and not registry().Quantity(1, units).to_root_units().unitless

    def _confuses_difference(self, units: Unit) -> bool:
        if "[temperature]" not in self.dimensionality:
            return False
        name = f"{units:D}"
        return name != "kelvin" and (name in ("degree_Celsius", "degree_Fahrenheit")) != self.is_temperature


Length = Annotated[Quantity, Kind("length", "mm", "in", 0, 2, tape="in", kept=True)]
Diameter = Annotated[Quantity, Kind("diameter", "mm", "in", 1, 3, kept=True)]
Distance = Annotated[
    Quantity,
    Kind("distance", "m", "ft", 2, 2, tape="ft", kept=True, si_small=("mm", 1.0, 0), us_small=("in", 1 / 12, 2)),
]
BarArea = Annotated[Quantity, Kind("area of reinforcement", "mm²", "in²", 0, 2)]
Area = Annotated[Quantity, Kind("area", "m²", "ft²", 3, 2)]
Volume = Annotated[Quantity, Kind("volume", "m³", "ft³", 4, 2)]
OrderVolume = Annotated[Quantity, Kind("volume of concrete", "m³", "yd³", 3, 3, up=True)]
Mass = Annotated[Quantity, Kind("mass", "kg", "lb", 1, 1, significant=(3, 2))]
Density = Annotated[Quantity, Kind("density", "kg/m³", "pcf", 0, 1)]
Content = Annotated[Quantity, Kind("content of concrete", "kg/m³", "lb/yd³", 0, 0)]
ChlorideContent = Annotated[Quantity, Kind("chloride content of concrete", "kg/m³", "lb/yd³", 2, 2)]
Stress = Annotated[Quantity, Kind("strength", "MPa", "psi", 1, 0)]
Temperature = Annotated[Quantity, Kind("temperature", "°C", "°F", 0, 0, kept=True)]
TemperatureDifference = Annotated[Quantity, Kind("difference of temperature", "Δ°C", "Δ°F", 0, 0, kept=True)]
VolumeShare = Annotated[Quantity, Kind("volume per volume of concrete", "m³/m³", "ft³/yd³", 4, 2)]
Ratio = Annotated[Quantity, Kind("ratio", "", "", 2, 2)]
Share = Annotated[Quantity, Kind("share", "%", "%", 1, 1)]
ChlorideShare = Annotated[Quantity, Kind("chloride share by mass", "%", "%", 3, 3)]
AreaPrice = Annotated[Quantity, Kind("price of an area", "1/m²", "1/ft²", 2, 2, kept=True)]
CutPrice = Annotated[Quantity, Kind("price of a length", "1/m", "1/ft", 2, 2, kept=True)]
Price = Annotated[Quantity, Kind("price", "", "", 2, 2, kept=True)]
HourPrice = Annotated[Quantity, Kind("price of an hour", "1/h", "1/h", 2, 2, kept=True)]
VolumePrice = Annotated[Quantity, Kind("price of a volume", "1/m³", "1/yd³", 2, 2, kept=True)]
BatchVolume = Annotated[Quantity, Kind("volume of a batch", "L", "ft³", 1, 3)]
AdmixtureContent = Annotated[Quantity, Kind("admixture per volume of concrete", "mL/m³", "fl oz/yd³", 0, 0)]
Dose = Annotated[Quantity, Kind("dose of admixture", "mL/100 kg", "fl oz/cwt", 0, 1)]
LiquidVolume = Annotated[Quantity, Kind("volume of a liquid", "mL", "fl oz", 0, 1)]
WaterPerSlump = Annotated[Quantity, Kind("water for slump", "kg/m³/mm", "lb/yd³/in", 2, 0)]
Count = Annotated[Quantity, Kind("count", "", "", 0, 0, whole=True)]
Strain = Annotated[Quantity, Kind("strain", "", "", 5, 5)]
Probability = Annotated[Quantity, Kind("probability", "%", "%", 1, 1, kept=True)]
Force = Annotated[Quantity, Kind("force", "kN", "kip", 1, 2, si_small=("N", 0.1, 0), us_small=("lbf", 0.1, 0))]
Moment = Annotated[
    Quantity, Kind("bending moment", "kN·m", "kip·ft", 2, 2, si_small=("N·m", 0.01, 1), us_small=("lbf·ft", 0.1, 1))
]
MomentPerWidth = Annotated[
    Quantity,
    Kind(
        "bending moment per width",
        "kN·m/m",
        "kip·ft/ft",
        2,
        2,
        si_small=("N·m/m", 0.01, 1),
        us_small=("lbf·ft/ft", 0.1, 1),
    ),
]
LoadPerArea = Annotated[Quantity, Kind("load per area", "kN/m²", "psf", 2, 1)]
Modulus = Annotated[Quantity, Kind("modulus of elasticity", "GPa", "ksi", 1, 0)]
MassPerLength = Annotated[Quantity, Kind("mass per length", "kg/m", "lb/ft", 3, 3)]
SecondMoment = Annotated[Quantity, Kind("second moment of area", "mm⁴", "in⁴", 0, 1)]
CurrentDensity = Annotated[Quantity, Kind("corrosion current per area", "µA/cm²", "µA/cm²", 2, 2)]
CorrosionRate = Annotated[Quantity, Kind("rate of corrosion", "µm/yr", "thou/yr", 1, 2)]
Duration = Annotated[Quantity, Kind("time", "yr", "yr", 1, 1)]
Years = Annotated[Quantity, Kind("time in years", "yr", "yr", 1, 1)]
Diffusion = Annotated[Quantity, Kind("diffusion coefficient", "mm²/yr", "in²/yr", 1, 4)]
Potential = Annotated[Quantity, Kind("half-cell potential", "mV", "mV", 0, 0)]
PotentialSlope = Annotated[Quantity, Kind("change of potential with temperature", "mV/Δ°C", "mV/Δ°F", 2, 2)]
Penetration = Annotated[Quantity, Kind("penetration of corrosion", "µm", "thou", 1, 2)]
PenetrationRate = Annotated[Quantity, Kind("rate of penetration", "µm/yr", "thou/yr", 2, 3)]
MolarMass = Annotated[Quantity, Kind("molar mass", "g/mol", "g/mol", 3, 3)]
ChargePerMole = Annotated[Quantity, Kind("charge per mole", "C/mol", "C/mol", 1, 1)]
SteelDensity = Annotated[Quantity, Kind("density of steel", "g/cm³", "g/cm³", 2, 2)]
Resistivity = Annotated[Quantity, Kind("resistivity", "kΩ·cm", "kΩ·cm", 1, 1)]
Resistance = Annotated[Quantity, Kind("resistance", "kΩ", "kΩ", 2, 2)]
TemperatureConstant = Annotated[Quantity, Kind("constant of temperature", "K", "K", 0, 0)]
AbsoluteTemperature = Annotated[Quantity, Kind("absolute temperature", "K", "K", 2, 2, kept=True)]
Hours = Annotated[Quantity, Kind("duration in hours", "h", "h", 1, 1)]
Days = Annotated[Quantity, Kind("duration in days", "d", "d", 1, 1)]
RatePerHour = Annotated[Quantity, Kind("rate constant", "h⁻¹", "h⁻¹", 4, 4)]
WindSpeed = Annotated[Quantity, Kind("wind speed", "km/h", "mph", 1, 1)]
VapourPressure = Annotated[Quantity, Kind("vapour pressure", "kPa", "psi", 3, 3)]
Evaporation = Annotated[Quantity, Kind("rate of evaporation", "kg/m²/h", "lb/ft²/h", 2, 3)]
Maturity = Annotated[Quantity, Kind("temperature-time factor", "Δ°C·h", "Δ°F·h", 0, 0)]
ActivationEnergy = Annotated[Quantity, Kind("activation energy", "kJ/mol", "kJ/mol", 1, 1)]
HeatPerMass = Annotated[Quantity, Kind("heat per mass", "kJ/kg", "BTU/lb", 0, 0)]
Irradiance = Annotated[Quantity, Kind("solar radiation on the level", "W/m²", "BTU/h/ft²", 0, 0)]
ThermalResistance = Annotated[Quantity, Kind("thermal resistance", "m²·K/W", "ft²·Δ°F·h/BTU", 2, 1)]
Conductivity = Annotated[Quantity, Kind("thermal conductivity", "W/m/K", "BTU/h/ft/Δ°F", 2, 2)]
SpecificHeat = Annotated[Quantity, Kind("specific heat", "kJ/kg/K", "BTU/lb/Δ°F", 2, 3)]
ExpansionCoefficient = Annotated[Quantity, Kind("coefficient of thermal expansion", "µm/m/K", "µin/in/Δ°F", 1, 1)]
Microstrain = Annotated[Quantity, Kind("strain in millionths", "µm/m", "µin/in", 0, 0)]
Coverage = Annotated[Quantity, Kind("area covered by a volume", "m²/L", "ft²/gal", 2, 0)]
CompoundVolume = Annotated[
    Quantity, Kind("volume of a curing liquid", "L", "gal", 1, 1, si_small=("mL", 0.1, 0), us_small=("fl oz", 0.25, 1))
]
UnitWeight = Annotated[Quantity, Kind("unit weight", "kN/m³", "lbf/ft³", 1, 1)]
Pressure = Annotated[Quantity, Kind("pressure", "kPa", "psf", 2, 1)]
LineLoad = Annotated[Quantity, Kind("load per length", "kN/m", "plf", 2, 1)]
MemberForce = Annotated[Quantity, Kind("force in a member", "kN", "lbf", 2, 0)]
MemberMoment = Annotated[Quantity, Kind("moment in a member", "kN·m", "lbf·ft", 3, 1)]
WoodStress = Annotated[Quantity, Kind("stress", "MPa", "psi", 2, 0)]
Elasticity = Annotated[Quantity, Kind("modulus of elasticity", "MPa", "psi", 0, 0)]
Deflection = Annotated[Quantity, Kind("deflection", "mm", "in", 2, 3)]
SmallArea = Annotated[Quantity, Kind("area of a member", "mm²", "in²", 0, 2)]
SectionModulus = Annotated[Quantity, Kind("section modulus", "mm³", "in³", 0, 2)]
StripMoment = Annotated[Quantity, Kind("moment per width", "N·m/m", "lbf·ft/ft", 1, 1)]
StripModulus = Annotated[Quantity, Kind("section modulus per width", "mm³/m", "in³/ft", 0, 3)]
StripSecondMoment = Annotated[Quantity, Kind("second moment of area per width", "mm⁴/m", "in⁴/ft", 0, 3)]
StripStiffness = Annotated[Quantity, Kind("bending stiffness per width", "kN·m²/m", "lbf·in²/ft", 3, 0)]
BeamStiffness = Annotated[Quantity, Kind("bending stiffness", "kN·m²", "lbf·in²", 2, 0)]
StripShear = Annotated[Quantity, Kind("rolling shear constant per width", "mm²/m", "in²/ft", 0, 3)]
Liquid = Annotated[
    Quantity, Kind("volume of liquid", "L", "gal", 2, 2, si_small=("mL", 0.1, 0), us_small=("fl oz", 0.25, 1))
]
RoadSpeed = Annotated[Quantity, Kind("speed of traffic", "km/h", "mph", 0, 0)]
RoadLength = Annotated[Quantity, Kind("length along the road", "m", "ft", 1, 1, significant=(3, 2))]
LaneWidth = Annotated[Quantity, Kind("width of a lane", "m", "ft", 2, 1, kept=True)]
Grade = Annotated[Quantity, Kind("grade of a road", "%", "%", 1, 1)]
Seconds = Annotated[Quantity, Kind("duration in seconds", "s", "s", 1, 1)]
Deceleration = Annotated[Quantity, Kind("deceleration", "m/s²", "ft/s²", 2, 2)]
Minutes = Annotated[Quantity, Kind("duration in minutes", "min", "min", 0, 0)]
SoundLevel = Annotated[Quantity, Kind("sound level in dBA", "", "", 0, 0)]
ExposureHours = Annotated[Quantity, Kind("hours of exposure", "h", "h", 2, 2)]
TimePerLength = Annotated[Quantity, Kind("time for a length", "min/m", "min/ft", 1, 1)]
TimePerArea = Annotated[Quantity, Kind("time for an area", "min/m²", "min/ft²", 0, 1)]
TimePerVolume = Annotated[Quantity, Kind("time for a volume", "min/m³", "min/ft³", 0, 1)]
Twist = Annotated[Quantity, Kind("angle of twist in degrees", "", "", 0, 0)]
LiftRate = Annotated[Quantity, Kind("rate of lifting", "1/min", "1/min", 1, 1)]
HandVibration = Annotated[Quantity, Kind("hand-arm vibration", "m/s²", "m/s²", 1, 1)]
FuelRate = Annotated[Quantity, Kind("rate of fuel", "L/h", "gal/h", 1, 2)]
MassPerArea = Annotated[Quantity, Kind("mass per area", "kg/m²", "lb/ft²", 2, 3)]
WaterFlow = Annotated[Quantity, Kind("flow of water", "L/min", "gal/min", 1, 2)]
SlurryVolume = Annotated[Quantity, Kind("volume of slurry", "L", "gal", 0, 0)]
DustLevel = Annotated[Quantity, Kind("dust in the air", "µg/m³", "µg/m³", 0, 0)]
PH = Annotated[Quantity, Kind("pH", "", "", 1, 1, kept=True)]
FineMinutes = Annotated[Quantity, Kind("duration in minutes", "min", "min", 2, 2)]
Chance = Annotated[Quantity, Kind("probability of opening on time", "%", "%", 2, 2, kept=True)]
PlacingRate = Annotated[Quantity, Kind("rate of placing", "m³/h", "yd³/h", 2, 2)]


def kind_of(annotation: Any) -> Kind:
    """Return the `Kind` in a type such as `Length`."""
    return next(item for item in get_args(annotation) if isinstance(item, Kind))


def read(text: object, kind: Any) -> Quantity:
    r"""Read a quantity as people write it.

    Parameters
    ----------
    text : str or float
        ``"65 mm"``, ``"2 1/2 in"``, ``"2'-6½\""``, ``"15 °C"``, ``"5.5 %"``, ``"12+34.5 ft"`` (a station, where the kind is a
        distance), ``"#5"`` or ``"Ø16"`` (a bar size, read as its nominal diameter); a bare number only where the kind has no
        dimension. See `deckcalc.core.spelling` for all forms of a number.
    kind : Kind or type
        What is expected, for instance `Length`.

    Returns
    -------
    Quantity
        In the unit that was written.

    Raises
    ------
    InputError
        If it is no number with a unit, could be two, or is a quantity of another kind. A temperature is never taken for a
        difference of temperatures, nor the reverse.

    Examples
    --------
    >>> read("2 1/2 in", Length).to("mm").magnitude
    63.5
    >>> read("#5", Diameter).magnitude
    0.625
    """
    kind = kind if isinstance(kind, Kind) else kind_of(kind)
    wanted = kind.a_name + ("" if kind.dimensionless else f", for instance “{example(kind)}”")
    huge = isinstance(text, int) and abs(text) >= 10**LONGEST_QUANTITY
    written = "" if huge else " ".join(str(text).split())
    if huge or len(written) > LONGEST_QUANTITY:
        raise InputError(f"found “{clipped(text)}”, wanted {wanted}, in at most {LONGEST_QUANTITY} characters")
    if not written.isprintable():
        raise InputError(f"found “{clipped(written)}” with a sign that cannot be printed; wanted {wanted}")
    plain = spelling.plain(written)
    if any(sign.isnumeric() and not sign.isascii() and ord(sign) not in spelling.SUPERSCRIPTS for sign in plain):
        raise InputError(f"found “{written}”: write numbers with 0 to 9, -, . and /, as in 2 1/2; wanted {wanted}")
    if isinstance(text, bool) or not written:
        raise InputError(f"found “{written}”, wanted {wanted}")
    if (sized := SIZED.match(plain)) and kind.dimensionality == unit("mm").dimensionality:
        rest = plain[sized.end() :]
        if sized["bar"] or rest.isdigit():
            return _of_bar(plain)
        plain = rest
    return _read(plain, written, kind, wanted)


def _of_bar(size: str) -> Quantity:
    """Return the nominal diameter of a bar size."""
    try:
        bar = tables.bar(size)
    except tables.TableError as error:
        raise InputError(str(error)) from None
    column = "in" if bar["d [in]"] else "mm"
    return registry().Quantity(float(bar[f"d [{column}]"]), unit(column))


def _read(plain: str, written: str, kind: Kind, wanted: str) -> Quantity:
    """Read a number with its unit, in signs of the typewriter."""
    along = kind.si == "m"
    found = spelling.readings(plain, along)
    if len(found) > 1:
        raise InputError(f"found “{written}”, which may be {' or '.join(map(str, found))}; write one of them")
    if not found:
        hint = spelling.right(plain, along)
        raise InputError(f"found “{written}”{f': {hint};' if hint else ','} wanted {wanted}")
    number = float(found[0].number)
    lost = not number and re.match(r"[-+.0]*[1-9]", plain)  # too small for a number of the machine
    if lost or not math.isfinite(number):
        raise InputError(
            f"found “{written}”, which is {'too small a' if lost else 'no finite'} number; wanted {wanted}"
        )
    if not found[0].unit and not kind.dimensionless:
        raise InputError(f"found “{written}” without a unit, wanted {wanted}")
    try:
        units = unit_of(found[0].unit, kind)
    except InputError as error:
        raise InputError(
            f"found “{clipped(written)}”: {spelling.right(plain, along) or error}; wanted {wanted}"
        ) from None
    try:
        kind.scale(units)
    except InputError:
        raise InputError(f"found “{written}”, which is no {kind.name}; wanted {wanted}") from None
    return registry().Quantity(number, units)


def example(kind: Kind) -> str:
    """Return a quantity of the kind as it would be written."""
    return f"{10:g} {kind.symbol(SPOKEN.get() or 'SI')}".strip()


def pretty(units: Unit) -> str:
    """Return a unit as text, for messages."""
    return in_words_of_the_trade(f"{units:~P}") or "a bare number"


def text(quantity: Quantity, digits: str = "") -> str:
    """Return a quantity as text in the unit that it has, whatever format its registry prints.

    Examples
    --------
    >>> text(read("250 thou", Diameter), "g"), text(read("1/3 in", Length), ".3g")
    ('250 thou', '0.333 in')
    """
    return in_words_of_the_trade(f"{quantity:{digits}~P}")


def in_words_of_the_trade(text: str) -> str:
    """Put the names that people write in place of those of the registry for a thousandth of an inch and a year."""
    return re.sub(r"(?<![\w'])(th|a)(?!\w)", lambda found: {"th": "thou", "a": "yr"}[found[0]], text)


def magnitude(quantity: Any, kind: Kind, system: str) -> Any:
    """Return the number in the unit that the kind is printed in."""
    if not isinstance(quantity, Quantity):
        quantity = registry().Quantity(quantity, "")
    return quantity.m_as(kind.unit(system))


def trade_decimals(value: float, kind: Kind, system: str, significant: int = 3) -> int:
    """Return the decimals of a proof value to begin with: those of the kind, more where the value is so small that digits would be lost.

    A probability stays at a hundredth of one per cent: smaller ones are nothing to the trade.
    """
    least = kind.decimals(system)
    needed = least if kind.name == "count" else small_decimals(value, least, significant)
    return min(needed, 2) if kind.name == "probability" else needed


def quantity(value: Any, unit: str | Unit = "") -> Quantity:
    """Return a number or array with a unit of the registry.

    Examples
    --------
    >>> quantity(2.5, "m").to("mm").magnitude
    2500.0
    """
    ureg = registry()
    return ureg.Quantity(value, _unit_named(unit, ureg) if isinstance(unit, str) else unit)


@cache
def _unit_named(text: str, ureg: pint.UnitRegistry) -> Unit:
    return ureg.Unit(text)


def number(value: Quantity, unit: str) -> float:
    """Return a single quantity as a plain number of a unit; those of long tables are converted once.

    Examples
    --------
    >>> number(quantity(2.5, "m"), "mm")
    2500.0
    """
    return _number(value.magnitude, value.units, unit, registry())


@lru_cache(maxsize=16384)
def _number(value: float, unit: Unit, wanted: str, ureg: pint.UnitRegistry) -> float:
    return float(ureg.Quantity(value, ureg.Unit(str(unit))).m_as(wanted))


def show(quantity: Any, kind: Any, system: str, decimals: int | None = None, rounding: str = "") -> str:
    """Print a quantity as people use it: a decision value, or with given decimals.

    Parameters
    ----------
    quantity : Quantity or float
        Scalar, or one-dimensional array (printed as a list with the unit once).
    kind : Kind or type
    system : {"SI", "US"}
    decimals : int, optional
        In the unit of the kind, instead of the digits of a decision value (see `deckcalc.core.digits`).
    rounding : str, optional
        Of the decimal module, half up if empty (what is ordered: up); see `show_at_most` and `show_at_least` for values
        that people keep to.

    Returns
    -------
    str

    Examples
    --------
    >>> show(read("305 lb/yd^3", Content), Content, "SI"), show(0.125, Share, "US")
    ('181 kg/m³', '12.5 %')
    >>> show(read("30.49 in", Length), Distance, "US"), show(read("8.84 lbf", Force), Force, "US")
    ('2 ft 6 1/2 in', '9 lbf')
    """
    kind = kind if isinstance(kind, Kind) else kind_of(kind)
    values = [float(v) for v in np.atleast_1d(magnitude(quantity, kind, system))]
    rounding = rounding or (ROUND_CEILING if kind.up and decimals is None else ROUND_HALF_UP)
    if decimals is None:
        values = [0.0 if abs(value) < digits.NOISE else value for value in values]
        taped = [taken(value, kind, system, rounding) for value in values]
        if all(taped):
            return ", ".join(taped)
        if len(values) == 1:
            return decided(values[0], kind, system, rounding)
        decimals = max(decision_decimals(value, kind, system) for value in values)
    numbers = ", ".join(fixed(value, decimals, rounding) for value in values)
    return f"{numbers} {kind.symbol(system)}".strip()


def taken(value: float, kind: Kind, system: str, rounding: str = ROUND_HALF_UP) -> str:
    """Return a magnitude as a tape shows it; empty where the system or the kind has none, or the tape does not show it."""
    feet = kind.tape == "ft"
    return digits.tape(value * (12 if feet else 1), feet, rounding) if kind.tape and system == "US" else ""


def on_the_tape(value: float, kind: Kind) -> bool:
    """Whether a magnitude in the US unit of a kind falls on a mark of the tape."""
    return digits.on_the_tape(value * (12 if kind.tape == "ft" else 1))


def decision_decimals(value: float, kind: Kind, system: str) -> int:
    """Return the decimals of a decision value."""
    most = kind.decimals(system)
    if kind.kept or kind.whole:
        if kind.tape == "ft" and system == "SI":  # metres, to the millimetre where it has any
            return max(most, exact_decimals(float(fixed(value, 3))) or 0)
        needed = small_decimals(value, most, 2)
        return min(needed, 2) if "probability" in kind.name else most if kind.whole else needed
    return digits.decision_decimals(value, most, kind.significant[system == "US"])


def show_given(quantity: Any, kind: Any, system: str) -> str:
    """Print a value that somebody set, with all its digits up to four decimals.

    Examples
    --------
    >>> show_given(read("2.5 in", Length), Length, "US"), show_given(read("1/16 in", Length), Length, "US")
    ('2 1/2 in', '0.0625 in')
    """
    kind = kind if isinstance(kind, Kind) else kind_of(kind)
    value = float(magnitude(quantity, kind, system))
    if kind.tape and system == "US" and on_the_tape(value, kind):
        return taken(value, kind, system)
    exact = exact_decimals(value, 4)
    return show(quantity, kind, system, kind.decimals(system) if exact is None else exact)


def head(kind: Kind, system: str) -> str:
    """Return the unit that the head of a column names: none where every cell has its own, as feet and inches."""
    return "" if kind.tape == "ft" and system == "US" else kind.symbol(system)


def cell(quantity: Any, kind: Any, system: str, decimals: int | None = None) -> str:
    """Print a quantity under a head with its unit: a decision value, or with given decimals where no tape shows it.

    Examples
    --------
    >>> cell(read("2 1/2 in", Length), Length, "US"), cell(read("30 in", Length), Distance, "US"), cell(0.5, Ratio, "US", 3)
    ('2 1/2', '2 ft 6 in', '0.500')
    """
    kind = kind if isinstance(kind, Kind) else kind_of(kind)
    value = float(magnitude(quantity, kind, system))
    if taped := taken(value, kind, system):
        return taped.removesuffix(" in") if kind.tape == "in" else taped
    if not head(kind, system) and kind.symbol(system):
        return decided(value, kind, system)
    return fixed(value, decision_decimals(value, kind, system) if decimals is None else decimals)


def smaller(kind: Kind, system: str, value: float) -> tuple[str, int, float]:
    """Return the unit that people take for a value of this size, its decimals, and the factor to it: 1 for the usual unit."""
    symbol, below, most = kind.si_small if system == "SI" else kind.us_small
    if not value or abs(value) >= below:
        return kind.symbol(system), kind.decimals(system), 1.0
    return symbol, most, float(quantity(1.0, kind.unit(system)).m_as(unit(symbol)))


def show_beside(
    value: Any, limit: Any, kind: Any, system: str, holds: Callable[[float, float], bool]
) -> tuple[str, str]:
    """Print a value and the limit that it is held against, with enough digits that the print tells the verdict.

    Parameters
    ----------
    value, limit : Quantity
    kind : Kind or type
    system : {"SI", "US"}
    holds : function
        Whether a value keeps to a limit, both in one unit.

    Examples
    --------
    >>> at_least = lambda value, limit: value >= limit
    >>> show_beside(read("1.97 in", Length), read("2 in", Length), Length, "US", at_least)
    ('1.97 in', '2.00 in')
    >>> show_beside(read("2.6 in", Length), read("2 in", Length), Length, "US", at_least)
    ('2 5/8 in', '2 in')
    """
    kind = kind if isinstance(kind, Kind) else kind_of(kind)
    a, b = (float(magnitude(one, kind, system)) for one in (value, limit))
    true = holds(a, b)
    taped = taken(a, kind, system), taken(b, kind, system)
    if all(taped):
        shown = [float(magnitude(read(one, kind), kind, system)) for one in taped]
        if math.isclose(shown[1], b, rel_tol=1e-9, abs_tol=1e-9) and holds(*shown) == true:
            return taped
    symbol, most, factor = smaller(kind, system, max(abs(a), abs(b)))
    a, b = a * factor, b * factor
    needed = [
        min(most, digits.decision_decimals(x, most) if factor != 1 else decision_decimals(x, kind, system))
        for x in (a, b)
    ]
    start = max(*needed, exact_decimals(b, 4) or 0)
    for decimals in range(start, start + 12):
        texts = fixed(a, decimals), fixed(b, decimals)
        if holds(*map(float, texts)) == true:
            break
    return f"{texts[0]} {symbol}".strip(), f"{texts[1]} {symbol}".strip()


def decided(value: float, kind: Kind, system: str, rounding: str = ROUND_HALF_UP) -> str:
    """Print a magnitude that no tape shows as a decision value, in the unit that people take for its size."""
    symbol, most, factor = smaller(kind, system, value)
    if factor != 1:
        return f"{fixed(value * factor, digits.decision_decimals(value * factor, most), rounding)} {symbol}"
    if abs(value) >= digits.LARGE and math.isfinite(value) and not kind.kept:
        return f"{digits.large(value, rounding)} {kind.symbol(system)}".strip()
    return f"{fixed(value, decision_decimals(value, kind, system), rounding)} {kind.symbol(system)}".strip()


def show_at_most(quantity: Any, kind: Any, system: str, decimals: int | None = None) -> str:
    """Print what may not be exceeded: rounded down, so that who keeps to the print keeps to the value.

    Examples
    --------
    >>> show(read("20.8 min", Minutes), Minutes, "SI"), show_at_most(read("20.8 min", Minutes), Minutes, "SI")
    ('21 min', '20 min')
    """
    return show(quantity, kind, system, decimals, ROUND_FLOOR)


def show_at_least(quantity: Any, kind: Any, system: str, decimals: int | None = None) -> str:
    """Print what has to be reached, or what a limit is set to: rounded up, so that who reaches the print reaches the value.

    Examples
    --------
    >>> show(read("92.1 mm", Length), Length, "SI"), show_at_least(read("92.1 mm", Length), Length, "SI")
    ('92 mm', '93 mm')
    """
    return show(quantity, kind, system, decimals, ROUND_CEILING)


if type(pint.application_registry.get()) is pint.LazyRegistry:
    pint.application_registry.get().__class__ = Waiting  # as pint does itself when it builds the registry
elif type(pint.application_registry.get()) is not Waiting:
    with suppress(InputError):  # said when the first quantity is made
        registry()
