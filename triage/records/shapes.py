"""What a row may hold: checked at the edge, whether it comes from a form, an edit or a file.

One pydantic model a table. Its fields are the table's columns as they stand in exports:
`id` is the row's uid, and `garden`, `bed`, `planting`, `visit` and `case` are uids of other rows.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

_NOT_TEXT = re.compile("[\x00\ud800-\udfff]")


def _text(value: str) -> str:
    if _NOT_TEXT.search(value):
        raise ValueError("holds a character that is no text")
    return value


def _date(value: Any) -> Any:
    # pydantic alone would also take a number of seconds for a date.
    if isinstance(value, str) and not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        raise ValueError("is not a date like 2026-08-03")
    if isinstance(value, int | float):
        raise ValueError("is not a date like 2026-08-03")
    return value


def _moment(value: dt.datetime) -> dt.datetime:
    return value.replace(tzinfo=dt.UTC) if value.tzinfo is None else value.astimezone(dt.UTC)


Text = Annotated[str, Field(min_length=1, max_length=20_000), AfterValidator(_text)]
Ref = Annotated[str, Field(min_length=1, max_length=64), AfterValidator(_text)]
Day = Annotated[dt.date, BeforeValidator(_date)]
Moment = Annotated[dt.datetime, AfterValidator(_moment)]
Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]
Amount = Annotated[float, Field(gt=0, lt=1e9, allow_inf_nan=False)]
Whole = Annotated[int, Field(ge=0, lt=2**31)]
Least1 = Annotated[int, Field(ge=1, lt=2**31)]
Chance = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]


class Shape(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    id: Ref

    @model_validator(mode="before")
    @classmethod
    def _empty_is_nothing(cls, data: Any) -> Any:
        return {key: None if value == "" else value for key, value in data.items()} if isinstance(data, dict) else data


class GardenShape(Shape):
    name: Text
    region: Text | None = None
    country: Text | None = None
    hemisphere: Text | None = None


class BedShape(Shape):
    garden: Ref
    name: Text


class PlantingShape(Shape):
    bed: Ref
    crop: Text
    variety: Text | None = None
    sown: Day | None = None
    planted: Day | None = None
    removed: Day | None = None

    @model_validator(mode="after")
    def _in_order(self) -> PlantingShape:
        days = [day for day in (self.sown, self.planted, self.removed) if day is not None]
        if days != sorted(days):
            raise ValueError("a planting is sown, then planted, then removed: these dates go backwards")
        return self


class EntryShape(Shape):
    date: Day
    observer: Text | None = None
    written: Moment
    note: Text | None = None
    planting: Ref


class VisitShape(EntryShape):
    look_again: Day | None = None


class CaseShape(Shape):
    visit: Ref
    state: Literal["likely", "leaning", "unclear"]
    class_id: Text
    cause: Text
    cause_name: Text
    chance: Chance
    advice: Literal["spray", "check_first", "do_not_spray"]
    severity: Literal["few", "some", "many"] | None = None
    new_growth: Literal["clean", "affected"] | None = None
    knowledge: Text
    answers: dict[str, Any]
    verdict: dict[str, Any]


class CountShape(EntryShape):
    looked: Least1 | None = None
    infested: Whole | None = None
    pests: Whole | None = None
    damage: Percent | None = None
    sprayed: bool | None = None
    cause: Text | None = None

    @model_validator(mode="after")
    def _sound(self) -> CountShape:
        if self.infested is not None and self.looked is None:
            raise ValueError("leaves infested needs the number of leaves looked at")
        if self.infested is not None and self.looked is not None and self.infested > self.looked:
            raise ValueError(f"{self.infested} leaves infested of {self.looked} looked at cannot be")
        if self.infested is self.pests is self.damage is None:
            raise ValueError("a count needs leaves infested, pests or damage")
        return self


class SprayShape(EntryShape):
    mix: Text
    oil_percent: Percent | None = None
    soap_percent: Percent | None = None
    volume_ml: Amount | None = None
    round: Least1 | None = None
    weather: Text | None = None
    cause: Text | None = None


class PatchShape(EntryShape):
    mix: Text
    oil_percent: Percent | None = None
    soap_percent: Percent | None = None
    plants: Least1 | None = None
    look_on: Day
    looked_on: Day | None = None
    result: Literal["clean", "burnt"] | None = None


class ProgrammeShape(EntryShape):
    mix: Text
    oil_percent: Percent | None = None
    soap_percent: Percent | None = None
    cause: Text | None = None
    ended: Day | None = None
    why_ended: Text | None = None
    outset: dict[str, Any]
    exported: dict[str, Any] | None = None


class DeedShape(EntryShape):
    what: Text
    means: Text | None = None


class HarvestShape(EntryShape):
    amount: Amount | None = None
    unit: Text | None = None


class ConfirmationShape(EntryShape):
    cause: Text
    by_whom: Literal["coach", "lens", "laboratory"]
    case: Ref | None = None


class NoteShape(EntryShape):
    text: Text


class TraceShape(Shape):
    written: Moment
    who: Text | None = None
    change: Literal["edit", "undo"]
    kind: Text
    row: Ref
    before: dict[str, Any]
    after: dict[str, Any] | None = None


SHAPES: dict[str, type[Shape]] = {
    "gardens": GardenShape,
    "beds": BedShape,
    "plantings": PlantingShape,
    "visits": VisitShape,
    "cases": CaseShape,
    "counts": CountShape,
    "sprays": SprayShape,
    "test_patches": PatchShape,
    "programmes": ProgrammeShape,
    "actions": DeedShape,
    "harvests": HarvestShape,
    "confirmations": ConfirmationShape,
    "notes": NoteShape,
    "trace": TraceShape,
}

#: Which fields of a row are uids, and of what table.
REFS: dict[str, dict[str, str]] = {
    "beds": {"garden": "gardens"},
    "plantings": {"bed": "beds"},
    "cases": {"visit": "visits"},
    "confirmations": {"planting": "plantings", "case": "cases"},
    **{
        name: {"planting": "plantings"}
        for name in ("visits", "counts", "sprays", "test_patches", "programmes", "actions", "harvests", "notes")
    },
}
