"""Gardens, beds and plantings: made when first named, found again by a few words."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, TypeVar

from sqlalchemy import Select, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session, contains_eager

from triage.reasoning.yaml_text import BadInput, Problem
from triage.records.rows import checked
from triage.records.tables import Bed, Garden, Planting, Row, new_uid

R = TypeVar("R", bound=Row)

#: Crop id to every word for it, its name first.
CropWords = Mapping[str, Sequence[str]]

_SMALL_WORDS = {"in", "the", "on", "at", "of", "from"}
_MOST_LISTED = 6


def garden_named(session: Session, name: str) -> Garden:
    """The garden of this name; made when there is none."""
    checked("gardens", {"id": "-", "name": name}, "garden")
    return _made_once(session, select(Garden).where(Garden.name == name), Garden(name=name))


def rename_garden(session: Session, old: str, new: str) -> None:
    """The garden has another name now; its story goes with it. Nothing happens when `new` is there already."""
    names = set(session.scalars(select(Garden.name).where(Garden.name.in_([old, new]))))
    if names == {old}:
        session.scalars(select(Garden).where(Garden.name == old)).one().name = new
        session.flush()


def bed_named(session: Session, garden: Garden, name: str) -> Bed:
    """The bed of this name, however it is spelt in capitals; made when there is none."""
    checked("beds", {"id": "-", "garden": "-", "name": name}, "bed")
    for bed in session.scalars(select(Bed).where(Bed.garden_id == garden.id)):
        if bed.name.casefold() == name.casefold():
            return bed
    wanted = select(Bed).where(Bed.garden_id == garden.id, Bed.name == name)
    return _made_once(session, wanted, Bed(garden_id=garden.id, name=name))


def plant(
    session: Session,
    bed: Bed,
    crop: str,
    variety: str | None = None,
    sown: date | None = None,
    planted: date | None = None,
) -> Planting:
    """A new planting of `crop` (an id of the knowledge). Raises BadInput when dates go backwards."""
    data = {"id": new_uid(), "bed": bed.uid, "crop": crop, "variety": variety, "sown": sown, "planted": planted}
    checked("plantings", data, "planting")
    planting = Planting(uid=data["id"], bed=bed, crop=crop, variety=variety, sown=sown, planted=planted)
    session.add(planting)
    session.flush()
    return planting


def planting_of(
    session: Session, garden: Garden, crop: str, bed: str, variety: str | None, words: CropWords
) -> Planting:
    """The planting of this crop that stands in this bed; made when there is none."""
    place = bed_named(session, garden, bed)
    # Two people who log on the same new planting at once must not make two of it.
    session.execute(select(Bed.id).where(Bed.id == place.id).with_for_update())
    here = [p for p in plantings(session) if p.bed_id == place.id and p.crop == crop and p.removed is None]
    if variety is not None:
        here = [p for p in here if (p.variety or "").casefold() == variety.casefold()]
    if len(here) > 1:
        raise _several(here, f"{crop} in {bed}", words)
    return here[0] if here else plant(session, place, crop, variety)


def plantings(session: Session, garden: str | None = None, standing: bool = False) -> list[Planting]:
    """All plantings, bed by bed as the beds were first named; `standing`: only those not yet removed."""
    query = select(Planting).join(Planting.bed).join(Bed.garden).options(contains_eager(Planting.bed, Bed.garden))
    if garden is not None:
        query = query.where(Garden.name == garden)
    if standing:
        query = query.where(Planting.removed.is_(None))
    return list(session.scalars(query.order_by(Bed.id, Planting.id)))


def find_planting(session: Session, text: str, words: CropWords, garden: str | None = None) -> Planting:
    """The planting meant by a few words such as "beans north bed", or by the start of its uid.

    Standing plantings come before removed ones. Raises BadInput when none or several fit.
    """
    known = plantings(session, garden)
    wanted = [w for w in re.findall(r"[^\s,]+", text.casefold()) if w not in _SMALL_WORDS]
    by_uid = [p for p in known if len(text) >= 4 and p.uid.startswith(text.strip())]
    found = by_uid or [p for p in known if wanted and all(_names(p, word, words) for word in wanted)]
    found = [p for p in found if p.removed is None] or found
    if len(found) > 1:
        exact = [p for p in found if any(name.casefold() in wanted for name in (p.crop, *words.get(p.crop, ())))]
        found = exact or found
    if len(found) > 1:
        raise _several(found, text, words)
    if not found:
        raise _bad(f"no planting fits '{text}'", "see: triage garden plantings, or give --crop and --bed")
    return found[0]


def _names(planting: Planting, word: str, words: CropWords) -> bool:
    parts = [planting.crop.replace("_", " "), planting.variety or "", planting.bed.name]
    told = re.findall(r"[^\s,]+", " ".join([*parts, *words.get(planting.crop, ())]).casefold())
    return any(part.startswith(word) for part in told)


def label(planting: Planting, words: CropWords) -> str:
    """As people call it: Bean (Blue Lake), North bed."""
    name = next(iter(words.get(planting.crop, ())), planting.crop)
    variety = f" ({planting.variety})" if planting.variety else ""
    return f"{name}{variety}, {planting.bed.name}"


def _several(found: Sequence[Planting], text: str, words: CropWords) -> BadInput:
    listed = "; ".join(f"{label(p, words)} [{p.uid[:6]}]" for p in found[:_MOST_LISTED])
    return _bad(f"'{text}' fits {len(found)} plantings: {listed}", "say more, or give the letters in brackets")


def _bad(wrong: str, mend: str) -> BadInput:
    return BadInput([Problem("planting", None, "", wrong, mend)])


def _made_once(session: Session, wanted: Select[Any], new: R) -> R:
    found: R | None = session.scalars(wanted).one_or_none()
    if found is not None:
        return found
    try:
        with session.begin_nested():
            session.add(new)
            session.flush()
        return new
    except IntegrityError:  # somebody else made it in this moment
        made: R = session.scalars(wanted).one()
        return made
