"""The one batch that all plants on the work list's spray group need together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from triage.reasoning.knowledge import Knowledge
from triage.records.profile import Settings
from triage.spraying.asked import Asked, at_home, order_of
from triage.spraying.coverage import Need, for_plants
from triage.spraying.mix import Batch, make


@dataclass(frozen=True)
class Plants:
    """So many plants of a crop, and how leafy they are (a key of coverage.covers)."""

    crop: str
    count: int
    cover: str = "full"


def batch_for(plants: Sequence[Plants], knowledge: Knowledge, garden: Settings) -> Batch:
    """The batch, in fillings of the garden's tank, of its soap and oils. Raises BadInput as `triage mix` does."""
    file = knowledge.sprays
    needs = [for_plants(one.count, one.crop, one.cover, file.coverage) for one in plants]
    whole = Need(
        low_ml=sum(need.low_ml for need in needs),
        high_ml=sum(need.high_ml for need in needs),
        area_m2=sum(need.area_m2 for need in needs),
        cover=needs[0].cover,
    )
    asked = at_home(Asked(), garden.tank, garden.soap, garden.oils)
    order = order_of(asked, knowledge, garden.country or "")
    crops = {one.crop for one in plants}
    return make(replace(order, need=whole, crop=crops.pop() if len(crops) == 1 else None), file)


def touchy(plants: Sequence[Plants], knowledge: Knowledge) -> list[str]:
    """What must be minded on the crops among them that soap or oil marks easily."""
    known = knowledge.sprays.sensitive
    return [known[crop].says for crop in dict.fromkeys(one.crop for one in plants) if crop in known]
