"""Published chloride thresholds, each with its basis, extraction and meaning; bases are never mixed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from deckcalc.core import tables, units
from deckcalc.core.sources import PROVENANCES, Cite
from deckcalc.core.units import ChlorideContent, ChlorideShare, InputError, Kind, Quantity

BASES = ("volume", "concrete", "cement", "cementitious")
EXTRACTIONS = ("acid-soluble", "water-soluble", "total", "not stated")


@dataclass(frozen=True)
class Threshold:
    """A published chloride content that others are held against.

    Attributes
    ----------
    key : str
    value : Quantity
        As printed: per volume of concrete, or a share by mass.
    printed : str
        The same as text, with the unit.
    also : str
        What the source prints for it in another unit or on another basis, if it does.
    basis : {"volume", "concrete", "cement", "cementitious"}
        What it is stated per.
    extraction : {"acid-soluble", "water-soluble", "total", "not stated"}
        Which chloride it counts.
    meaning : str
        What reaching it says.
    applies_to : str
        Bar, concrete or exposure that it was stated for.
    source : Cite
    """

    key: str
    value: Quantity
    printed: str
    also: str
    basis: str
    extraction: str
    meaning: str
    applies_to: str
    source: Cite

    @property
    def kind(self) -> Kind:
        """Chloride content for a threshold per volume, chloride share for the others."""
        return units.kind_of(ChlorideContent if self.basis == "volume" else ChlorideShare)

    def mismatch(self, basis: str, extraction: str) -> str:
        """Say why a result on this basis cannot be held against the threshold as it stands; empty if it can.

        Parameters
        ----------
        basis : {"volume", "concrete", "cement", "cementitious"}
        extraction : {"acid-soluble", "water-soluble", "total", "not stated"}

        Raises
        ------
        InputError
            If a word is none of these.

        Examples
        --------
        >>> threshold("fdot-conservative").mismatch("volume", "water-soluble")
        'the threshold counts acid-soluble chloride, the result water-soluble'
        """
        for word, known, what in ((basis, BASES, "basis"), (extraction, EXTRACTIONS, "extraction")):
            if word not in known:
                raise InputError(f"{what} is “{word}”, wanted one of {', '.join(known)}")
        why = []
        if basis != self.basis:
            why.append(f"the threshold is stated per {self.basis}, the result per {basis}")
        if "not stated" in (extraction, self.extraction):
            who = "the threshold" if self.extraction == "not stated" else "the result"
            why.append(f"{who} does not say which chloride it counts")
        elif extraction != self.extraction:
            why.append(f"the threshold counts {self.extraction} chloride, the result {extraction}")
        return "; ".join(why)

    def same_basis(self, basis: str, extraction: str) -> bool:
        """Whether a result stated so may be held against the threshold as it stands."""
        return not self.mismatch(basis, extraction)


@cache
def thresholds() -> dict[str, Threshold]:
    """Return all thresholds by key, in the order of the table.

    Examples
    --------
    >>> thresholds()["clear-1976"].source.provenance
    'memory'
    """
    return {row["key"]: _threshold(row) for row in tables.load("chloride_thresholds").rows}


def _threshold(row: dict[str, str]) -> Threshold:
    key, basis, extraction, provenance = row["key"], row["basis"], row["extraction"], row["provenance"]
    if basis not in BASES or extraction not in EXTRACTIONS or provenance not in PROVENANCES:
        raise tables.TableError(f"chloride threshold “{key}” has a basis, extraction or provenance that is not known")
    printed = f"{row['value']} {row['unit']}"
    value = units.read(printed, ChlorideContent if basis == "volume" else ChlorideShare)
    cite = Cite(row["source"], row["where"], provenance)  # type: ignore[arg-type]
    return Threshold(key, value, printed, row["also"], basis, extraction, row["meaning"], row["applies to"], cite)


def threshold(key: str) -> Threshold:
    """Return one threshold.

    Parameters
    ----------
    key : str
        As in the table of thresholds, for instance ``fdot-conservative``.

    Raises
    ------
    TableError
        If there is none of that key; the message lists what there is.

    Examples
    --------
    >>> f"{threshold('fdot-conservative').value:~P}"
    '1.2 lb/yd³'
    """
    found = thresholds().get(key)
    if found is None:
        raise tables.TableError(f"there is no chloride threshold “{key}”; there are {', '.join(thresholds())}")
    return found
