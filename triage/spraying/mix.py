"""From what is at hand to a batch: what to measure, how strong that is, and what to mind.

Percent is by volume of the finished mix: a tank filled to 1 US gallon that holds 2 US teaspoons
of oil is 0.26% oil.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from triage.reasoning.spray_knowledge import Rung, Sensitive, Soap, SprayFile
from triage.spraying.coverage import Filling, Need, fillings
from triage.spraying.emulsion import Interval, shake_interval
from triage.spraying.oils import Limits, blend, oil_limits, usual_oil_share
from triage.spraying.units import Kitchen, Spoons, bad, in_spoons, share
from triage.spraying.water import Water, judge_water

_SPECK = 1e-9


@dataclass(frozen=True)
class Order:
    """What a grower asks for. Shares are by volume; None takes the usual rate."""

    kitchen: Kitchen
    oils: Mapping[str, float]  # oil id -> parts; empty for soap alone
    soap: str | None = "plain"
    oil_share: float | None = None
    soap_share: float | None = None
    tank_ml: float | None = None
    tank_says: str = ""  # "1.5 US gallon", as it was understood
    need: Need | None = None
    crop: str | None = None
    hardness_mg_l: float | None = None
    temp_c: float | None = None
    depth_m: float | None = None


@dataclass(frozen=True)
class Measure:
    """One ingredient of one filling."""

    kind: str  # "oil" or "soap"
    name: str
    exact_ml: float
    spoons: Spoons
    syringe: bool  # spoons are too coarse: measure `ml` with a syringe
    ml: float  # what is poured in: the spoons' or the syringe's
    percent: float  # of the finished mix, as poured


@dataclass(frozen=True)
class Fill:
    """One size of filling, with its recipe."""

    times: int
    ml: float
    water_ml: float
    measures: tuple[Measure, ...]

    def percent(self, kind: str) -> float:
        return sum(m.percent for m in self.measures if m.kind == kind)


@dataclass(frozen=True)
class Care:
    """A line of caution with what it rests on."""

    says: str
    sources: tuple[str, ...]
    judgement: bool


@dataclass(frozen=True)
class Batch:
    order: Order
    fills: tuple[Fill, ...]
    oil_limits: Limits | None
    soap_limits: Limits
    soap: Soap
    warnings: tuple[Care, ...]
    oil_rungs: tuple[Rung, ...]
    soap_rungs: tuple[Rung, ...]
    shake: Interval | None
    water: Water | None
    sensitive: Sensitive | None

    @property
    def made_ml(self) -> float:
        return sum(fill.times * fill.ml for fill in self.fills)

    @property
    def leftover_ml(self) -> float | None:
        """What is left when the job is done; None where the job is not known."""
        return max(self.made_ml - self.order.need.high_ml, 0.0) if self.order.need else None

    @property
    def fillings(self) -> int:
        return sum(fill.times for fill in self.fills)


def make(order: Order, file: SprayFile) -> Batch:
    """The batch for an order. Raises BadInput above a limit, and for what cannot be mixed or measured."""
    if order.soap is None:
        raise bad("--soap", f"no soap: {file.steps['emulsifier'].says}", "plain, detergent or insecticidal")
    soap = next((s for name, s in file.soaps.items() if name == order.soap), None)
    if soap is None:
        raise bad("--soap", f"there is no soap '{order.soap}'", f"one of: {', '.join(file.soaps)}")
    soap_share = _soap_share(order, soap, file)
    oil_share = _oil_share(order, file)
    limits = oil_limits(order.oils, file) if order.oils else None
    soap_top = Limits(soap.warn_percent, soap.refuse_percent, soap)
    if limits:
        _refuse(oil_share, limits, "oil", "--oil-rate")
    _refuse(soap_share, soap_top, soap.says, "--soap-rate")
    shares = [("oil", name, part * oil_share) for name, part in blend(order.oils).items()]
    shares.append(("soap", order.soap, soap_share))
    fills = _fills(order, shares, limits, soap_top, file)
    tops = {"oil": limits, "soap": soap_top} if limits else {"soap": soap_top}
    sensitive = file.sensitive.get(order.crop or "")
    biggest = max(fill.ml for fill in fills)
    density = sum(part * file.oils[name].density for name, part in blend(order.oils).items())
    phenolic = any(file.oils[name].group == "phenolic" for name in order.oils)
    return Batch(
        order=order,
        fills=fills,
        oil_limits=limits,
        soap_limits=soap_top,
        soap=soap,
        warnings=tuple(_warnings(fills, {"oil": oil_share, "soap": soap_share}, tops, sensitive)),
        oil_rungs=tuple(file.ladder["phenolic_oil" if phenolic else "oil"]) if order.oils else (),
        soap_rungs=tuple(file.ladder[order.soap]),
        shake=shake_interval(density, biggest, file.emulsion, order.temp_c, order.depth_m) if order.oils else None,
        water=None
        if order.hardness_mg_l is None
        else judge_water(order.hardness_mg_l, soap, soap_share, file.hard_water),
        sensitive=sensitive,
    )


def _soap_share(order: Order, soap: Soap, file: SprayFile) -> float:
    if order.soap_share is None:
        if soap.rate is None:
            raise bad(
                "--soap-rate",
                "ready-made insecticidal soap is mixed by its own label, and no rate was given",
                "read the label, then for instance --soap-rate '20 mL/L'",
            )
        return share(soap.rate, file.units)
    if order.soap_share <= 0:
        raise bad("--soap-rate", f"no soap: {file.steps['emulsifier'].says}", "a rate above 0")
    return order.soap_share


def _oil_share(order: Order, file: SprayFile) -> float:
    if not order.oils:
        if order.oil_share:
            raise bad("--oil-rate", "a rate, but no oil", "name the oil with --oil")
        return 0.0
    if order.oil_share is None:
        return usual_oil_share(order.oils, file)
    if order.oil_share <= 0:
        raise bad("--oil-rate", "no oil", "a rate above 0, or --oil none for soap alone")
    return order.oil_share


def _refuse(wanted: float, limits: Limits, what: str, option: str) -> None:
    if wanted * 100 > limits.refuse + _SPECK:
        keys = ", ".join(limits.strength.sources)
        raise bad(
            option,
            f"{wanted:.2%} {what} is above {limits.refuse:.2g}%, the most this program mixes "
            f"({limits.strength.refuse_says}; sources: {keys})",
            f"{limits.refuse:.2g}% or less"
            + (f"; the warning begins at {limits.warn:.2g}%" if limits.warn else "; the label decides"),
        )


def _fills(
    order: Order, shares: list[tuple[str, str, float]], oil: Limits | None, soap: Limits, file: SprayFile
) -> tuple[Fill, ...]:
    measuring = file.measuring
    least = min(part for _, _, part in shares)
    smallest = measuring.syringe_step_ml / 2 / measuring.coarse_spoon / least
    if order.tank_ml is not None and order.tank_ml < smallest - _SPECK:
        raise bad(
            "--tank",
            f"{order.tank_ml:.0f} mL is too little to measure this out for, even with a 1 mL syringe",
            f"mix {math.ceil(smallest / 10) * 10} mL or more",
        )
    for option, ml, most in (
        ("--tank", order.tank_ml or 0.0, measuring.largest_tank_ml),
        ("--plants/--bed", order.need.high_ml if order.need else 0.0, measuring.largest_job_ml),
    ):
        if ml > most:
            raise bad(option, f"{ml / 1000:.0f} L is more than a garden needs", f"up to {most / 1000:.0f} L")
    if order.need:
        step = measuring.handy_step_ml[order.kitchen.spoons]
        plan = fillings(order.need.high_ml, order.tank_ml, step, smallest)
    elif order.tank_ml:
        plan = [Filling(1, order.tank_ml)]
    else:
        raise bad("--tank", "how much to mix?", "--tank '1 gal', --plants 12 --crop tomato, or --bed '4 m2'")

    def fill(times: int, ml: float) -> Fill:
        measures = []
        for kind, name, part in shares:
            # No rounding may carry the mix over a limit: each takes its share of the room there is.
            limits, whole = (
                (soap, part) if kind == "soap" or oil is None else (oil, sum(p for k, _, p in shares if k == "oil"))
            )
            most = limits.refuse / 100 * ml * part / whole
            measures.append(_measure(kind, name, part * ml, ml, most, order.kitchen, file))
        return Fill(times, ml, ml - sum(m.ml for m in measures), tuple(measures))

    return tuple(fill(item.times, item.ml) for item in plan)


def _measure(
    kind: str, name: str, exact: float, fill_ml: float, most: float, kitchen: Kitchen, file: SprayFile
) -> Measure:
    spoons = in_spoons(exact, file.units, kitchen, most)
    syringe = spoons.error > file.measuring.coarse_spoon
    step = file.measuring.syringe_step_ml
    drawn = round(exact / step) * step
    if drawn > most + _SPECK:
        drawn = math.floor(most / step + _SPECK) * step
    poured = drawn if syringe else spoons.ml
    says = file.oils[name].says + " oil" if kind == "oil" and name != "other" else ""
    says = says or (file.oils[name].says if kind == "oil" else next(s.says for k, s in file.soaps.items() if k == name))
    return Measure(kind, says, exact, spoons, syringe, poured, poured / fill_ml * 100)


def _warnings(
    fills: tuple[Fill, ...], asked: Mapping[str, float], limits: Mapping[str, Limits], sensitive: Sensitive | None
) -> list[Care]:
    found = []
    for kind, limit in limits.items():
        if limit.warn is None:
            continue
        # Rounding to spoons must not hide a warning that the recipe itself earns.
        strongest = max(asked[kind] * 100, *(fill.percent(kind) for fill in fills))
        if strongest > limit.warn + _SPECK:
            line = f"over the warning line of {limit.warn:.2g}%: {limit.strength.warn_says}."
            says = f"{strongest:.2f}% {kind} is {line}"
            found.append(Care(says, tuple(limit.strength.warn_sources or limit.strength.sources), True))
    if sensitive:
        found.append(Care(sensitive.says, tuple(sensitive.sources), sensitive.basis is not None))
    return found
