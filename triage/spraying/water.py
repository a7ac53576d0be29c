"""What hard water takes from soap."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from triage.reasoning.spray_knowledge import HardWater, Soap


@dataclass(frozen=True)
class Water:
    """One tap water and one soap mix."""

    mg_per_l: float
    grade: str  # "moderately hard"
    verdict: Literal["fine", "note", "jar_test", "swap"]
    do: str
    lost: tuple[float, float] | None  # share of the soap, least and most; None for what does not curd
    rain_share: float | None  # of the water, to come down to soft; None where it is soft


def judge_water(mg_per_l: float, soap: Soap, soap_share: float, hard_water: HardWater) -> Water:
    """How hard the water is, and what of the soap it takes at that strength (a share by volume).

    lost = hardness * soap bound per hardness / soap in the mix, at most all of it: two fatty acid
    ions to each calcium or magnesium ion (stoichiometry). A litre of concentrate is taken as 1 kg.
    """
    grade = next(g for g in hard_water.classes.values() if g.up_to is None or mg_per_l <= g.up_to)
    soft = next(iter(hard_water.classes.values())).up_to or 0.0
    rain = 1 - soft / mg_per_l if mg_per_l > soft else None
    lost = None
    if soap.curds and soap.true_soap_percent and soap_share > 0:
        weak, strong = soap.true_soap_percent
        least, most = hard_water.soap_mg_per_mg
        mg_of_soap = soap_share * 1e6 / 100  # in a litre of mix, for each percent of true soap
        lost = (min(1.0, mg_per_l * least / (mg_of_soap * strong)), min(1.0, mg_per_l * most / (mg_of_soap * weak)))
    if not soap.curds:
        return Water(mg_per_l, grade.says, "fine", hard_water.no_curds, None, rain)
    advice = grade
    if grade.verdict == "swap" and lost and lost[1] <= hard_water.little_lost:
        advice = next(g for g in hard_water.classes.values() if g.verdict == "jar_test")
    return Water(mg_per_l, grade.says, advice.verdict, advice.do, lost, rain)
