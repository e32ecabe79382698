"""Concretes that the job gives by their contents, as on a delivery ticket, and quantities that may be written in two ways."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field
from pydantic_core import core_schema

from deckcalc.base.fields import InRange, Strict, Text
from deckcalc.core import units
from deckcalc.core.units import (
    Density,
    Dose,
    Hours,
    InputError,
    Length,
    Mass,
    Quantity,
    Ratio,
    Share,
    Stress,
    Temperature,
)
from deckcalc.mix.formulas.contents import DoseByMass, LoadVolume, WaterVolume


@dataclass(frozen=True)
class EitherOf:
    """A field that holds a quantity of one kind or of another, told apart by its unit."""

    ranges: tuple[InRange, ...]

    def read(self, value: object) -> Quantity:
        """Read the field by the range whose kind its unit has."""
        fault = ""
        for one in self.ranges:
            try:
                units.read(value, one.kind)
            except InputError as error:
                kind = units.kind_of(one.kind)
                fault = f"{fault}; or {kind.a_name}, for instance “{units.example(kind)}”" if fault else str(error)
            else:
                return one.one(value)
        raise InputError(fault)

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        """Let pydantic read the field with `read`."""
        return core_schema.no_info_plain_validator_function(self.read)


#: Water is weighed, or metered in litres or gallons.
Water = Annotated[Quantity, EitherOf((InRange(Mass, "0 kg", "20000 kg"), InRange(WaterVolume, "0 L", "20000 L")))]
#: Where proportions leave the solids of admixtures out of the volume.
SMALL_DOSE = EitherOf((InRange(Dose, "0 mL/100 kg", "6000 mL/100 kg"), InRange(DoseByMass, "0 g/kg", "60 g/kg")))
LATEX_DOSE = EitherOf((InRange(Dose, "0 mL/100 kg", "45000 mL/100 kg"), InRange(DoseByMass, "0 g/kg", "450 g/kg")))
LoadMass = Annotated[Quantity, InRange(Mass, "0 kg", "40000 kg")]
Relative = Annotated[Quantity, InRange(Ratio, "2.0", "3.5")]


ShareOfBinder = Annotated[Quantity, InRange(Share, "0 %", "75 %")]
#: A row of the tables hydration_heat and strength_age.
Cement = Literal["I", "II", "III", "V"]


class Supplementary(Strict):
    """Supplementary cementitious materials, which replace part of the portland cement."""

    shares: Literal["by mass", "by volume"] = Field("by mass", description="of all cementitious material")
    fly_ash: ShareOfBinder = Field(
        "0 %", validate_default=True, description="share of fly ash in the cementitious material"
    )
    slag: ShareOfBinder = Field("0 %", validate_default=True, description="share of slag cement")
    silica_fume: ShareOfBinder = Field("0 %", validate_default=True, description="share of silica fume")
    fly_ash_density: Annotated[Quantity, InRange(Ratio, "1.8", "3.2")] = Field(
        "2.40", validate_default=True, description="relative density of fly ash"
    )
    slag_density: Annotated[Quantity, InRange(Ratio, "1.8", "3.2")] = Field(
        "2.90", validate_default=True, description="relative density of slag cement"
    )
    silica_fume_density: Annotated[Quantity, InRange(Ratio, "1.8", "3.2")] = Field(
        "2.20", validate_default=True, description="relative density of silica fume"
    )

    @property
    def used(self) -> bool:
        """Whether the concrete has any of them."""
        return any(part.magnitude for part in (self.fly_ash, self.slag, self.silica_fume))


class Latex(Strict):
    """A latex whose solids and water both count in the volume."""

    dose: Annotated[Quantity, LATEX_DOSE] = Field(
        description="on the cementitious material, in mL/100 kg, fl oz/cwt or g/kg"
    )
    density: Annotated[Quantity, InRange(Density, "900 kg/m^3", "1500 kg/m^3")] = Field(
        description="density of the latex as delivered"
    )
    solids: Annotated[Quantity, InRange(Share, "0 %", "70 %")] = Field(description="by mass")


class OfConcrete(Strict):
    """What the job may say of any concrete."""

    placed_least: Annotated[Quantity | None, InRange(Temperature, "0 °C", "30 °C")] = Field(
        None, description="minimum temperature at which it may be placed; left out, the limit concrete_cold"
    )
    placed_most: Annotated[Quantity | None, InRange(Temperature, "5 °C", "45 °C")] = Field(
        None, description="maximum temperature at which it may be placed; left out, the limit concrete_hot"
    )
    moist: Annotated[Quantity | None, InRange(Hours, "1 h", "672 h")] = Field(
        None,
        description="moist curing that it wants, by its manufacturer or the engineer; left out, the limit curing_time",
    )


class GivenConcrete(OfConcrete):
    """A concrete given by its contents, as on a delivery ticket or a supplier's submittal."""

    kind: Literal["given contents", "ready-mixed", "volumetric"] = Field(description="how it is made")
    cement: Cement = Field(description="type of its cement, a row of the tables hydration_heat and strength_age")
    supplementary: Supplementary = Field(default_factory=lambda: Supplementary.model_validate({}))
    slump: Annotated[Quantity | None, InRange(Length, "25 mm", "280 mm")] = Field(
        None, description="slump at placing, by the submittal"
    )
    temperature: Annotated[Quantity | None, InRange(Temperature, "1 °C", "45 °C")] = Field(
        None, description="of the fresh concrete as it is delivered"
    )
    source: Text = Field(description="ticket or submittal with these masses")
    volume: Annotated[Quantity, InRange(LoadVolume, "0.1 L", "20 m^3")] = Field(
        description="volume that the masses are said to make"
    )
    cementitious: Annotated[Quantity, InRange(Mass, "0.01 kg", "20000 kg")] = Field(
        description="all cementitious material"
    )
    coarse: LoadMass = Field(description="as weighed")
    fine: LoadMass = Field(description="as weighed")
    water: Water = Field(description="weighed, or by volume, with that of the admixtures and any added on the way")
    absorption_coarse: Annotated[Quantity, InRange(Share, "0 %", "15 %")] = Field(
        "0 %", validate_default=True, description="absorption of the coarse aggregate"
    )
    absorption_fine: Annotated[Quantity, InRange(Share, "0 %", "15 %")] = Field(
        "0 %", validate_default=True, description="absorption of the fine aggregate"
    )
    moisture_coarse: Annotated[Quantity | None, InRange(Share, "0 %", "20 %")] = Field(
        None, description="total moisture as weighed; leave out where the mass is saturated surface-dry"
    )
    moisture_fine: Annotated[Quantity | None, InRange(Share, "0 %", "20 %")] = Field(
        None, description="total moisture as weighed; leave out where the mass is saturated surface-dry"
    )
    cementitious_density: Relative = Field(description="relative density of the cementitious material together")
    coarse_density: Relative = Field(description="relative density, saturated surface-dry")
    fine_density: Relative = Field(description="relative density, saturated surface-dry")
    size: Annotated[Quantity, InRange(Length, "9 mm", "80 mm")] = Field(
        description="nominal maximum size of the coarse aggregate"
    )
    air: Annotated[Quantity, InRange(Share, "0 %", "15 %")] = Field(
        description="as measured, or as the supplier states"
    )
    strength: Annotated[Quantity, InRange(Stress, "15 MPa", "80 MPa")] = Field(
        description="specified strength at 28 days"
    )
    latex: Latex | None = None
