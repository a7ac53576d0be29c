"""The day's work list: what was seen on a day, grouped by means, from healthy plants to sick ones."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sqlalchemy.orm import Session

from triage.records.means import Means, Name
from triage.records.tables import Case, Count, Planting, Visit
from triage.records.walk import Past, past_of


@dataclass(frozen=True)
class Item:
    """One thing to do about one kind of damage on one planting."""

    planting: Planting
    means: Name
    case: Case
    says: str
    holds_still: bool  # the look again found it clean above and not climbing
    patch: str | None  # the test patch of the planting: clean, burnt, none (not looked at yet); None: never tried
    sickness: int


@dataclass(frozen=True)
class Seen:
    """A planting as it was seen on the day, and before it."""

    planting: Planting
    now: Visit
    count: Count | None  # of the day
    before: Past


@dataclass(frozen=True)
class WorkList:
    day: date
    groups: tuple[tuple[Name, tuple[Item, ...]], ...]
    seen: tuple[Seen, ...]
    not_seen: tuple[Planting, ...]

    @property
    def fine(self) -> list[Planting]:
        return [one.planting for one in self.seen if not one.now.cases]

    @property
    def to_spray(self) -> list[Item]:
        return [item for name, items in self.groups if name == "spray" for item in items]


def work_list(
    session: Session,
    standing: Sequence[Planting],
    day: date,
    means: Means,
    notifiable: Collection[str],
    since: date | None = None,
) -> WorkList:
    """What is to be done after the visits of a day. `notifiable`: causes that a plant-health law may name.

    `since`: the day on which a walk began that ended on `day`; its visits count as well.
    """
    first = since or day
    seen, not_seen, items = [], [], []
    for planting in standing:
        today = past_of(session, planting, day)
        if today.visit is None or today.visit.date < first:
            not_seen.append(planting)
            continue
        count = today.count if today.count and today.count.date >= first else None
        seen.append(Seen(planting, today.visit, count, past_of(session, planting, first - timedelta(days=1))))
        items += [_item(planting, case, today, means, notifiable) for case in today.visit.cases]
    groups: dict[Name, list[Item]] = {}
    for item in sorted(items, key=lambda item: item.sickness):  # sort is stable: bed by bed among the equally sick
        groups.setdefault(item.means, []).append(item)
    places = list(means.means)
    # The group whose sickest plant is the healthiest comes first.
    ordered = sorted(groups.items(), key=lambda pair: (pair[1][-1].sickness, places.index(pair[0])))
    return WorkList(day, tuple((name, tuple(found)) for name, found in ordered), tuple(seen), tuple(not_seen))


def _item(planting: Planting, case: Case, past: Past, means: Means, notifiable: Collection[str]) -> Item:
    verdict = case.verdict
    again = case.answers.get("again") or {}
    still = case.new_growth == "clean" and again.get("climbing") is False
    own = [action["says"] for action in verdict.get("actions", []) if action["serves"] == case.cause]
    report = case.cause in notifiable and bool(verdict.get("send_sample"))
    advice = "do_not_spray" if case.advice == "spray" and past.test_patch == "burnt" else case.advice
    name = means.of(case.state, case.class_id, case.cause, advice, own[0] if own else "", report)
    if name == "spray" and any(_worsened(other) for other in past.trouble):
        name = "check"  # one harm keeps the sprayer off the whole plant
    if still and name != "sample":
        name = "leave_alone"
    return Item(
        planting=planting,
        means=name,
        case=case,
        says=_says(name, verdict, own),
        holds_still=still,
        patch=past.test_patch,
        sickness=means.sickness(case.state, case.class_id, case.severity),
    )


def _worsened(case: Case) -> bool:
    return bool(case.verdict.get("spray", {}).get("judgement") == "makes_worse" and case.state != "unclear")


def _says(name: Name, verdict: dict[str, Any], own: Sequence[str]) -> str:
    """What to do first, in the words of the verdict."""
    actions = verdict.get("actions", [])
    first = [action["says"] for action in actions if action["kind"] in ("now", "instead")]
    if name == "sample":
        return next(iter(verdict.get("send_sample", [])), "")
    if name == "check":
        first = [check["ask"] for check in verdict.get("would_change", [])] + first
    if name == "spray":
        first = [action["says"] for action in actions if action["kind"] == "before_spray"] + first
    return next(iter([*first, *own]), "")
