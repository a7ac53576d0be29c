"""The journal's tables, in the trade's own words (SQLAlchemy 2).

Every row has a `uid` beside its number: it stays the same when the row is carried to
another journal, and its first letters are what a person types to take the row back.
Dates are the grower's own days; `written` is when the row was kept, in UTC.
"""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any, ClassVar

from sqlalchemy import JSON, CheckConstraint, Date, DateTime, Dialect, ForeignKey, Index, MetaData, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column, relationship
from sqlalchemy.types import TypeDecorator


class Utc(TypeDecorator[dt.datetime]):
    """A moment: kept as UTC without a zone, given back with it. Both databases then hold the same."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: Dialect) -> dt.datetime | None:
        return None if value is None else value.astimezone(dt.UTC).replace(tzinfo=None)

    def process_result_value(self, value: dt.datetime | None, dialect: Dialect) -> dt.datetime | None:
        return None if value is None else value.replace(tzinfo=dt.UTC)


def new_uid() -> str:
    return uuid.uuid4().hex


class Base(DeclarativeBase):
    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        dt.datetime: Utc,
        dt.date: Date,
        dict[str, Any]: JSON(none_as_null=True),
    }


class Row(Base):
    """What every table has."""

    __abstract__ = True

    id: Mapped[int] = mapped_column(primary_key=True, sort_order=-2)
    uid: Mapped[str] = mapped_column(unique=True, default=new_uid, sort_order=-1)


class Entry(Row):
    """Something that was seen or done on a planting on a day."""

    __abstract__ = True

    date: Mapped[dt.date]
    observer: Mapped[str | None]
    written: Mapped[dt.datetime]
    note: Mapped[str | None]

    @declared_attr
    def planting_id(self) -> Mapped[int]:
        return mapped_column(ForeignKey("plantings.id"))

    @declared_attr
    def planting(self) -> Mapped[Planting]:
        return relationship("Planting")

    @declared_attr.directive
    def __table_args__(cls) -> tuple[Any, ...]:  # noqa: N805
        return (Index(None, "planting_id", "date"), Index(None, "date"), Index(None, "written"), *cls.checks())

    @classmethod
    def checks(cls) -> tuple[CheckConstraint, ...]:
        """Limits that the database itself keeps."""
        return ()


class Garden(Row):
    __tablename__ = "gardens"

    name: Mapped[str] = mapped_column(unique=True)
    region: Mapped[str | None]
    country: Mapped[str | None]
    hemisphere: Mapped[str | None]


class Bed(Row):
    __tablename__ = "beds"
    __table_args__ = (UniqueConstraint("garden_id", "name"),)

    garden_id: Mapped[int] = mapped_column(ForeignKey("gardens.id"))
    name: Mapped[str]
    garden: Mapped[Garden] = relationship()


class Planting(Row):
    """One crop in one bed, from sowing or planting until it is pulled out."""

    __tablename__ = "plantings"

    bed_id: Mapped[int] = mapped_column(ForeignKey("beds.id"), index=True)
    crop: Mapped[str]  # an id of knowledge/crops.yaml
    variety: Mapped[str | None]
    sown: Mapped[dt.date | None]
    planted: Mapped[dt.date | None]
    removed: Mapped[dt.date | None]
    bed: Mapped[Bed] = relationship()


class Visit(Entry):
    """One look at one planting. Holds a case for each kind of damage seen; none: all was fine."""

    __tablename__ = "visits"

    look_again: Mapped[dt.date | None] = mapped_column(index=True)
    cases: Mapped[list[Case]] = relationship(back_populates="visit", order_by="Case.id")


class Case(Row):
    """One kind of damage. The columns before `answers` repeat the verdict's essentials, so that
    a story is read without opening it; the two large columns stand last for the same reason."""

    __tablename__ = "cases"

    visit_id: Mapped[int] = mapped_column(ForeignKey("visits.id"), index=True)
    state: Mapped[str]
    class_id: Mapped[str] = mapped_column(index=True)
    cause: Mapped[str]
    cause_name: Mapped[str]
    chance: Mapped[float]
    advice: Mapped[str]
    severity: Mapped[str | None]
    new_growth: Mapped[str | None]
    knowledge: Mapped[str]  # fingerprint of the knowledge the verdict was made with
    answers: Mapped[dict[str, Any]] = mapped_column(deferred=True)
    verdict: Mapped[dict[str, Any]] = mapped_column(deferred=True)
    visit: Mapped[Visit] = relationship(back_populates="cases")


class Count(Entry):
    """Leaves looked at, leaves with the pest on them, pests counted, damage in percent of the leaf."""

    __tablename__ = "counts"

    looked: Mapped[int | None]
    infested: Mapped[int | None]
    pests: Mapped[int | None]
    damage: Mapped[float | None]
    sprayed: Mapped[bool | None]
    cause: Mapped[str | None]

    @classmethod
    def checks(cls) -> tuple[CheckConstraint, ...]:
        return (
            CheckConstraint("damage >= 0 AND damage <= 100", name="damage_is_percent"),
            CheckConstraint("infested >= 0 AND infested <= looked", name="infested_within_looked"),
        )


class Spray(Entry):
    __tablename__ = "sprays"

    mix: Mapped[str]
    oil_percent: Mapped[float | None]
    soap_percent: Mapped[float | None]
    volume_ml: Mapped[float | None]
    round: Mapped[int | None]
    weather: Mapped[str | None]
    cause: Mapped[str | None]


class Patch(Entry):
    """A mix tried on one or two plants before the rest. `date` is the day it was put on."""

    __tablename__ = "test_patches"

    mix: Mapped[str]
    oil_percent: Mapped[float | None]
    soap_percent: Mapped[float | None]
    plants: Mapped[int | None]
    look_on: Mapped[dt.date]
    looked_on: Mapped[dt.date | None]
    result: Mapped[str | None]


class Programme(Entry):
    """A series of sprays that was set up for a planting. `date` is the day it may begin.

    The days of the sprays are not kept: they are laid out again from `outset`, and from what the
    journal holds since.
    """

    __tablename__ = "programmes"

    mix: Mapped[str]
    oil_percent: Mapped[float | None]
    soap_percent: Mapped[float | None]
    cause: Mapped[str | None]
    ended: Mapped[dt.date | None]
    why_ended: Mapped[str | None]
    outset: Mapped[dict[str, Any]]  # the judgement, the gap, the weather, picking and flowers, what looks found
    exported: Mapped[dict[str, Any] | None]  # of each date in the calendar file: its number, its day, its content


class Deed(Entry):
    """Anything done that is no spray: leaves taken off, a net put on, bait laid."""

    __tablename__ = "actions"

    what: Mapped[str]
    means: Mapped[str | None]


class Harvest(Entry):
    __tablename__ = "harvests"

    amount: Mapped[float | None]
    unit: Mapped[str | None]


class Confirmation(Entry):
    """Somebody who could know for sure said what it was."""

    __tablename__ = "confirmations"

    cause: Mapped[str]
    by_whom: Mapped[str]
    case_id: Mapped[int | None] = mapped_column(ForeignKey("cases.id"), index=True)
    case: Mapped[Case | None] = relationship()


class Note(Entry):
    __tablename__ = "notes"

    text: Mapped[str]


class Trace(Row):
    """What a row was before it was edited or taken back. Never changed, never deleted."""

    __tablename__ = "trace"

    written: Mapped[dt.datetime]
    who: Mapped[str | None]
    change: Mapped[str]  # edit, undo
    kind: Mapped[str]  # the table
    row: Mapped[str] = mapped_column(index=True)  # the uid of the row
    before: Mapped[dict[str, Any]]
    after: Mapped[dict[str, Any] | None]


class Draft(Base):
    """Something unfinished, such as an interview that was left. Belongs to this journal alone."""

    __tablename__ = "drafts"

    name: Mapped[str] = mapped_column(primary_key=True)
    saved: Mapped[dt.datetime]
    data: Mapped[dict[str, Any]]


#: What a person calls an entry, and its table. The order is that of a day in the story.
ENTRIES: dict[str, type[Entry]] = {
    "visit": Visit,
    "count": Count,
    "patch": Patch,
    "programme": Programme,
    "spray": Spray,
    "action": Deed,
    "harvest": Harvest,
    "confirm": Confirmation,
    "note": Note,
}

#: Every table that is carried from journal to journal, parents first.
TABLES: dict[str, type[Row]] = {
    model.__tablename__: model
    for model in (
        Garden,
        Bed,
        Planting,
        Visit,
        Case,
        Count,
        Spray,
        Patch,
        Programme,
        Deed,
        Harvest,
        Confirmation,
        Note,
        Trace,
    )
}
