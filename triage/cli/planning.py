"""Joins the journal and the spraying room for `plan`, `patch` and `due`: rows in, a laid-out programme out."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from triage.cli.choosing import cause_name
from triage.cli.shared import Shop, fail


@dataclass
class Rules:
    """The rules of programmes and holds, read when first needed."""

    shop: Shop

    @cached_property
    def programme(self) -> Any:
        from triage.reasoning.library import knowledge_folder
        from triage.spraying.programme_knowledge import load_programme

        return load_programme(knowledge_folder())

    @cached_property
    def holds(self) -> Any:
        from triage.reasoning.library import knowledge_folder
        from triage.spraying.weather_knowledge import load_holds

        return load_holds(knowledge_folder())

    @cached_property
    def mites(self) -> Any:
        from triage.reasoning.library import knowledge_folder
        from triage.spraying.mite_knowledge import load_mites

        return load_mites(knowledge_folder())


def mixed(shop: Shop, name: str | None, oil: float | None, soap: float | None) -> Any:
    """The mix by name and strength; the usual home mix where nothing was said."""
    from triage.spraying.patches import Mixed

    if (name or "home mix").casefold() == "home mix":
        usual = shop.knowledge.sprays.home_mix
        oil, soap = (usual.oil_percent if oil is None else oil), (usual.soap_percent if soap is None else soap)
    return Mixed(name or "home mix", oil, soap)


def since_of(session: Any, planting: Any, mix: Any, cause: str | None, start: date, rules: Any, today: date) -> Any:
    """What the journal says of this planting, mix and cause, as the spraying room takes it."""
    from triage.records.programmes import facts_of, last_case
    from triage.spraying.patches import Mixed, Tried, standing
    from triage.spraying.programme import Look, Since

    facts = facts_of(session, planting, cause)
    tried = [
        Tried(
            patch.date,
            Mixed(patch.mix, patch.oil_percent, patch.soap_percent),
            patch.planting.variety,
            patch.planting_id == planting.id,
            patch.result,  # type: ignore[arg-type]  # the shape of the row lets no other word in
            patch.looked_on,
        )
        for patch in facts.patches
    ]
    case = last_case(session, planting, cause) if cause is not None else None
    says_no = case is not None and case.visit.date > start and case.advice == "do_not_spray"
    mine = mix.name.casefold()
    said = [(day, name.casefold()) for day, name in facts.sprays]
    sulfur = tuple(day for day, name in said if any(word in name for word in rules.sulfur_words))
    oil = tuple(day for day, name in said if any(word in name for word in rules.oil_words))
    return Since(
        standing(tried, mix, planting.variety, today, rules.test_patch),
        done=tuple(day for day, name in said if name == mine),
        other_sprays=tuple(day for day, name in said if name != mine and day not in sulfur),
        sulfur=sulfur,
        oil=oil,
        looks=tuple(Look(look.on, look.growth, look.pests) for look in facts.looks),
        no_longer=str(case.verdict["spray"]["reason"]) if case is not None and says_no else "",
        removed=planting.removed,
    )


def laid_out(shop: Shop, session: Any, row: Any, rules: Rules) -> tuple[Any, Any]:
    """A programme of the journal as it stands today, and its outset."""
    from triage.spraying.layout import lay_out
    from triage.spraying.patches import Mixed
    from triage.spraying.programme import from_data

    outset = from_data(row.outset, f"programme {row.uid[:6]}")
    mix = Mixed(row.mix, row.oil_percent, row.soap_percent)
    since = since_of(session, row.planting, mix, row.cause, outset.start, rules.programme, shop.today)
    return lay_out(outset, since, rules.programme, rules.holds, shop.today), outset


def programmes_due(shop: Shop, rules: Rules) -> Callable[[Any, date], Iterable[Any]]:
    """A source for `triage due`: the dates of all open programmes, or why one of them must not go on."""
    from triage.records.due import Due
    from triage.records.programmes import open_programmes
    from triage.screens.programme_page import moved_words

    def source(session: Any, until: date) -> Iterable[Any]:
        for row in open_programmes(session):
            programme, _ = laid_out(shop, session, row, rules)
            if programme.stopped or not programme.go:
                unmet = programme.stopped or next(rule for rule in programme.starts if not rule.met)
                says = f"no more sprays: {unmet.says} End it: triage plan --end WHY"
                yield Due(shop.today, "programme", row.planting, says, row.uid)
                continue
            for step in programme.ahead:
                if step.on <= until:
                    what = f"spray {row.mix}: {step.says.lower()}" if step.kind == "spray" else step.says.lower()
                    words = [f"only if {step.only_if}"] if step.only_if else []
                    told = "; ".join([what, *words, *moved_words(step.moved)])
                    yield Due(step.on, step.kind, row.planting, told, row.uid, step.id)

    return source


def keep_spray(shop: Shop, session: Any, row: Any, day: date, observer: str | None, rules: Rules) -> Any:
    """Writes the next spray of a programme down as done on that day. Returns the entry. Raises BadInput."""
    from triage.records.entries import add

    programme, _ = laid_out(shop, session, row, rules)
    step = next((step for step in programme.ahead if step.kind == "spray"), None)
    if step is None:
        raise fail("no spray is to come in this programme", "see: triage plan; another one: triage log spray", "--done")
    data = {"mix": row.mix, "oil_percent": row.oil_percent, "soap_percent": row.soap_percent, "cause": row.cause}
    data |= {"date": day, "observer": observer, "note": f"{step.says}."}
    data |= {"round": step.number} if step.stage == "outbreak" else {}
    return add(session, "spray", row.planting, data, shop.journal.clock())


def keep_look(
    shop: Shop, session: Any, row: Any, found: str, pests: bool | None, day: date, observer: str | None
) -> None:
    """Writes down what a look found: clean, hit or burnt."""
    from dataclasses import replace

    from triage.records.programmes import change
    from triage.spraying.programme import Look, from_data, to_data

    outset = from_data(row.outset)
    look = Look(day, None if found == "burnt" else found, pests, found == "burnt")  # type: ignore[arg-type]
    outset = replace(outset, looks=(*(old for old in outset.looks if old.on != day), look))
    change(session, row, {"outset": to_data(outset)}, observer, shop.journal.clock())


def keep_result(
    shop: Shop, session: Any, patch: Any, result: str, day: date, observer: str | None, note: str | None, rules: Rules
) -> None:
    """Writes the result of a test patch down. A clean one before its time is refused. Raises BadInput."""
    from triage.records.entries import Found, edit
    from triage.spraying.patches import looks_of

    first, second = looks_of(patch.date, rules.programme.test_patch)
    if day < patch.date:
        raise fail(f"the patch was put on later, on {patch.date}", "check the day", "--date")
    if result == "clean" and day < first:
        days = rules.programme.test_patch.first_look_days
        raise fail(f"too soon to call it clean: marks take {days} days and more", f"look from {first} on", "clean")
    changes: dict[str, Any] = {"result": result, "looked_on": day}
    if note:
        changes["note"] = note
    if result == "clean":
        changes["look_on"] = second  # `triage due` asks for the second look
    edit(session, Found("patch", patch), changes, observer, shop.journal.clock())


def kept(shop: Shop, session: Any, kind: str, row: Any) -> str:
    """What was kept, in one line."""
    from triage.records.story import Line
    from triage.screens.journal_page import kept_line

    session.refresh(row)
    _ = row.planting
    return kept_line(Line(row.date, kind, row), shop.crop_words, cause_name(shop))
