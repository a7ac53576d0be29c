"""What is waiting: test patches to look at, and plants to look at again.

Each kind of waiting thing is one function in SOURCES; a later one is added there. Sprays come from
outside, since their days are reckoned in another room: see `more`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import exists, select
from sqlalchemy.orm import Session, joinedload, selectinload

from triage.records.tables import Count, Planting, Visit
from triage.records.visits import open_patches, patches_to_see_again


@dataclass(frozen=True)
class Due:
    """One waiting thing. `day` is when it is due; it may have passed."""

    day: date
    kind: str  # patch, look again, spray, look
    planting: Planting
    says: str
    ref: str  # uid of the entry it comes from
    step: str = ""  # of a programme


Source = Callable[[Session, date], Iterable[Due]]


def due(session: Session, until: date, more: Iterable[Source] = ()) -> list[Due]:
    """All that is due up to and with `until`, the longest overdue first. `more`: sources beside SOURCES."""
    found = [item for source in (*SOURCES, *more) for item in source(session, until)]
    return sorted(found, key=lambda item: (item.day, item.kind, item.planting.id, item.ref))


def _patches(session: Session, until: date) -> Iterable[Due]:
    for patch in open_patches(session):
        if patch.look_on <= until:
            where = f" on {patch.plants} plants" if patch.plants and patch.plants > 1 else ""
            says = f"look at the test patch of {patch.mix}{where}: clean or burnt?"
            yield Due(patch.look_on, "patch", patch.planting, says, patch.uid)


def _patches_again(session: Session, until: date) -> Iterable[Due]:
    """Clean at the first look; marks can take a week, so there is a second one."""
    for patch in patches_to_see_again(session):
        if patch.look_on <= until:
            yield Due(patch.look_on, "patch", patch.planting, f"look once more at the patch of {patch.mix}", patch.uid)


def _plants(session: Session, until: date) -> Iterable[Due]:
    """The latest visit to a planting asked for a second look, and nobody has looked since."""
    # One look into the index a planting, instead of comparing all visits with each other.
    latest = (
        select(Visit.id)
        .where(Visit.planting_id == Planting.id)
        .order_by(Visit.date.desc(), Visit.written.desc(), Visit.id.desc())
        .limit(1)
        .scalar_subquery()
    )
    counted_since = exists().where(Count.planting_id == Visit.planting_id, Count.date > Visit.date)
    query = (
        select(Visit)
        .where(Visit.id.in_(select(latest).select_from(Planting).where(Planting.removed.is_(None))))
        .where(Visit.look_again <= until, ~counted_since)
        .options(joinedload(Visit.planting).joinedload(Planting.bed), selectinload(Visit.cases))
    )
    for visit in session.scalars(query):
        assert visit.look_again is not None
        seen = ", ".join(dict.fromkeys(_seen(case.state, case.cause_name) for case in visit.cases))
        yield Due(visit.look_again, "look again", visit.planting, f"look again: {seen or 'all was fine'}", visit.uid)


def _seen(state: str, name: str) -> str:
    return f"not clear yet, perhaps {name}" if state == "unclear" else name


SOURCES: tuple[Source, ...] = (_patches, _patches_again, _plants)
