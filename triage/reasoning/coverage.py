"""How much of published problem lists the sheets cover: crop by crop, list by list.

The lists are data to measure the knowledge with. No belief and no verdict leans on them, so they
are read only when someone asks.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError

from triage.reasoning.knowledge import Model, Sheet, Source, Text
from triage.reasoning.yaml_text import BadInput, Problem, Step, line_of, parse, problems_of, read_text

#: Where the lists lie, below the knowledge folder.
FILE = "published_lists.yaml"
#: The catch-all crop has no problems of its own to list.
NO_LIST_NEEDED = frozenset({"other"})
#: One list alone may have a blind spot.
FEWEST_LISTS = 2


class PublishedList(Model):
    """What one publication lists for one crop: its own names, each with the sheet that covers it or None."""

    crop: str
    source: Source
    entries: Annotated[dict[Text, str | None], Field(min_length=1)]


class OneThing(Model):
    """Names under which several lists mean one and the same thing that has no sheet."""

    name: Text
    names: Annotated[list[Text], Field(min_length=1)]
    crops: list[str] = Field(default_factory=list)  # empty: on any crop


class PublishedLists(Model):
    """The whole file."""

    lists: list[PublishedList]
    one_thing: list[OneThing] = Field(default_factory=list)


@dataclass(frozen=True)
class Cover:
    """One list measured. `elsewhere` are the covered entries whose sheet does not name this crop."""

    crop: str
    source: Source
    covered: tuple[str, ...]
    elsewhere: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def entries(self) -> int:
        return len(self.covered) + len(self.missing)

    @property
    def share(self) -> float:
        """The covered share, 0 to 1."""
        return len(self.covered) / self.entries


@dataclass(frozen=True)
class Wanted:
    """Something without a sheet: in how many published lists it stands, and on which crops."""

    name: str
    lists: int
    crops: tuple[str, ...]


def load_lists(root: Path) -> PublishedLists:
    """The lists below the knowledge folder `root`. Raises BadInput with file, line and field."""
    name = f"knowledge/{FILE}"
    text = read_text(root / FILE, name)
    try:
        return PublishedLists.model_validate(parse(text, name))
    except ValidationError as error:
        raise BadInput(problems_of(error, text, name)) from None


def covered(published: PublishedList) -> tuple[str, ...]:
    """The entries that a sheet covers, in the list's own order and words."""
    return tuple(name for name, cause in published.entries.items() if cause is not None)


def missing(published: PublishedList) -> tuple[str, ...]:
    """The entries that no sheet covers, in the list's own order and words."""
    return tuple(name for name, cause in published.entries.items() if cause is None)


def elsewhere(published: PublishedList, sheets: Mapping[str, Sheet]) -> tuple[str, ...]:
    """The covered entries whose sheet does not name this crop: the text is there, yet it ranks low on this crop."""
    found = []
    for name, cause in published.entries.items():
        sheet = sheets.get(cause) if cause else None
        if sheet and published.crop not in sheet.crops and "any" not in sheet.crops:
            found.append(name)
    return tuple(found)


def measure(published: PublishedLists, sheets: Mapping[str, Sheet], crops: Sequence[str]) -> dict[str, list[Cover]]:
    """Every crop of `crops`, in that order, with its lists measured. A crop without a list has an empty one."""
    by_crop: dict[str, list[Cover]] = {crop: [] for crop in crops if crop not in NO_LIST_NEEDED}
    for one in published.lists:
        if one.crop in by_crop:
            cover = Cover(one.crop, one.source, covered(one), elsewhere(one, sheets), missing(one))
            by_crop[one.crop].append(cover)
    return by_crop


def missing_of(covers: Sequence[Cover]) -> tuple[str, ...]:
    """What no sheet covers on one crop, over all its lists, each name once in the order met."""
    return tuple(dict.fromkeys(name for cover in covers for name in cover.missing))


def thin(by_crop: Mapping[str, Sequence[Cover]]) -> dict[str, int]:
    """Crops with fewer lists than two, and how many they have."""
    return {crop: len(covers) for crop, covers in by_crop.items() if len(covers) < FEWEST_LISTS}


def once(by_crop: Mapping[str, Sequence[Cover]]) -> tuple[int, int]:
    """How many entries are covered, and how many there are, each list counted once.

    A list that serves eight crops weighs no more here than one for a single crop. An entry without a
    sheet on one of its crops counts as missing.
    """
    told: dict[tuple[str, str, str], bool] = {}
    for covers in by_crop.values():
        for cover in covers:
            for names, has_sheet in ((cover.covered, True), (cover.missing, False)):
                for name in names:
                    key = (cover.source.who, cover.source.title, name)
                    told[key] = told.get(key, True) and has_sheet
    return sum(told.values()), len(told)


def most_wanted(published: PublishedLists, families: Mapping[str, str]) -> list[Wanted]:
    """Everything without a sheet: first what stands in most lists, then what troubles most crops.

    A page or chapter is one list, however many crops it serves. `families` gives each crop's plant family: an
    equal name on crops of one family is one thing (rust of Jerusalem artichoke is not rust of rhubarb),
    and `one_thing` says where names differ or reach further.
    """
    sources: dict[tuple[str, str], set[tuple[str, str]]] = {}
    crops: dict[tuple[str, str], dict[str, None]] = {}
    for one in published.lists:
        for name in missing(one):
            thing = _thing(name, one.crop, published.one_thing, families)
            sources.setdefault(thing, set()).add((one.source.who, one.source.title))
            crops.setdefault(thing, {})[one.crop] = None
    found = [Wanted(thing[0], len(sources[thing]), tuple(crops[thing])) for thing in sources]
    return sorted(found, key=lambda wanted: (-wanted.lists, -len(wanted.crops), wanted.name.casefold()))


def _thing(name: str, crop: str, same: Sequence[OneThing], families: Mapping[str, str]) -> tuple[str, str]:
    for thing in same:
        if name in thing.names and (not thing.crops or crop in thing.crops):
            return thing.name, ""
    return name, families.get(crop, crop)


def unknown_ids(
    published: PublishedLists, crops: Collection[str], causes: Collection[str], text: str = ""
) -> Iterator[Problem]:
    """Crop and cause ids that nothing answers to. With the file's `text`, each Problem names its line."""

    def problem(path: Sequence[Step], wrong: str, mend: str) -> Problem:
        line = line_of(text, path) if text else None
        return Problem(f"knowledge/{FILE}", line, ".".join(str(step) for step in path), wrong, mend)

    for i, one in enumerate(published.lists):
        if one.crop not in crops:
            yield problem(["lists", i, "crop"], f"no crop is called '{one.crop}'", "use an id of crops.yaml")
        for name, cause in one.entries.items():
            if cause is not None and cause not in causes:
                mend = "use the file name of a sheet, or null"
                yield problem(["lists", i, "entries", name], f"no sheet is called '{cause}'", mend)
    for i, thing in enumerate(published.one_thing):
        for j, crop in enumerate(thing.crops):
            if crop not in crops:
                yield problem(["one_thing", i, "crops", j], f"no crop is called '{crop}'", "use an id of crops.yaml")
