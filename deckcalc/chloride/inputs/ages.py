"""Ages of one deck held against one another: exposure, year built, years of exposure and sampling, age of the corrosion."""

from __future__ import annotations

from deckcalc.core.units import Quantity

#: Years by which ages counted in whole years may differ.
WHOLE = 1.0


def age_faults(
    age: Quantity, *, exposed_since: int | None = None, sampled: int | None = None, built: int | None = None,
    corrosion_age: Quantity | None = None,
) -> list[str]:  # fmt: skip
    """Say which ages of a deck contradict one another; what is not given is not compared.

    Parameters
    ----------
    age : quantity of time
        Exposure when the cores were taken.
    exposed_since, sampled, built : int, optional
        Years in which the exposure began, the cores were taken, the deck was cast.
    corrosion_age : quantity of time, optional
        Years since corrosion began, at the time of the cores.

    Returns
    -------
    list of str
        A sentence for each contradiction.

    Examples
    --------
    >>> from deckcalc import Q
    >>> age_faults(Q(24, "yr"), built=1968, sampled=2024)
    ['the exposure of 24 yr is 32 years shorter than the age of a deck built in 1968 and sampled in 2024: state exposed_since']
    """
    years, found = float(age.m_as("yr")), []
    if exposed_since is not None and built is not None and exposed_since < built:
        found.append(f"exposed since {exposed_since}, before the deck was built in {built}")
    if exposed_since is not None and sampled is not None and abs(sampled - exposed_since - years) > WHOLE:
        found.append(f"the exposure of {years:g} yr does not reach from {exposed_since} to {sampled}")
    if exposed_since is None and built is not None and sampled is not None:
        off = sampled - built - years
        if abs(off) > WHOLE:
            found.append(
                f"the exposure of {years:g} yr is {abs(off):g} years {'shorter' if off > 0 else 'longer'} than the age of a deck "
                f"built in {built} and sampled in {sampled}" + (": state exposed_since" if off > 0 else "")
            )
    if corrosion_age is not None and float(corrosion_age.m_as("yr")) > years + WHOLE:
        found.append(
            f"corrosion is said to be {corrosion_age.m_as('yr'):g} yr old, longer than the exposure of {years:g} yr"
        )
    return found
