"""The buying figures: waste is a share of what is bought, what is added is a share of what is needed."""

from __future__ import annotations

from fractions import Fraction


def to_buy(net: Fraction, waste: Fraction) -> Fraction:
    """Return how much to buy so that ``net`` is left after this share of it is wasted.

    >>> round(float(to_buy(Fraction(100), Fraction(30, 100))), 2)
    142.86

    Raises
    ------
    ValueError
        If the waste is below nothing, or all of it.
    """
    if not 0 <= waste < 1:
        raise ValueError(f"waste must be a share from 0 to below 1, not {waste}")
    return net / (1 - waste)


def more_than(waste: Fraction) -> Fraction:
    """Return the share by which more is bought than is needed, at this share of waste."""
    return to_buy(Fraction(1), waste) - 1


def waste_of(more: Fraction) -> Fraction:
    """Return the share that is wasted where so much more is bought than is needed.

    Raises
    ------
    ValueError
        If less is bought than is needed.
    """
    if more < 0:
        raise ValueError(f"at least what is needed must be bought, not {-more} less")
    return more / (1 + more)
