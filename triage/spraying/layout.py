"""Lays a programme out: rounds, looks, what comes after them, and why each day is the day it is.

Rules in knowledge/programme.yaml; what holds a day back in holds.py.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from triage.spraying.holds import DayReport, day_report, washed_off
from triage.spraying.programme import (
    Growth,
    Look,
    Moved,
    Outset,
    Programme,
    Since,
    Stage,
    Step,
    start_rules,
    stop_rules,
)  # fmt: skip
from triage.spraying.programme_knowledge import ProgrammeRules
from triage.spraying.weather_knowledge import HoldRules

_MOVES_SPRAY = ("the weather of the day", "the day of the spray before it", "picking, flowers and other sprays")
_MOVES_FIRST = ("the weather of the day", "picking, flowers and other sprays")
_MOVES_LOOK = ("the day of the spray before it",)


def lay_out(outset: Outset, since: Since, rules: ProgrammeRules, holds: HoldRules, today: date) -> Programme:
    """The programme as it stands on `today`. Nothing is dated that may not be sprayed."""
    starts = start_rules(outset, since, rules)
    if not all(rule.met for rule in starts):
        return Programme(
            False, starts, stop_rules(outset, since, rules, "burnt" if since.patch.state == "burnt" else "")
        )
    layout = _Layout(outset, since, rules, holds, today)
    layout.run()
    stops = stop_rules(outset, since, rules, layout.stop)
    return Programme(True, starts, stops, tuple(layout.steps), layout.waits, tuple(dict.fromkeys(layout.notes)))


class _Layout:
    """Walks from the first spray on: what was done is taken as it was, what is to come is placed on a clear day."""

    def __init__(self, outset: Outset, since: Since, rules: ProgrammeRules, holds: HoldRules, today: date) -> None:
        self.outset, self.since, self.rules, self.holds, self.today = outset, since, rules, holds, today
        self.steps: list[Step] = []
        self.waits: tuple[Moved, ...] = ()
        self.notes: list[str] = []
        self.stop = ""
        self._done = sorted({day for day in since.done if day >= outset.start})
        looks = sorted({*outset.looks, *since.looks}, key=lambda look: (look.on, look.growth or "", bool(look.pests)))
        self._looks = [look for look in looks if look.on >= outset.start]
        burnt = any(look.burnt for look in self._looks)
        self._over = "burnt" if burnt else "no_longer" if since.no_longer else ""  # ends it whatever else is so
        self._end = max(outset.start, today) + timedelta(days=rules.horizon.days)
        self._last: date | None = None  # of the sprays that count
        # What the next gap counts from, as it is and as laid out; nothing comes before the last look.
        self._anchor, self._ideal, self._earliest = outset.start, outset.start, outset.start
        self._sprays = self._without_effect = self._spotless = 0
        self._numbers = {"outbreak": 0, "later": 0, "look": 0, "scent": 0}
        self._only_if = ""

    def run(self) -> None:
        if self.outset.scent:
            self._scent()
            return
        while self._rounds() and self._later():
            pass

    # -- the three parts ------------------------------------------------------------------

    def _rounds(self) -> bool:
        """Rounds and the look after them, until new growth is clean. False: it ends here."""
        limit, usual, gap = self.rules.no_effect.rounds, self.rules.outbreak.rounds, self.outset.gap.days
        while True:
            wanted, n = min(usual, limit - self._without_effect), 0
            while n < wanted:
                if n and self._broken(gap):
                    self.notes.append(self.rules.broken.says)
                    wanted, n = min(usual, limit - self._without_effect), 0
                    continue
                if not self._spray("outbreak", gap, f"Round {n + 1} of {wanted}"):
                    return False
                n += 1
                self._without_effect += 1
            found = self._look()
            if self.stop or self._over:
                self.stop = self.stop or self._over
                return False
            if found != "hit":
                if found == "clean":
                    self._without_effect = 0
                return True
            if self._without_effect >= limit:
                self.stop = "no_effect"
                return False

    def _broken(self, gap: int) -> bool:
        """Whether the next round comes so late that the rounds begin anew. Never when there is no room for them."""
        assert self._last is not None
        following = self._done[0] if self._done else self._place(self._last + timedelta(days=gap))[0]
        late = following is not None and (following - self._last).days > self.rules.broken.after_gaps * gap
        return late and self._without_effect < self.rules.no_effect.rounds

    def _later(self) -> bool:
        """The widening gaps. True: new growth was hit again, back to the rounds."""
        gaps = self.rules.follow_up.gaps
        for n, gap in enumerate(gaps, 1):
            while (look := self._next_look()) is not None:
                self._add_look(look.on, look.on, look)
                if look.growth == "hit":
                    return not self.stop
                if self.stop:
                    return False
            if not self._spray("later", gap, f"Later spray {n} of {len(gaps)}, {gap} days on"):
                return False
        if self._look() == "hit" and not self.stop:
            return True
        self.stop = self.stop or self._over or ("" if self._pending() else "finished")
        return False

    def _scent(self) -> None:
        low, high = self.rules.scent.every_days
        rounds = self.rules.scent.rounds
        for n in range(1, rounds + 1):
            if not self._spray("scent", low if n > 1 else 0, f"Scent mask {n} of {rounds}", span=high - low):
                return
        if not self._pending():
            self.stop = "finished"

    def _pending(self) -> bool:
        return any(not step.done for step in self.steps)

    # -- one spray, one look ----------------------------------------------------------------

    def _spray(self, stage: Stage, gap: int, says: str, span: int = 0) -> bool:
        """The next spray that counts; one that was washed off is done again. False: it ends here."""
        first = self._last is None
        apart = timedelta(days=0 if first else gap)
        ideal, wanted = (max(day + apart, self._earliest) for day in (self._ideal, self._anchor))
        name, tries = f"{stage}-{self._numbers[stage] + 1}", 0
        while True:
            if self._sprays >= self.rules.most_sprays.number:
                self.stop = "" if self._pending() else "most_sprays"  # it has come only when they are done
                return False
            if not self._done and self._over:
                self.stop = self._over
                return False
            told = name + ("" if not tries else "-again" if tries == 1 else f"-again-{tries}")
            again = f"{says}, again" if tries else says
            step = Step(told, "spray", stage, self._numbers[stage] + 1, wanted, ideal, again)
            if self._done:
                step = self._as_done(step, self._done.pop(0))
            else:
                on, moved = self._place(wanted)
                if on is None:
                    self.waits = _last_reasons(moved)
                    return False
                step = self._as_planned(step, on, moved, span)
            self.steps.append(step)
            self._sprays += 1
            if step.washed_off:
                self.notes += [self.rules.wash_off.says, self.rules.wash_off.dried]
                dry = step.on + timedelta(days=self.rules.wash_off.days)
                wanted = ideal = dry if self._last is None else max(dry, self._last + timedelta(days=gap))
                tries += 1
                continue
            self._numbers[stage] += 1
            self._last = self._anchor = step.on
            self._ideal = ideal
            return True

    def _as_done(self, step: Step, day: date) -> Step:
        weather = self.outset.weather
        washed = bool(weather and day not in self.outset.dried and washed_off(day, weather, self.holds))
        late = () if day == step.laid_out else (Moved(step.laid_out, "done", f"done {_later_by(day, step.laid_out)}"),)
        return replace(step, on=day, done=True, moved=late, washed_off=washed)

    def _as_planned(self, step: Step, on: date, moved: tuple[Moved, ...], span: int) -> Step:
        if step.on != step.laid_out:
            why = f"what came before it was {_later_by(step.on, step.laid_out)}"
            moved = (Moved(step.laid_out, "spray_before", why), *moved)
        report = self._report(on)
        weather = self.outset.weather
        return replace(
            step,
            on=on,
            until=on + timedelta(days=span) if span and step.number > 1 else None,
            moved=moved,
            may_move=_MOVES_SPRAY if self._last else _MOVES_FIRST,
            care=tuple(f"{hold.name}: {hold.found}" for hold in (*report.of("unknown"), *report.of("care"))),
            only_if="living pests are left" if step.stage == "later" and not self._only_if else self._only_if,
            weather_known=weather is not None and weather.on(on) is not None,
        )

    def _look(self) -> Growth | None:
        """The look after the last spray: what it found, or None when nobody has looked yet."""
        assert self._last is not None
        laid_out = self._last + timedelta(days=self.rules.look.after_days)
        while (look := self._next_look()) is not None:
            self._add_look(look.on, laid_out, look)
            if look.growth is not None or self.stop:
                return look.growth
        if self._done:
            # Somebody sprayed on without a look: soon after, because it was needed; a week after, because it was not.
            return "clean" if (self._done[0] - self._last).days >= self.rules.follow_up.weekly_days else "hit"
        self._add_look(max(laid_out, self.today), laid_out, None)
        self._only_if = f"new growth is clean at the look of {self.steps[-1].on}"
        return None

    def _next_look(self) -> Look | None:
        """The next report made after the last spray and before the one that follows; earlier ones are passed over."""
        assert self._last is not None
        before = self._done[0] if self._done else date.max
        while self._looks and self._looks[0].on <= self._last:
            self._looks.pop(0)
        return self._looks.pop(0) if self._looks and self._looks[0].on <= before else None

    def _add_look(self, on: date, laid_out: date, look: Look | None) -> None:
        self._numbers["look"] += 1
        number = self._numbers["look"]
        step = Step(f"look-{number}", "look", "look", number, on, laid_out, "Look at the newest leaves")
        if look is None:
            late = (Moved(laid_out, "not_done", "nobody has looked yet"),) if on > laid_out else ()
            self.steps.append(replace(step, may_move=_MOVES_LOOK, moved=late, only_if=self._only_if))
            self._earliest = on
            return
        growth = {"clean": "new growth clean", "hit": "new growth hit too", None: ""}[look.growth]
        pests = {True: "living pests left", False: "no living pests", None: ""}[look.pests]
        found = ", ".join(part for part in (growth, pests, "leaves burnt" if look.burnt else "") if part)
        self.steps.append(replace(step, done=True, found=found))
        spotless = look.growth != "hit" and look.pests is False
        self._spotless = self._spotless + 1 if spotless else 0 if look.growth == "hit" or look.pests else self._spotless
        self._earliest = look.on
        if spotless:  # nothing to spray just now: the gap counts from this look
            self._anchor = self._ideal = max(self._anchor, look.on)
        if self._spotless >= self.rules.clean_for_good.looks:
            self.stop = "clean_for_good"

    # -- a day ------------------------------------------------------------------------------

    def _place(self, wanted: date) -> tuple[date | None, tuple[Moved, ...]]:
        """The first day from `wanted` on that nothing holds, and the days passed over. None: none in sight."""
        moved: list[Moved] = []
        on = wanted
        if on < self.today:
            moved.append(Moved(on, "not_done", "not written down as done"))
            on = self.today
        while on <= self._end:
            held = self._report(on).of("hold")
            if not held:
                return on, tuple(moved)
            moved += [Moved(on, hold.id, f"{hold.name}: {hold.found}") for hold in held]
            on += timedelta(days=1)
        return None, tuple(moved)

    def _report(self, on: date) -> DayReport:
        outset, since = self.outset, self.since
        weather = outset.weather
        plants = replace(
            outset.plants,
            harvest=min((day for day in outset.harvests if day >= on), default=None),
            last_spray=_latest(on, outset.plants.last_spray, self._last, *since.other_sprays),
            last_sulfur=_latest(on, outset.plants.last_sulfur, *since.sulfur),
            last_oil=_latest(on, outset.plants.last_oil, *since.oil),
        )
        known = weather if weather is not None and weather.first <= on <= weather.last else None
        return day_report(on, known, plants, self.holds, outset.seen)


def _latest(on: date, *days: date | None) -> date | None:
    return max((day for day in days if day is not None and day <= on), default=None)


def _later_by(day: date, laid_out: date) -> str:
    days = (day - laid_out).days
    return f"{abs(days)} day{'s' if abs(days) != 1 else ''} {'later' if days > 0 else 'earlier'} than laid out"


def _last_reasons(moved: tuple[Moved, ...]) -> tuple[Moved, ...]:
    return tuple(move for move in moved if move.off == moved[-1].off) if moved else ()
