"""What published problem lists name and the sheets cover: a table of the lists, then what has no sheet."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from rich import box
from rich.markup import escape
from rich.table import Table

from triage.reasoning.coverage import Cover, Wanted, missing_of, once, thin
from triage.reasoning.knowledge import Knowledge, Source
from triage.screens.console import Screen

_MOST_WANTED = 20

Covers = Mapping[str, Sequence[Cover]]


def show_coverage(
    by_crop: Covers, wanted: Sequence[Wanted], knowledge: Knowledge, screen: Screen, only_missing: bool = False
) -> None:
    """Lists and figures first (not with `only_missing`), then what has no sheet, then what to write next."""
    if not by_crop:
        screen.print("This is no crop of its own, so no list is kept for it.")
        return
    if not only_missing:
        _show_lists(by_crop, knowledge, screen)
    _show_missing(by_crop, knowledge, screen)
    _show_wanted(wanted, knowledge, screen)
    screen.print("", *[escape(line) for line in _summary(by_crop, knowledge)])


def _show_lists(by_crop: Covers, knowledge: Knowledge, screen: Screen) -> None:
    if screen.plain:
        for crop, covers in by_crop.items():
            for cover in covers:
                other = f", {len(cover.elsewhere)} of them by a sheet that does not name this crop"
                tail = other if cover.elsewhere else ""
                figures = f"{len(cover.covered)} of {cover.entries} covered{tail}"
                _print(f"{_crop(crop, knowledge)}: {figures}. {_told(cover.source)}", screen)
        return
    table = Table(box=box.SIMPLE, width=screen.width, padding=(0, 1, 0, 0))
    table.add_column("Crop", width=15)
    table.add_column("Published list", ratio=1)
    table.add_column("Covered", justify="right", no_wrap=True)
    table.add_column("Crop not\nin sheet", justify="right")
    for crop, covers in by_crop.items():
        for i, cover in enumerate(covers):
            table.add_row(
                escape(_crop(crop, knowledge)) if i == 0 else "",
                escape(_told(cover.source)),
                f"{len(cover.covered)}/{cover.entries}",
                str(len(cover.elsewhere) or ""),
                end_section=i == len(covers) - 1,
            )
        if not covers:
            table.add_row(escape(_crop(crop, knowledge)), "[warn]no list yet[/]", "", "", end_section=True)
    screen.print(table)


def _show_missing(by_crop: Covers, knowledge: Knowledge, screen: Screen) -> None:
    screen.print("[label]Without a sheet[/]")
    for crop, covers in by_crop.items():
        names = missing_of(covers)
        if not covers:
            told = "no published list yet"
        elif names:
            told = "; ".join(names)
        else:
            told = "nothing"
        _print(f"{_crop(crop, knowledge)}: {told}", screen)


def _show_wanted(wanted: Sequence[Wanted], knowledge: Knowledge, screen: Screen) -> None:
    if not wanted:
        return
    screen.print("", "[label]To write next[/] (in most lists first)")
    for number, one in enumerate(wanted[:_MOST_WANTED], 1):
        on = ", ".join(_crop(crop, knowledge).lower() for crop in one.crops)
        lists = f"{one.lists} list{'s' if one.lists != 1 else ''}"
        _print(f"{number}. {one.name}: {lists}; on {on}", screen)


def _summary(by_crop: Covers, knowledge: Knowledge) -> list[str]:
    covers = [cover for found in by_crop.values() for cover in found]
    entries, told = sum(cover.entries for cover in covers), sum(len(cover.covered) for cover in covers)
    few = thin(by_crop)
    lines = [f"{len(by_crop) - len(few)} of {len(by_crop)} crops have two lists or more."] if len(by_crop) > 1 else []
    if covers:
        away = sum(len(cover.elsewhere) for cover in covers)
        lines.append(f"{told} of {entries} entries have a sheet ({told / entries:.0%}).")
        lines.append(f"{away} of these by a sheet that does not name the crop.")
        known, named = once(by_crop)
        if named < entries:
            lines.append(
                f"Each list counted once, however many crops it serves: {known} of {named} ({known / named:.0%})."
            )
    if few:
        lines.append("Too few lists: " + ", ".join(f"{_crop(c, knowledge)} ({n})" for c, n in few.items()) + ".")
    return lines


def _crop(crop: str, knowledge: Knowledge) -> str:
    return knowledge.crops.crops[crop].name


def _told(source: Source) -> str:
    year = f", {source.year}" if source.year else ""
    return f"{source.who}: {source.title}{year}"


def _print(text: str, screen: Screen) -> None:
    screen.print(
        escape(textwrap.fill(text, screen.width, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False))
    )


def coverage_record(by_crop: Covers, wanted: Sequence[Wanted]) -> dict[str, Any]:
    """The same as plain data for JSON; shares are 0 to 1."""
    return {
        "crops": {
            crop: {
                "lists": [
                    {
                        "source": cover.source.model_dump(exclude_none=True),
                        "entries": cover.entries,
                        "covered": len(cover.covered),
                        "share": round(cover.share, 3),
                        "crop_not_in_sheet": list(cover.elsewhere),
                        "missing": list(cover.missing),
                    }
                    for cover in covers
                ],
                "missing": list(missing_of(covers)),
            }
            for crop, covers in by_crop.items()
        },
        "too_few_lists": thin(by_crop),
        "wanted": [{"name": one.name, "lists": one.lists, "crops": list(one.crops)} for one in wanted],
    }
