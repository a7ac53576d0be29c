"""The walk along the rows at the terminal: one key a planting, closer only where it is needed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from rich.markup import escape
from sqlalchemy.orm import Session

from triage.reasoning.case import Hemisphere
from triage.reasoning.engine import Engine
from triage.reasoning.knowledge import Region
from triage.reasoning.yaml_text import BadInput
from triage.records.entries import add, find_entry, undo
from triage.records.places import label, plantings
from triage.records.tables import Planting, Visit
from triage.records.walk import AGAIN, CLOSER, FINE, SKIP, Past, Round, Stop, entry_gone, past_of, was_sprayed
from triage.screens.console import Screen
from triage.screens.journal_page import day_text
from triage.screens.keeping import Book, JournalDraft, keep
from triage.screens.key_list import Key, pick_by_key
from triage.screens.recheck import Again, ask_again, judge_again
from triage.screens.visit import Begun, Judged, read_begun, start, visit

HOW_TO_GO_ON = "Saved. Go on with: triage walk"
_BACK, _LEAVE = "back", "leave"
_SAYS = {
    FINE: Key("f", FINE, "Fine"),
    CLOSER: Key("c", CLOSER, "Look closer: the questions"),
    AGAIN: Key("a", AGAIN, "Look again: clean above, climbing, a count"),
    SKIP: Key("s", SKIP, "Skip"),
    _BACK: Key("b", _BACK, "Back to the one before"),
    _LEAVE: Key("q", _LEAVE, "Save and leave"),
}


@dataclass(frozen=True)
class Walker:
    """One person on one walk. `engine` gives the reasoning kit, which is built while the person walks."""

    book: Book
    draft: JournalDraft
    screen: Screen
    engine: Callable[[], Engine]
    region: Region | None
    hemisphere: Hemisphere | None

    def go(self, walk: Round) -> Round | None:
        """From where the walk stands to its end; None when the person left it. Every stop is kept at once."""
        try:
            while (uid := walk.at) is not None:
                self.draft.keep(walk.data())
                found = self._stop(walk, uid)
                if found is None:
                    self.screen.print(HOW_TO_GO_ON)
                    return None
                walk = found
        except (KeyboardInterrupt, EOFError):
            self.screen.print(HOW_TO_GO_ON)
            return None
        self.draft.keep(walk.data())
        return walk

    def _stop(self, walk: Round, uid: str) -> Round | None:
        """One planting; the walk after it, or None when the person leaves."""
        with self.book.journal.read() as session:
            planting = next((p for p in plantings(session) if p.uid == uid), None)
            if planting is None or planting.removed is not None:
                return walk.without([uid])
            past = past_of(session, planting, self.book.today)
            _ = planting.bed.name
        if walk.begun is not None:
            return self._closer(walk, planting, self._begun(walk, planting))
        self._head(walk, planting, past)
        how = pick_by_key(
            "How is it?" if not past.trouble else self._asks_after(past), self._keys(walk, past), self._plain
        )
        if how == _LEAVE:
            return None
        if how == _BACK:
            return self._back(walk)
        if how == SKIP:
            self.screen.print("Skipped.")
            return walk.after(uid, Stop(SKIP))
        if how == FINE:
            return walk.after(uid, self._keep(FINE, planting, [], walk))
        if how == AGAIN:
            return self._again(walk, planting, past)
        return self._closer(walk, planting, self._anew(planting))

    def _anew(self, planting: Planting) -> Begun:
        return start(planting.crop, self.book.today.month, self.region, self.hemisphere)

    def _begun(self, walk: Round, planting: Planting) -> Begun:
        """The interview that was left at this planting."""
        try:
            return read_begun(walk.begun, self.engine())
        except BadInput:  # the questions have changed since; a walk must not get stuck on them
            self.screen.print("What was answered can no longer be read. It is asked anew.")
            return self._anew(planting)

    @property
    def _plain(self) -> bool:
        return self.screen.plain

    def _head(self, walk: Round, planting: Planting, past: Past) -> None:
        place = f"{len(walk.done) + 1} of {len(walk.order)}"
        self.screen.print(self.screen.rule(), f"[label]{escape(label(planting, self.book.words))}[/] [soft]{place}[/]")
        for line in last_time(past):
            self.screen.print(escape(line))

    @staticmethod
    def _asks_after(past: Past) -> str:
        names = " and ".join(dict.fromkeys(case.cause_name for case in past.trouble))
        return f"{names}: how is it now?"

    @staticmethod
    def _keys(walk: Round, past: Past) -> list[Key]:
        first = [AGAIN, FINE, CLOSER] if past.trouble else [FINE, CLOSER, AGAIN]
        return [_SAYS[name] for name in (*first, SKIP, *([_BACK] if walk.done else []), _LEAVE)]

    def _closer(self, walk: Round, planting: Planting, begun: Begun, found: Again | None = None) -> Round | None:
        """The interview; its draft lies in that of the walk. `found`: a count that goes with it."""
        judged = visit(begun, self.engine(), self.screen, _InWalk(self.draft, walk), why=False, go_on="")
        if judged is None:
            return None
        return walk.after(planting.uid, self._keep(CLOSER, planting, judged, walk, found))

    def _again(self, walk: Round, planting: Planting, past: Past) -> Round | None:
        found = ask_again(past, self.engine().knowledge, self.screen)
        try:
            judged = judge_again(past, found, self.engine())
        except BadInput:
            judged = []
            self.screen.print("What was asked last time can no longer be read. Then look closer.")
        if not judged and (past.trouble or not found.nothing_wrong):
            if not past.trouble:
                self.screen.print("Then look closer.")
            return self._closer(walk, planting, self._anew(planting), found)
        return walk.after(planting.uid, self._keep(AGAIN, planting, judged, walk, found))

    def _keep(
        self, how: str, planting: Planting, judged: list[Judged], walk: Round, found: Again | None = None
    ) -> Stop:
        """Keep what was seen there, all in one: the visit, what the second look found, the count."""
        entries: list[str] = []

        def also(session: Session, kept: Visit) -> None:
            entries.append(kept.uid)
            if found is None:
                return
            for case, note in zip(kept.cases, found.notes() if how == AGAIN else [], strict=False):
                case.answers = {**case.answers, "again": note}
            if found.looked:
                data = {"date": self.book.today, "observer": walk.observer, "looked": found.looked}
                data |= {"infested": found.infested, "sprayed": was_sprayed(session, kept.planting)}
                data["cause"] = kept.cases[0].cause if kept.cases else None
                entries.append(add(session, "count", kept.planting, data, self.book.journal.clock()).uid)

        def same(session: Session) -> Planting:
            return session.get_one(Planting, planting.id)

        keep(judged, self.book, self.screen, same, self.book.today, walk.observer, also)
        return Stop(how, tuple(entries))

    def _back(self, walk: Round) -> Round:
        """One planting back: what was kept there on this walk is taken back, with a trace."""
        before, stop = walk.back()
        if stop is not None and stop.entries:
            try:
                with self.book.journal.write() as session:
                    for uid in reversed(stop.entries):
                        undo(session, find_entry(session, uid), walk.observer, self.book.journal.clock())
            except BadInput as error:
                if not entry_gone(error):
                    raise
            self.screen.print("Taken back.")
        return before


@dataclass(frozen=True)
class _InWalk:
    """The draft of an interview inside a walk."""

    draft: JournalDraft
    walk: Round

    def keep(self, data: dict[str, Any]) -> None:
        self.draft.keep(replace(self.walk, begun=data).data())

    def read(self) -> Any:
        return None

    def drop(self) -> None:
        self.draft.keep(self.walk.data())


def last_time(past: Past) -> list[str]:
    """What was seen at the last visit and done since, in a line or two."""
    if past.visit is None:
        return ["Never looked at before."]
    seen = "; ".join(
        ("perhaps " if case.state == "unclear" else "")
        + case.cause_name
        + {"clean": ", new growth clean", "affected": ", new growth hit too"}.get(case.new_growth or "", "")
        for case in past.visit.cases
    )
    lines = [f"Last time, {day_text(past.visit.date)}: {seen or 'all fine'}."]
    if past.count is not None and past.count.looked and past.count.infested is not None:
        lines.append(f"Counted {day_text(past.count.date)}: {past.count.infested} of {past.count.looked} leaves.")
    if past.sprays:
        times = f"{len(past.sprays)} times, last " if len(past.sprays) > 1 else ""
        lines.append(f"Sprayed since: {times}{day_text(past.sprays[-1].date)}.")
    if past.patch is not None and past.patch.result is None:
        lines.append(f"Test patch of {past.patch.mix}: look at it on {day_text(past.patch.look_on)}.")
    return lines
