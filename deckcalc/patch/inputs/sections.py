"""Sections of the job file that concern patches: how limits are marked, allowances, haulage, what is tried out."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from deckcalc.base.fields import InRange, Remark, Strict, Text
from deckcalc.core.units import AreaPrice, CutPrice, Length, Mass, Price, Quantity, Share, Volume


class Longer(Strict):
    """A patch that the engineer makes longer than its unsound concrete asks for."""

    along: Annotated[Quantity | None, InRange(Length, "1 mm", "3000 mm")] = Field(
        None, description="added to its length in all, half at either end"
    )
    across: Annotated[Quantity | None, InRange(Length, "1 mm", "3000 mm")] = Field(
        None, description="added to its width in all, half at either side"
    )
    why: Text = Field(description="what it is for, for instance the laps of added bars")


class Marking(Strict):
    """How limits are marked; margin, merge distance and minimum side are limits."""

    direction: Literal["centreline", "skew"] = Field(
        "centreline", description="sides along the centreline, or the skew"
    )
    removal_price: Annotated[Quantity | None, InRange(AreaPrice, "0.01 1/m^2", "1000000000 1/m^2")] = Field(
        None, description="price of an area removed and replaced, to choose between one rectangle and several"
    )
    cut_price: Annotated[Quantity | None, InRange(CutPrice, "0 1/m", "1000000000 1/m")] = Field(
        None, description="price of a length of saw cut"
    )
    piece_price: Annotated[Quantity | None, InRange(Price, "0", "1000000000")] = Field(
        None, description="price of every rectangle by itself: setting up, edges, finishing"
    )
    narrow_strip: Literal["leave", "take out"] = Field(
        "leave",
        description="sound concrete between a patch and a joint, deck end or kerb that is nearer than merge_distance",
    )
    longer: dict[str, Longer] = Field(
        default_factory=dict, description="patches that are made longer, one entry for each by its number"
    )


class Removal(Strict):
    """Allowances for removal and placing; none is published with authority, so each is the engineer's."""

    overbreak: Annotated[Quantity, InRange(Share, "0 %", "60 %")] = Field(
        description="concrete broken out beyond the measured volume"
    )
    overbreak_source: Text = Field(description="where the allowance comes from")
    growth: Annotated[Quantity | None, InRange(Share, "0 %", "100 %")] = Field(
        None, description="growth of the unsound volume between survey and removal; none if left out"
    )
    growth_source: Remark = Field("", description="where the growth comes from")
    undercut: Annotated[Quantity | None, InRange(Length, "0 mm", "100 mm")] = Field(
        None, description="undercut of the edges at the floor; none if left out"
    )
    grout: Annotated[Quantity | None, InRange(Length, "0.2 mm", "10 mm")] = Field(
        None, description="thickness of a bonding grout; none if left out"
    )
    full_depth_rule: Literal["share of the slab", "bottom mat"] = Field(
        "share of the slab",
        description="what makes a place full depth: a share of the slab, or reach of the bottom mat",
    )
    full_depth_area: Literal["whole patch", "where deep"] = Field(
        "whole patch", description="whether one deep place takes the whole patch through, or only the part that is deep"
    )
    bag_yield: Annotated[Quantity | None, InRange(Volume, "1 L", "60 L")] = Field(
        None, description="yield of a bag of packaged repair concrete, if that is used"
    )


class Haulage(Strict):
    """How debris is hauled away."""

    bulking: Annotated[Quantity, InRange(Share, "0 %", "150 %")] = Field(
        description="loose over solid volume, less one"
    )
    truck_mass: Annotated[Quantity, InRange(Mass, "100 kg", "40000 kg")] = Field(description="mass a truck may carry")
    truck_volume: Annotated[Quantity, InRange(Volume, "0.1 m^3", "40 m^3")] = Field(description="volume a truck holds")


class Sensitivity(Strict):
    """Between what the order volume is tried out."""

    margin: Annotated[
        list[Annotated[Quantity, InRange(Length, "0 mm", "300 mm")]], Field(min_length=2, max_length=2)
    ] = Field(description="minimum and maximum margin tried")
    depth: Annotated[Quantity, InRange(Length, "0 mm", "100 mm")] = Field(
        description="every reading so much less and more"
    )
    overbreak: Annotated[
        list[Annotated[Quantity, InRange(Share, "0 %", "60 %")]], Field(min_length=2, max_length=2)
    ] = Field(description="minimum and maximum overbreak tried")
    waste: Annotated[list[Annotated[Quantity, InRange(Share, "0 %", "60 %")]], Field(min_length=2, max_length=2)] = (
        Field(description="minimum and maximum waste tried")
    )
