"""How much spray a bed or so many plants need, and how many fillings of the tank that is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from triage.reasoning.spray_knowledge import Coverage
from triage.spraying.units import bad

_SPECK = 1e-6  # mL: rounding dust


@dataclass(frozen=True)
class Need:
    """What a job takes, from the published range for that cover. The upper end is planned."""

    low_ml: float
    high_ml: float
    area_m2: float
    cover: str  # a key of coverage.covers
    assumed_footprint_m2: float | None = None  # of one plant, where plants were counted


@dataclass(frozen=True)
class Filling:
    """So many fillings of one size."""

    times: int
    ml: float


def for_bed(area_m2: float, cover: str, coverage: Coverage) -> Need:
    """Spray for so much ground (m2). Raises BadInput for a cover that is not known."""
    low, high = coverage.covers[_known(cover, coverage)].ml_per_m2
    return Need(low * area_m2, high * area_m2, area_m2, cover)


def for_plants(count: int, crop: str, cover: str, coverage: Coverage) -> Need:
    """Spray for so many full-grown plants of a crop: the ground they cover times the bed figure.

    Raises BadInput for a cover that is not known, or for no plants.
    """
    if count < 1:
        raise bad("--plants", f"{count} plants need no spray", "a number from 1")
    footprint = coverage.footprint_m2.get(crop, coverage.footprint_m2["other"])
    low, high = coverage.covers[_known(cover, coverage)].ml_per_m2
    area = count * footprint
    return Need(low * area, high * area, area, cover, footprint)


def fillings(need_ml: float, tank_ml: float | None, step_ml: float, smallest_ml: float = 0.0) -> list[Filling]:
    """Full tanks and a last one that is only as full as it must be. Together they hold at least `need_ml`.

    Without a tank it is one batch. The last is rounded up to a step (`step_ml`) that can be read off
    a jug, and to `smallest_ml`, the least that can be measured out; never above the tank.
    """
    tank = tank_ml if tank_ml is not None else math.inf
    full = 0 if math.isinf(tank) else math.floor((need_ml + _SPECK) / tank)
    rest = need_ml - (full * tank if full else 0.0)
    found = [Filling(full, tank)] if full else []
    if rest > _SPECK:
        handy = math.ceil((max(rest, smallest_ml) - _SPECK) / step_ml) * step_ml
        last = min(handy, tank)
        if full and last >= tank:
            return [Filling(full + 1, tank)]
        found.append(Filling(1, last))
    return found


def _known(cover: str, coverage: Coverage) -> str:
    if cover not in coverage.covers:
        raise bad("--cover", f"there is no cover '{cover}'", f"one of: {', '.join(coverage.covers)}")
    return cover
