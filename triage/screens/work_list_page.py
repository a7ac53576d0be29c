"""The day's work list on the screen and for machines: what to do by what means, and what changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.markup import escape

from triage.reasoning.knowledge import Knowledge
from triage.records.entries import short
from triage.records.means import Means
from triage.records.places import CropWords, label
from triage.records.tables import Case, Count, Planting, Visit
from triage.records.work_list import Item, Seen, WorkList
from triage.screens import log_forms, prompts
from triage.screens.console import Screen
from triage.screens.journal_page import day_text
from triage.screens.mix_page import litres, record, spoon_words
from triage.screens.prompts import Option
from triage.screens.safety_page import bullets, show_brief
from triage.screens.spray_job import Plants, touchy
from triage.screens.verdict_page import first_sentences
from triage.spraying.mix import Batch

_SEVERITY = ("few", "some", "many")
_ROOM = 170  # characters of advice a plant
Amounts = Mapping[str, Plants]  # by the uid of the planting


def show_work_list(
    work: WorkList, means: Means, words: CropWords, knowledge: Knowledge, screen: Screen, batch: Batch | None,
    amounts: Amounts, country: str, trouble: str = "",
) -> None:  # fmt: skip
    """The list, from healthy plants to sick ones. `batch`: for the spray group; `trouble`: why there is none."""
    screen.print(f"[label]Work list, {day_text(work.day)}[/]")
    if not work.seen:
        screen.print("Nothing was looked at on this day.")
        return
    if work.groups:
        screen.print("[soft]From healthy plants to sick ones. Wash hands and tools in between.[/]")
    if work.fine:
        screen.print(escape(f"Fine: {_named(work.fine, words)}."))
    for name, items in work.groups:
        bullets([_line(item, words) for item in items], screen, means.means[name].title)
        if name == "spray":
            _spray(items, batch, amounts, knowledge, screen, trouble)
    bullets(changes(work, words), screen, "Changed since the last look")
    if work.not_seen:
        screen.print("", f"[soft]Not seen: {escape(_named(work.not_seen, words))}.[/]")
    if batch is not None:
        show_brief(knowledge, screen, country)
    screen.print("", "[soft]When done: triage log action, triage log spray. What is waiting: triage due[/]")


def _named(plantings: Sequence[Planting], words: CropWords) -> str:
    return "; ".join(label(planting, words) for planting in plantings)


def _line(item: Item, words: CropWords) -> str:
    name = case_name(item.case)
    says = escape(first_sentences(item.says, _ROOM)) if item.says else ""
    if item.holds_still:
        says = "New growth is clean and the damage stands still. Old marks stay for good."
    elif item.means == "spray" and item.patch != "clean":
        says = "[warn]Patch first:[/] " + (
            "try it on one plant and wait two days."
            if item.patch is None
            else "look at the test patch before you spray."
        )
    return f"[label]{escape(label(item.planting, words))}[/]: {escape(name)}. {says}".rstrip()


def case_name(case: Case) -> str:
    return f"not clear yet, perhaps {case.cause_name}" if case.state == "unclear" else case.cause_name


def _spray(
    items: Sequence[Item], batch: Batch | None, amounts: Amounts, knowledge: Knowledge, screen: Screen, trouble: str
) -> None:
    if batch is None:
        told = trouble or "How much to mix: say how many plants, --plants 'beans north=24'."
        screen.print(f"    {escape(told)}")
        return
    kitchen = batch.order.kitchen
    plants = [amounts[item.planting.uid] for item in items if item.planting.uid in amounts]
    need = batch.order.need
    assert need is not None
    counted = sum(one.count for one in plants)
    fillings = f"{batch.fillings} filling{'s' * (batch.fillings > 1)}"
    lines = [f"For {counted} plants about {litres(need.high_ml, kitchen)}: {fillings}."]
    for fill in batch.fills:
        soap_first = sorted(fill.measures, key=lambda measure: measure.kind == "oil")
        parts = ", ".join(f"{m.name} {spoon_words(m)} ({m.ml:.1f} mL, {m.percent:.2f}%)" for m in soap_first)
        head = f"{fill.times} x " if fill.times > 1 else ""
        lines.append(f"{head}{litres(fill.ml, kitchen)}: water {fill.water_ml:.0f} mL, {parts}.")
    lines += touchy(plants, knowledge)
    left_out = len(items) - len(plants)
    if left_out:
        lines.append(f"{left_out} of these without a number of plants: not counted in.")
    bullets([escape(line) for line in lines], screen, "The mix for them")


def changes(work: WorkList, words: CropWords) -> list[str]:
    """What is otherwise than at the look before, a line a planting, ready to print."""
    found = []
    for seen in work.seen:
        told = what_changed(seen)
        if told:
            found.append(f"[label]{escape(label(seen.planting, words))}[/]: {escape(told)}.")
    return found


def what_changed(seen: Seen) -> str:
    """In words; empty when nothing did."""
    old, parts = seen.before.visit, []
    if old is None:
        if not seen.now.cases:
            return ""
        parts.append(f"looked at for the first time, {_names(seen.now)}")
    else:
        before = {case.cause: case for case in old.cases}
        now = {case.cause: case for case in seen.now.cases}
        parts += [f"new: {case_name(case)}" for cause, case in now.items() if cause not in before]
        parts += [f"gone: {case_name(case)}" for cause, case in before.items() if cause not in now]
        for cause in before.keys() & now.keys():
            parts += _moved(before[cause], now[cause])
    counted = _counted(seen.before.count, seen.count)
    if counted:
        parts.append(counted)
    if not parts:
        return ""
    since = f" (since {day_text(old.date)})" if old else ""
    return ", ".join(parts) + since


def _names(visit: Visit) -> str:
    return ", ".join(case_name(case) for case in visit.cases)


def _moved(before: Case, now: Case) -> list[str]:
    parts = []
    if before.severity and now.severity and before.severity != now.severity:
        worse = _SEVERITY.index(now.severity) > _SEVERITY.index(before.severity)
        parts.append(f"{now.cause_name} is {'worse' if worse else 'less'}")
    if now.new_growth and before.new_growth != now.new_growth:
        parts.append("new growth is clean now" if now.new_growth == "clean" else "new growth is hit now")
    if (now.answers.get("again") or {}).get("climbing"):
        parts.append("the damage climbs")
    return parts


def _counted(before: Count | None, now: Count | None) -> str:
    if now is None or now.infested is None or not now.looked:
        return ""
    told = f"{now.infested} of {now.looked} leaves with pests"
    if before is not None and before.infested is not None and before.looked:
        told += f", was {before.infested} of {before.looked}"
    return told


def ask_amounts(
    work: WorkList, known: Amounts, words: CropWords, knowledge: Knowledge, screen: Screen
) -> dict[str, Plants]:
    """How many plants there are to spray, planting by planting; last time's numbers are offered."""
    found: dict[str, Plants] = {}
    covers = knowledge.sprays.coverage.covers
    for planting in {item.planting.uid: item.planting for item in work.to_spray}.values():
        old = known.get(planting.uid)
        ask = f"To spray: how many plants of {label(planting, words)}?"
        text = log_forms.typed(ask, screen.plain, _is_number, str(old.count) if old else "")
        if not text or int(text) == 0:
            continue
        order = sorted(covers, key=lambda cover: cover != (old.cover if old else "full"))
        options = [Option(cover, covers[cover].says) for cover in order]
        cover = prompts.choose("How leafy are they?", options, screen.plain) or order[0]
        found[planting.uid] = Plants(planting.crop, int(text), cover)
    return found


def _is_number(text: str) -> bool | str:
    return text.strip() == "" or text.strip().isdigit() or "A whole number, or just Enter to leave it out."


def work_record(work: WorkList, means: Means, batch: Batch | None) -> dict[str, Any]:
    """The list for machines."""
    return {
        "date": work.day.isoformat(),
        "groups": [
            {"means": name, "title": means.means[name].title, "plants": [_item_record(item) for item in items]}
            for name, items in work.groups
        ],
        "fine": [_planting(planting) for planting in work.fine],
        "changed": [{**_planting(s.planting), "says": told} for s in work.seen if (told := what_changed(s))],
        "not_seen": [_planting(planting) for planting in work.not_seen],
        "mix": None if batch is None else record(batch),
    }


def _item_record(item: Item) -> dict[str, Any]:
    case = item.case
    return {
        **_planting(item.planting),
        "cause": case.cause,
        "class": case.class_id,
        "state": case.state,
        "advice": case.advice,
        "says": item.says,
        "holds_still": item.holds_still,
        "test_patch": item.patch,
        "sickness": item.sickness,
        "case": short(case.uid),
    }


def _planting(planting: Planting) -> dict[str, Any]:
    named = {"planting": planting.uid, "crop": planting.crop, "variety": planting.variety}
    return {**named, "bed": planting.bed.name}
