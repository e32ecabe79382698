"""Strength before which the soffit form of a full-depth hole is not stripped."""

from __future__ import annotations

from typing import Annotated

from deckcalc.core.calculation import Range, calculation
from deckcalc.core.sources import Cite
from deckcalc.core.units import Share, Stress


@calculation(
    title="Strength to strip the form",
    source=Cite(
        "",
        "soffit forms of slabs come off at a share of the specified strength, if their designer agrees",
        "common practice",
    ),
    notes=("Shown by cylinders cured beside the patch, by maturity or by pull-out, and by the word of the engineer.",),
)
def stripping_strength(
    f_c: Annotated[Stress, Range("10 MPa", "100 MPa")], q_s: Annotated[Share, Range("30 %", "100 %")]
) -> Stress:
    r"""Strength of the concrete in place before its soffit form is stripped.

    .. math:: f_s = q_s f'_c

    Parameters
    ----------
    f_c : quantity of stress
        specified strength at 28 days
    q_s : quantity without dimension
        share of it, the limit `stripping_share`

    Returns
    -------
    Stress
        `f_s`, strength to strip the form.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{stripping_strength(Q(5000, 'psi'), Q(70, '%')).to('psi'):.0f~P}"
    '3500 psi'
    """
    f_s = q_s * f_c  # strength to strip the form
    return f_s
