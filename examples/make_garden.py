"""Builds the invented example garden: examples/garden/journal.json.

    python examples/make_garden.py [FILE]

Everything in it is invented: the garden, its people, its harvests and its counts. Only the verdicts are real: each
was made by this program from the answers told below, and then shortened to what the journal shows of it. The dates
are fixed and the chance is seeded, so that two runs over the same knowledge write the same file.
"""

from __future__ import annotations

import random
import sys
import tempfile
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from garden_story import BEDS, GARDEN, LAST_DAY, OBSERVERS, PLOTS, SEASONS, SETTLED, TOLD, Plot, Trouble

from triage.reasoning.case import read_visit
from triage.reasoning.engine import Engine, build
from triage.reasoning.interview import play, to_data
from triage.reasoning.library import knowledge_folder, load
from triage.reasoning.verdict import judge
from triage.records.intake import take_in
from triage.records.store import open_journal
from triage.records.transfer import Given, write_json
from triage.records.waits import Waits, load_waits
from triage.screens.verdict_page import first_sentences

MIX = {"mix": "home mix", "oil_percent": 0.26, "soap_percent": 0.4}
_SPACE = uuid.UUID("0b9f6d4e-6a55-5c1e-8c59-4d0d7c1f2a10")


@dataclass
class Maker:
    """Gathers the rows of the journal, table by table."""

    engine: Engine
    waits: Waits
    chance: random.Random
    rows: dict[str, list[dict[str, Any]]] = field(default_factory=dict)

    def add(self, table: str, **data: Any) -> str:
        """A row with an id that is the same in every run; its id."""
        found = self.rows.setdefault(table, [])
        uid = uuid.uuid5(_SPACE, f"{table} {len(found)}").hex[:12]
        found.append({"id": uid, **data})
        return uid

    def entry(self, table: str, planting: str, day: date, observer: str, minute: int = 0, **data: Any) -> str:
        written = datetime.combine(day, time(17, minute % 60), UTC)
        return self.add(table, date=day, observer=observer, written=written, planting=planting, **data)

    def garden(self) -> None:
        garden = self.add("gardens", name=GARDEN, region="europe", hemisphere="north")
        beds = {name: self.add("beds", garden=garden, name=name) for name in BEDS}
        for year in SEASONS:
            for plot in PLOTS:
                if year in plot.years:
                    self.plot(plot, year, beds[plot.bed])

    def plot(self, plot: Plot, year: int, bed: str) -> None:
        begins = date(year, *plot.starts)
        lasts = len(plot.years) == 1  # strawberries stay
        ends = LAST_DAY if lasts else min(date(year, *plot.ends), LAST_DAY)
        removed = None if lasts or date(year, *plot.ends) > LAST_DAY else ends
        started = {"sown": begins} if plot.sown else {"planted": begins}
        uid = self.add("plantings", bed=bed, crop=plot.crop, variety=plot.variety, removed=removed, **started)
        troubles = [trouble for trouble in plot.troubles if year in trouble.years]
        if lasts:
            self.entry("notes", uid, begins, OBSERVERS[0], text="Everything in this garden is invented.")
        for day in walks(begins, ends):
            observer = self.chance.choice(OBSERVERS)
            at = [(t, n) for t in troubles for n in [step_of(t, day)] if n is not None]
            self.visit(uid, plot, day, observer, at)
            if plot.crop == "summer_squash" and day == LAST_DAY:  # one patch that waits for its look
                self.entry("test_patches", uid, day, observer, 25, plants=1, look_on=day + timedelta(days=2), **MIX)
            self.pick(uid, plot, day, observer)

    def visit(self, planting: str, plot: Plot, day: date, observer: str, at: list[tuple[Trouble, int]]) -> None:
        judged = []
        for trouble, step in at:
            course = ("some", "some", "few", "few") if trouble.sprays else ("few", "some", "some", "many")
            severity = course[min(step, 3)]
            growth = "clean" if trouble.sprays and step >= 2 else "affected"
            context = {"severity": severity, "new_growth": growth, "in_bloom": False, "days_to_harvest": 9}
            if trouble.sprays:
                context["test_patch"] = "clean" if step else "none"
            data = {"crop": plot.crop, "month": day.month, "region": "europe", "answers": TOLD[trouble.name]}
            [case] = read_visit({**data, "context": context}, self.engine.knowledge)
            interview = play(case, self.engine)
            judged.append((interview, judge(interview.case, self.engine)))
        wait = self.waits.days([(verdict.state, verdict.spray.advice) for _, verdict in judged])
        again = None if wait is None else day + timedelta(days=wait)
        visit = self.entry("visits", planting, day, observer, 5, look_again=again)
        for (trouble, step), (interview, verdict) in zip(at, judged, strict=True):
            case = self.add(
                "cases", visit=visit, state=verdict.state, class_id=verdict.leading.class_id, cause=verdict.leading.id,
                cause_name=verdict.leading.name, chance=round(verdict.leading.probability, 6),
                advice=verdict.spray.advice, severity=interview.case.context.severity,
                new_growth=interview.case.context.new_growth, knowledge=verdict.knowledge, answers=to_data(interview),
                verdict=shortened(verdict),
            )  # fmt: skip
            self.follow(planting, plot, trouble, step, day, observer, verdict.leading.id, case)

    def follow(
        self, planting: str, plot: Plot, trouble: Trouble, step: int, day: date, observer: str, cause: str, case: str
    ) -> None:
        """What was done and counted after a visit that found trouble."""
        if trouble.counted:
            self.count(planting, trouble, step, day, observer, cause)
        if trouble.did and step == 0:
            self.entry("actions", planting, day, observer, 20, what=trouble.did, means=trouble.means)
        if trouble.sprays and step == 0:
            self.entry(
                "test_patches", planting, day, observer, 25, plants=1, look_on=day + timedelta(days=2),
                looked_on=day + timedelta(days=2), result="clean", **MIX,
            )  # fmt: skip
            for number in range(trouble.sprays):
                sprayed = min(day + timedelta(days=3 + 3 * number), LAST_DAY)
                weather = self.chance.choice(["overcast, calm", "evening, calm", "cool and still"])
                self.entry(
                    "sprays", planting, sprayed, self.chance.choice(OBSERVERS), 30, volume_ml=1500.0, round=number + 1,
                    weather=weather, cause=cause, **MIX,
                )  # fmt: skip
        settled = SETTLED.get((plot.crop, trouble.name, day.year))
        if settled and step == 0 and not plot.variety.endswith("row B"):
            self.entry("confirmations", planting, day + timedelta(days=1), OBSERVERS[1], 40, cause=settled[0],
                       by_whom=settled[1], case=case)  # fmt: skip

    def count(self, planting: str, trouble: Trouble, step: int, day: date, observer: str, cause: str) -> None:
        """Leaves with the pest on them: more each week, fewer once it was sprayed. All invented."""
        rise = 1.45**step
        fall = 0.5 ** min(step, trouble.sprays)
        share = min(0.9, 0.2 * rise * fall * self.chance.uniform(0.8, 1.2))
        looked = 40
        data = {"looked": looked, "infested": round(looked * share), "damage": float(round(60 * share * rise / 2))}
        data["damage"] = min(data["damage"], 80.0)
        self.entry("counts", planting, day, observer, 10, sprayed=bool(trouble.sprays and step), cause=cause, **data)

    def pick(self, planting: str, plot: Plot, day: date, observer: str) -> None:
        if plot.picks is None:
            return
        most, unit, first, last = plot.picks
        if first <= day.month <= last and day.isocalendar().week % 2 == 0:
            amount = most * self.chance.uniform(0.4, 1.0)
            amount = float(max(1, round(amount))) if unit != "kg" else round(amount, 1)
            self.entry("harvests", planting, day, observer, 45, amount=amount, unit=unit)


def walks(begins: date, ends: date) -> Iterator[date]:
    """The Wednesdays on which somebody walked: every one from June to August, every other one else, none in winter."""
    day = begins + timedelta(days=(2 - begins.weekday()) % 7)
    while day <= ends:
        if 6 <= day.month <= 8 or (3 <= day.month <= 10 and day.isocalendar().week % 2 == 0):
            yield day
        day += timedelta(days=7)


def step_of(trouble: Trouble, day: date) -> int | None:
    """How many walks after the first one of this trouble; None: not there on this day."""
    first = date.fromisocalendar(day.year, trouble.week, 3)
    found = sum(1 for walk in walks(first, day)) - 1
    return found if 0 <= found < trouble.walks and day >= first else None


def shortened(verdict: Any) -> dict[str, Any]:
    """The verdict with what the journal and the work list show of it. Still a whole verdict in shape."""
    data: dict[str, Any] = verdict.model_dump(mode="json", by_alias=True)
    for name in ("findings", "look_alikes", "holds", "cautions", "unexplained", "reasons"):
        data[name] = []
    own = [action for action in data["actions"] if action["kind"] == "routine"]
    data["actions"] = [action for action in data["actions"] if action["kind"] != "routine"] + own[:2]
    for name, most in (("classes", 2), ("causes", 3), ("would_change", 1), ("send_sample", 1)):
        data[name] = data[name][:most]
    data["threshold"] = None
    data["spray"]["reason"] = first_sentences(data["spray"]["reason"], 160)
    for chance in (*data["classes"], *data["causes"]):
        chance["probability"] = round(chance["probability"], 6)
    for name in ("chance_it_helps", "expected_gain"):
        data["spray"][name] = round(data["spray"][name], 6)
    for check in data["would_change"]:
        check["chance"] = round(check["chance"], 6)
    return data


def make(target: Path, engine: Engine | None = None, seed: int = 7) -> None:
    """Write the example garden to `target`, by way of a journal of its own."""
    folder = knowledge_folder()
    maker = Maker(engine or build(load(folder)), load_waits(folder), random.Random(seed))
    maker.garden()
    given = [
        Given(table, row, "example", f"{table}, row {number}")
        for table, rows in maker.rows.items()
        for number, row in enumerate(rows, 1)
    ]
    with tempfile.TemporaryDirectory() as place:
        journal = open_journal(Path(place) / "journal.db", Path(place) / "backups")
        with journal.write() as session:
            take_in(session, given, datetime(2026, 1, 1, tzinfo=UTC))
        with journal.read() as session:
            write_json(session, target)
        target.chmod(0o644)  # no secret: it is handed on with the program
        journal.close()


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "garden" / "journal.json")
