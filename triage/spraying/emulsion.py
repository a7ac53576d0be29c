"""How long an oil-and-soap mix stays mixed: creaming by Stokes' law.

v = |density gap| * g * d^2 / (18 * viscosity)      (abbott_creaming, mcclements_food)
t = share of the depth that may clear * depth / v
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from triage.reasoning.spray_knowledge import Emulsion
from triage.spraying.units import bad


@dataclass(frozen=True)
class Interval:
    """When to shake again, with every number it came from."""

    seconds: float  # to set a timer to
    computed_s: float  # as Stokes' law gives it; infinite for an oil as heavy as water
    range_s: tuple[float, float]  # over the range of likely drop sizes
    speed_mm_s: float
    sinks: bool
    temp_c: float
    viscosity_mpas: float
    water_kg_m3: float
    oil_kg_m3: float
    drop_um: float
    depth_m: float
    cleared_share: float


def rise_speed(drop_m: float, gap_kg_m3: float, viscosity_pas: float, gravity: float) -> float:
    """Speed (m/s) at which one drop of this diameter rises or sinks through still water."""
    return abs(gap_kg_m3) * gravity * drop_m**2 / (18 * viscosity_pas)


def depth_of(ml: float, emulsion: Emulsion) -> float:
    """Depth (m) of so much liquid in a round tank of the usual shape."""
    cubic_m = ml * 1e-6
    return float((4 * cubic_m / (math.pi * emulsion.width_to_depth**2)) ** (1 / 3))


def between(table: Mapping[int, float], temp_c: float) -> float:
    """A value between two lines of a table by temperature, on a straight line. Raises BadInput outside of it."""
    points = sorted(table.items())
    if not points[0][0] <= temp_c <= points[-1][0]:
        low, high = points[0][0], points[-1][0]
        raise bad("--water-temp", f"{temp_c:g} C is outside {low} to {high} C", "let the water come nearer to the air")
    for (t0, v0), (t1, v1) in pairwise(points):
        if temp_c <= t1:
            return v0 + (v1 - v0) * (temp_c - t0) / (t1 - t0)
    return points[-1][1]


def shake_interval(
    density: float, ml: float, emulsion: Emulsion, temp_c: float | None = None, depth_m: float | None = None
) -> Interval:
    """The shake-again interval for an oil of this relative density in so much liquid.

    Rounded down to a step a kitchen timer can be set to, and held between the shortest and the
    longest of the knowledge. Raises BadInput for water that is too hot or ice, or for no depth.
    """
    temp = emulsion.usual_temp_c if temp_c is None else temp_c
    depth = depth_of(ml, emulsion) if depth_m is None else depth_m
    if not 0.005 <= depth <= 3:
        raise bad("--depth", f"a depth of {depth * 100:g} cm cannot be right", "how deep the liquid stands in the tank")
    viscosity, water = between(emulsion.viscosity_mpas, temp), between(emulsion.density_kg_m3, temp)
    # Relative density holds at equal temperature, so the oil's follows the water's.
    gap = water * (1 - density)

    def seconds(drop_um: float) -> float:
        speed = rise_speed(drop_um * 1e-6, gap, viscosity * 1e-3, emulsion.gravity_m_s2)
        return emulsion.cleared_share * depth / speed if speed else math.inf

    computed = seconds(emulsion.drop_um)
    fine, coarse = emulsion.drop_range_um
    held = min(max(computed, emulsion.shortest_s), emulsion.longest_s)
    return Interval(
        seconds=max(math.floor(held / emulsion.step_s) * emulsion.step_s, emulsion.shortest_s),
        computed_s=computed,
        range_s=(seconds(coarse), seconds(fine)),
        speed_mm_s=rise_speed(emulsion.drop_um * 1e-6, gap, viscosity * 1e-3, emulsion.gravity_m_s2) * 1000,
        sinks=gap < 0,
        temp_c=temp,
        viscosity_mpas=viscosity,
        water_kg_m3=water,
        oil_kg_m3=water * density,
        drop_um=emulsion.drop_um,
        depth_m=depth,
        cleared_share=emulsion.cleared_share,
    )
