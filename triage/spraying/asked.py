"""What a person asked for, in their own words, made into an order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from triage.reasoning.case import crop_hint, find_crop
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.spray_knowledge import SprayFile
from triage.spraying.coverage import Need, for_bed, for_plants
from triage.spraying.mix import Batch, Order
from triage.spraying.oils import read_oils
from triage.spraying.units import area_m2, bad, hardness_mg_l, kitchen_for, length_m, rate, temperature_c, volume

_USUAL_OIL = ("peppermint",)
_USUAL_SOAP = "plain"


@dataclass(frozen=True)
class Asked:
    """Words as they were typed; an empty one was not given."""

    tank: str = ""
    plants: int | None = None
    bed: str = ""
    cover: str = "full"
    crop: str = ""
    soap: str = ""
    oils: tuple[str, ...] = ()
    oil_rate: str = ""
    soap_rate: str = ""
    hardness: str = ""
    water_temp: str = ""
    depth: str = ""
    spoons: str = ""


def at_home(asked: Asked, tank: str | None, soap: str | None, oils: Iterable[str]) -> Asked:
    """What was not said, taken from the garden: its tank, the soap and the oils at hand."""
    return replace(asked, tank=asked.tank or tank or "", soap=asked.soap or soap or "", oils=asked.oils or tuple(oils))


def order_of(asked: Asked, knowledge: Knowledge, country: str = "") -> Order:
    """The order in plain numbers. Raises BadInput that names the option."""
    file = knowledge.sprays
    units = file.units
    kitchen = kitchen_for(units, country, asked.tank or asked.bed, asked.spoons)
    crop = _crop(asked.crop, knowledge)
    tank = volume(asked.tank, units, kitchen) if asked.tank else None
    oils = asked.oils or _USUAL_OIL
    return Order(
        kitchen=kitchen,
        oils={} if oils == ("none",) else read_oils(oils, file),
        soap=None if asked.soap == "none" else asked.soap or _USUAL_SOAP,
        oil_share=rate(asked.oil_rate, units, kitchen, "--oil-rate") if asked.oil_rate else None,
        soap_share=rate(asked.soap_rate, units, kitchen, "--soap-rate") if asked.soap_rate else None,
        tank_ml=tank.ml if tank else None,
        tank_says=_says(tank.amount, units.volumes[tank.unit].says) if tank else "",
        need=_need(asked, crop, file),
        crop=crop,
        hardness_mg_l=hardness_mg_l(asked.hardness, file) if asked.hardness else None,
        temp_c=temperature_c(asked.water_temp, "--water-temp") if asked.water_temp else None,
        depth_m=length_m(asked.depth, units, "--depth") if asked.depth else None,
    )


def timing(batch: Batch, file: SprayFile, shake_minutes: float | None, minutes: float | None) -> tuple[float, float]:
    """Seconds between two shakes, and in all, for the timer. Raises BadInput outside of what makes sense."""
    if batch.shake is None:
        raise bad("--timer", "soap alone stays mixed", "no timer is needed")
    low, high = file.timer.shake_minutes
    if shake_minutes is not None and not low <= shake_minutes <= high:
        raise bad("--shake", f"{shake_minutes:g} minutes makes no sense", f"{low:g} to {high:g}")
    whole = file.timer.usual_minutes if minutes is None else minutes
    if not 0 < whole <= file.timer.most_minutes:
        raise bad("--minutes", f"{whole:g} minutes makes no sense", f"up to {file.timer.most_minutes:g}")
    return batch.shake.seconds if shake_minutes is None else shake_minutes * 60, whole * 60


def _crop(text: str, knowledge: Knowledge) -> str | None:
    if not text:
        return None
    crop = find_crop(text, knowledge)
    if crop is None:
        hint = crop_hint(text, knowledge) or "or say: other"
        raise bad("--crop", f"no crop is called '{text}'", hint)
    return crop


def _need(asked: Asked, crop: str | None, file: SprayFile) -> Need | None:
    if asked.plants is not None and asked.bed:
        raise bad("--plants", "plants and bed are two ways to say the same", "give one of them")
    if asked.plants is not None:
        if crop is None:
            raise bad("--plants", "how big a plant is depends on the crop", "add --crop, such as --crop tomato")
        return for_plants(asked.plants, crop, asked.cover, file.coverage)
    return for_bed(area_m2(asked.bed, file.units), asked.cover, file.coverage) if asked.bed else None


def _says(amount: float, unit: str) -> str:
    plural = "es" if unit.endswith("ch") else "" if unit == "mL" else "s"
    return f"{amount:g} {unit}{plural if amount > 1 else ''}"
