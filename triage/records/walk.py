"""The walk along the rows: where it stands, and what is known of each planting beforehand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload, undefer

from triage.reasoning.yaml_text import BadInput
from triage.records.places import CropWords, find_planting
from triage.records.tables import Case, Count, Entry, Patch, Planting, Spray, Visit

#: What can be done at a planting on a walk.
FINE, CLOSER, AGAIN, SKIP = "fine", "closer", "again", "skip"


@dataclass(frozen=True)
class Stop:
    """What was done at a planting, with the uids of the entries that were kept there."""

    how: str
    entries: tuple[str, ...] = ()


@dataclass(frozen=True)
class Round:
    """A walk as plain data: it can be left after any key and taken up again."""

    day: date
    observer: str | None
    order: tuple[str, ...]  # uids of plantings
    done: Mapping[str, Stop] = field(default_factory=dict)  # in the order of walking
    begun: Mapping[str, Any] | None = None  # the interview at hand, as Begun.data wrote it

    @property
    def at(self) -> str | None:
        """The planting that comes next; None at the end."""
        return next((uid for uid in self.order if uid not in self.done), None)

    def after(self, uid: str, stop: Stop) -> Round:
        return replace(self, done={**self.done, uid: stop}, begun=None)

    def back(self) -> tuple[Round, Stop | None]:
        """Before the last stop, with that stop: its entries are to be taken back."""
        if not self.done:
            return self, None
        last = list(self.done)[-1]
        kept = {uid: stop for uid, stop in self.done.items() if uid != last}
        return replace(self, done=kept, begun=None), self.done[last]

    def without(self, gone: Sequence[str]) -> Round:
        """Plantings that were cleared since are left out."""
        return replace(self, order=tuple(uid for uid in self.order if uid not in gone))

    def data(self) -> dict[str, Any]:
        """Plain data for JSON."""
        return {
            "day": self.day.isoformat(),
            "observer": self.observer,
            "order": list(self.order),
            "done": [[uid, stop.how, list(stop.entries)] for uid, stop in self.done.items()],
            "begun": None if self.begun is None else dict(self.begun),
        }


def read_round(data: Any) -> Round | None:
    """The walk that `Round.data` wrote; None when it is damaged (what was seen is in the journal anyway)."""
    try:
        done = {uid: Stop(how, tuple(entries)) for uid, how, entries in data["done"]}
        return Round(date.fromisoformat(data["day"]), data["observer"], tuple(data["order"]), done, data["begun"])
    except (KeyError, TypeError, ValueError):
        return None


def in_order(session: Session, standing: Sequence[Planting], names: Sequence[str], words: CropWords) -> list[Planting]:
    """The plantings to walk along: bed by bed, or those named (a bed, or the words of a planting) as named.

    Raises BadInput for a name that fits nothing, or several plantings.
    """
    if not names:
        return list(standing)
    found: dict[int, Planting] = {}
    for name in names:
        in_bed = [p for p in standing if p.bed.name.casefold() == name.strip().casefold()]
        for planting in in_bed or [find_planting(session, name, words)]:
            found.setdefault(planting.id, planting)
    return list(found.values())


@dataclass(frozen=True)
class Past:
    """What the journal knows of a planting up to a day."""

    visit: Visit | None  # the latest, with its cases
    count: Count | None  # the latest
    sprays: tuple[Spray, ...]  # since that visit, with its day
    patch: Patch | None  # the latest test patch

    @property
    def trouble(self) -> list[Case]:
        """What was wrong at the latest visit."""
        return list(self.visit.cases) if self.visit else []

    @property
    def test_patch(self) -> str | None:
        """clean, burnt or none (tried, not looked at yet); None: never tried."""
        return None if self.patch is None else self.patch.result or "none"


def past_of(session: Session, planting: Planting, until: date) -> Past:
    """What was known of the planting at the end of the day `until`. Answers and verdicts are loaded."""
    whole = selectinload(Visit.cases).options(undefer(Case.answers), undefer(Case.verdict))
    visit = _latest(session, Visit, planting, until, whole)
    sprays: Sequence[Spray] = ()
    if visit is not None:
        query = select(Spray).where(Spray.planting_id == planting.id, Spray.date >= visit.date, Spray.date <= until)
        sprays = session.scalars(query.order_by(Spray.date, Spray.id)).all()
    count = _latest(session, Count, planting, until)
    return Past(visit, count, tuple(sprays), _latest(session, Patch, planting, until))


def was_sprayed(session: Session, planting: Planting) -> bool:
    """Whether anything was ever sprayed on it."""
    return session.scalars(select(Spray.id).where(Spray.planting_id == planting.id).limit(1)).first() is not None


def _latest(session: Session, model: Any, planting: Planting, until: date, *options: Any) -> Any:
    assert issubclass(model, Entry)
    query = select(model).where(model.planting_id == planting.id, model.date <= until).options(*options)
    query = query.order_by(model.date.desc(), model.written.desc(), model.id.desc()).limit(1)
    return session.scalars(query).one_or_none()


def entry_gone(error: BadInput) -> bool:
    """Whether an entry could not be taken back because somebody did so before."""
    return any(
        "no entry begins" in problem.wrong or "taken back already" in problem.wrong for problem in error.problems
    )
