"""How much each species moves with moisture: the coefficients of dimensional change and the total shrinkages.

From the USDA Wood Handbook, FPL-GTR-190 (2010): coefficients per 1 % of moisture from Table 13-5, shrinkage in per
cent from green to ovendry from Tables 4-3 and 4-4. Each pair of figures carries its mark: ``seen`` in a stored page of
the source; ``quoted``, on a page that quotes it; ``memory``; ``checked``, from memory but worked out again to the last
digit from a seen figure; ``scrambled``, seen in a copy whose columns had run together; ``estimated`` from the
shrinkages, since the table has no such row.

Imported species do not follow from Table 4-4, and the two commercial oak groups are averages: their rows stand as
printed and are not to be worked out from one another.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from yieldplan.model.words import fold

SATURATION = Fraction(30)
"""Per cent of moisture above which wood neither swells nor shrinks (Wood Handbook, ch. 13; seen)."""

EARLY = Fraction(22)
"""The same for species whose coefficient rests on it: footnote of Table 13-5 (from memory, both rows checked)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Species:
    """How one species moves, across its rings and along them.

    C_R and C_T are the change for each 1 % of moisture, as a share of the size at 10 % moisture; S_R and S_T are the
    shrinkage in per cent from green to ovendry; from ``saturation`` on, per cent of moisture, it no longer moves.

    Raises
    ------
    ValueError
        If a figure is out of bounds: coefficients lie from 0 to 0.02, shrinkages from 0 to 30.
    """

    name: str
    radial: Fraction
    tangential: Fraction
    radial_shrinkage: Fraction
    tangential_shrinkage: Fraction
    saturation: Fraction = SATURATION

    def __post_init__(self) -> None:
        for way in ("radial", "tangential"):
            for name, word, most in (
                (way, f"{way} coefficient", MOST_COEFFICIENT),
                (f"{way}_shrinkage", f"{way} shrinkage", MOST_SHRINKAGE),
            ):
                value = getattr(self, name)
                if not 0 <= value <= most:
                    raise ValueError(f"{word} must be from 0 to {float(most):g}, not {float(value):g}")


MOST_COEFFICIENT, MOST_SHRINKAGE = Fraction(2, 100), Fraction(30)
"""No wood moves more; a figure beyond is a slip of the pen."""


def coefficient(shrinkage: Fraction, saturation: Fraction = SATURATION) -> Fraction:
    """Return the coefficient that belongs to a total shrinkage in per cent: (S/100/30) / (1 - (S/100)(20/30)).

    Footnote of Table 13-5 (from memory; exact on 20 rows): 30 is where shrinking begins, 20 from there to 10 %.
    """
    share = shrinkage / 100
    return share / saturation / (1 - share * (saturation - 10) / saturation)


def shrinkage_of(change: Fraction, saturation: Fraction = SATURATION) -> Fraction:
    """Return the total shrinkage, in per cent, that belongs to a coefficient: :func:`coefficient` turned round."""
    return 100 * saturation * change / (1 + (saturation - 10) * change)


_ROWS = (
    # names (the first is shown), C_R, C_T, how known, S_R, S_T, how known
    ("white oak", "0.00180", "0.00365", "seen", "5.6", "10.5", "seen"),
    ("red oak, northern red oak", "0.00158", "0.00369", "seen", "4.0", "8.6", "memory"),
    ("live oak", "0.00230", "0.00338", "seen", "6.6", "9.5", "seen"),
    ("white ash, ash, american ash", "0.00169", "0.00274", "seen", "4.9", "7.8", "seen"),
    ("black locust, locust", "0.00158", "0.00252", "checked", "4.6", "7.2", "checked"),
    ("rock elm", "0.00165", "0.00285", "seen", "4.8", "8.1", "seen"),
    ("black cherry, cherry", "0.00126", "0.00248", "seen", "3.7", "7.1", "seen"),
    ("douglas fir, coast douglas fir", "0.00165", "0.00267", "checked", "4.8", "7.6", "seen"),
    ("western red cedar, western redcedar", "0.00111", "0.00234", "checked", "2.4", "5.0", "seen"),
    ("yellow cedar, alaska cedar, alaska yellow cedar", "0.00095", "0.00208", "checked", "2.8", "6.0", "seen"),
    ("atlantic white cedar", "0.00099", "0.00187", "checked", "2.9", "5.4", "seen"),
    ("northern white cedar", "0.00101", "0.00229", "checked", "2.2", "4.9", "seen"),
    ("port orford cedar", "0.00158", "0.00241", "checked", "4.6", "6.9", "seen"),
    ("white fir", "0.00112", "0.00245", "checked", "3.3", "7.0", "seen"),
    ("sitka spruce", "0.00148", "0.00263", "memory", "4.3", "7.5", "memory"),
    ("longleaf pine", "0.00176", "0.00263", "memory", "5.1", "7.5", "memory"),
    ("loblolly pine", "0.00165", "0.00259", "memory", "4.8", "7.4", "memory"),
    ("slash pine", "0.00187", "0.00267", "memory", "5.4", "7.6", "memory"),
    ("western larch, larch", "0.00155", "0.00323", "memory", "4.5", "9.1", "memory"),
    ("eastern white pine, white pine", "0.00071", "0.00212", "quoted", "2.1", "6.1", "memory"),
    ("baldcypress, bald cypress, cypress", "0.00130", "0.00216", "memory", "3.8", "6.2", "memory"),
    ("tamarack", "0.00126", "0.00259", "memory", "3.7", "7.4", "memory"),
    ("mahogany, true mahogany", "0.00172", "0.00238", "memory", "3.0", "4.1", "scrambled"),
    ("african mahogany, khaya", "0.00141", "0.00201", "memory", "2.5", "4.5", "scrambled"),
    ("teak", "0.00101", "0.00186", "memory", "2.5", "5.8", "memory"),
    ("iroko", "0.00153", "0.00205", "memory", "2.8", "3.8", "memory"),
    ("sapele", "0.00158", "0.00259", "estimated", "4.6", "7.4", "memory"),
)  # fmt: skip
_EARLY_NAMES = ("western red cedar", "northern white cedar")


def species_key(word: str) -> str:
    """Return a species in the form in which it is looked up: as :func:`fold` has it, hyphens as spaces."""
    return fold(word.replace("-", " "))


def _built_in() -> dict[str, Species]:
    found = {}
    for names, radial, tangential, _, one, other, _ in _ROWS:
        first, *aliases = names.split(", ")
        row = Species(
            name=first,
            radial=Fraction(radial),
            tangential=Fraction(tangential),
            radial_shrinkage=Fraction(one),
            tangential_shrinkage=Fraction(other),
            saturation=EARLY if first in _EARLY_NAMES else SATURATION,
        )
        found.update(dict.fromkeys((first, *aliases), row))
    return found


BUILT_IN = _built_in()
"""The table by name; several names may have one row."""


@cache
def own_rows(species: tuple[Species, ...]) -> dict[str, Species]:
    """Return a shop's own rows by name."""
    return {species_key(row.name): row for row in species}
