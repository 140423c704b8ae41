"""How long each frame is: what was measured along the run, with a batten or straight lines through it.

A thin batten held at points takes, at small slopes, the shape of a cubic spline whose ends are straight (second
derivative 0): the natural spline (beam theory). The curve is worked out in floats; a length is taken to the nearest
1/320 mm first, far above their error, and only then up to a mark, so that a length on a mark stays on it.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.measure import MM, Rounding

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.stations.division import Division, Point
    from yieldplan.workbook.grid import Marks


def through(points: Sequence[Point], places: Sequence[Fraction], *, linear: bool = False) -> list[Fraction]:
    """Return what the curve through the points measures at the places, to the nearest step.

    There are at least two points, rising by place, and the places lie between the first and the last. ``linear``:
    straight lines from point to point, as if a string were drawn instead of a batten.
    """
    at = np.array([float(point.at) for point in points])
    measures = np.array([float(point.measure) for point in points])
    wanted = np.array([float(place) for place in places])
    if linear:
        found = np.interp(wanted, at, measures)
    else:
        from scipy.interpolate import CubicSpline  # noqa: PLC0415 - slow to load

        found = CubicSpline(at, measures, bc_type="natural")(wanted)
    return [Fraction(round(float(value))) for value in found]


def lengths(division: Division, *, linear: bool = False) -> tuple[Fraction, ...]:
    """Return the length of the frame at each station, with the allowance, in steps; it may not be above 0.

    A frame with a siding is as long as the longer of its two faces.
    """
    run = division.run
    if not run.points:
        return ()
    near = [Fraction(station.mark) for station in division.stations]
    far = [place + run.siding for place in near]
    low, high = run.points[0].at, run.points[-1].at
    # A mark rounded to a millimetre may lie a little past the last point: the curve ends there.
    faces = [[min(max(place, low), high) for place in places] for places in (near, far)]
    one, other = (through(run.points, places, linear=linear) for places in faces)
    return tuple(max(pair) + run.allowance for pair in zip(one, other, strict=True))


def blank_length(length: Fraction, marks: Marks) -> int:
    """Return the shortest blank that a frame comes out of, in whole marks (steps).

    In a metric input it is no shorter than the whole millimetres on the tape list.
    """
    if marks.unit == "mm":
        length = Fraction(Rounding.WANTED.steps(length, MM))
    return Rounding.WANTED.steps(length, marks.mark)
