"""A batch on the screen: what to measure, what to do, how strong it is, what to mind."""

from __future__ import annotations

import math
from typing import Any

from rich.markup import escape
from rich.padding import Padding
from rich.table import Table

from triage.reasoning.knowledge import Knowledge
from triage.reasoning.spray_knowledge import Rung
from triage.screens.console import Screen
from triage.screens.safety_page import bullets, keys_text, law_first, rests_on, show_brief, show_law
from triage.spraying.mix import Batch, Fill, Measure
from triage.spraying.units import Kitchen, spoons_text

_US_GALLON = 3785.411784
_US_FLUID_OUNCE = _US_GALLON / 128
_KIND = {"works": "works", "harms": "harms", "stood": "no harm", "usual": "usual"}


def litres(ml: float, kitchen: Kitchen) -> str:
    """A volume as this person measures it."""
    metric = f"{ml:.0f} mL" if ml < 1000 else f"{ml / 1000:.2f} L"
    if kitchen.spoons != "us":
        return metric
    if ml < _US_GALLON / 4:
        return f"{ml / _US_FLUID_OUNCE:.1f} US fl oz ({metric})"
    return f"{ml / _US_GALLON:.2f} US gal ({metric})".replace(".00 US gal", " US gal")


def minutes(seconds: float) -> str:
    """A time in half minutes, as on a kitchen timer."""
    whole, rest = divmod(round(seconds), 60)
    if rest in (0, 30):
        return f"{whole or ''}{'½' if rest else ''} min"
    return f"{whole} min {rest} s" if whole else f"{rest} s"


def show_mix(batch: Batch, knowledge: Knowledge, screen: Screen, country: str = "", why: bool = False) -> None:
    """The recipe first, then its strength, then the cautions; the numbers behind it with `why`."""
    kitchen = batch.order.kitchen
    file = knowledge.sprays
    if law_first(knowledge, country):
        show_law(knowledge, screen, country)
        screen.print("")
    for fill in batch.fills:
        screen.print(f"[label]{escape(_title(fill, batch))}[/]", _measures(fill, kitchen, screen))
    spoons = file.units.spoons[kitchen.spoons].says
    screen.print(f"[soft]{escape(f'{spoons[:1].upper()}{spoons[1:]}, level.')}[/]")
    if any(measure.syringe for fill in batch.fills for measure in fill.measures):
        screen.print("So little is better measured with a 1 mL syringe: the mL column.")
    _job(batch, screen)
    bullets(_steps(batch, knowledge), screen, "Do")
    cares = [f"[warn]{escape(w.says)}[/] {keys_text(w.sources, 'our judgement' * w.judgement)}" for w in batch.warnings]
    too_much = file.steps["too_much"]
    bullets([*cares, f"{escape(too_much.says)} {rests_on(too_much)}"], screen, "Mind")
    _water(batch, knowledge, screen)
    _strength(batch, screen)
    _leftover(batch, knowledge, screen)
    show_brief(knowledge, screen, country, law_told=law_first(knowledge, country))
    if why:
        show_mix_why(batch, knowledge, screen)
    else:
        screen.print("", "[soft]The numbers behind it: --why. A timer that rings at each shake: --timer[/]")


def _title(fill: Fill, batch: Batch) -> str:
    order = batch.order
    amount = litres(fill.ml, order.kitchen)
    if order.tank_says and fill.ml == order.tank_ml:
        amount = f"{order.tank_says} ({litres(fill.ml, Kitchen(order.kitchen.system, 'metric'))})"
    if batch.fillings == 1:
        return f"To mix {amount}"
    if len(batch.fills) == 1:
        return f"Fill the tank {fill.times} times with {amount}, each time"
    if fill is batch.fills[-1]:
        return f"Last filling, {amount}"
    return f"{fill.times} full tank{'s' * (fill.times > 1)} of {amount}, each"


def _measures(fill: Fill, kitchen: Kitchen, screen: Screen) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(width=2)
    table.add_column(width=min(36, screen.width - 44), overflow="fold")
    table.add_column(width=15)
    table.add_column(width=12, justify="right")
    table.add_column(width=8, justify="right")
    table.add_row("", "[soft]in this order[/]", "[soft]spoons[/]", "[soft]mL[/]", "[soft]of mix[/]")
    table.add_row("1", "water", "", f"{fill.water_ml:.0f}", f"{fill.water_ml / fill.ml:.1%}")
    soap_first = sorted(fill.measures, key=lambda measure: measure.kind == "oil")
    for place, measure in enumerate(soap_first, 2):
        amount = f"{measure.ml:.2f}" if measure.syringe else f"{measure.ml:.1f}"
        table.add_row(
            str(place), escape(measure.name), spoon_words(measure), amount, f"[label]{measure.percent:.2f}%[/]"
        )
    return table


def spoon_words(measure: Measure) -> str:
    """Spoons; "about" or none where they are too coarse and a syringe is wanted."""
    words = spoons_text(measure.spoons)
    if measure.syringe:
        return f"about {words}" if words else "syringe only"
    return words


def _job(batch: Batch, screen: Screen) -> None:
    need = batch.order.need
    if need is None:
        return
    kitchen = batch.order.kitchen
    low, high = litres(need.low_ml, kitchen), litres(need.high_ml, kitchen)
    wanted = low if low == high else f"{low} to {high}"
    screen.print(f"The job takes about {wanted}; planned for the upper end.")
    if batch.fillings > 1:
        screen.print(f"{batch.fillings} fillings: {batch.fillings - 1} refill{'s' * (batch.fillings > 2)}.")


def _steps(batch: Batch, knowledge: Knowledge) -> list[str]:
    steps = knowledge.sprays.steps
    order = ["water", "soap", "oil"] if batch.order.oils else ["water", "soap"]
    lines = [f"{escape(steps[name].says)} {rests_on(steps[name])}" for name in order]
    if batch.shake:
        lines.append(f"Shake again every [label]{minutes(batch.shake.seconds)}[/] and after every pause.")
    lines += [f"{escape(steps[name].says)} {rests_on(steps[name])}" for name in ("patch", "cool", "wet")]
    return lines


def _strength(batch: Batch, screen: Screen) -> None:
    strongest = max(batch.fills, key=lambda fill: fill.percent("oil") + fill.percent("soap"))
    for kind, title, rungs in (
        ("oil", "How strong: oil", batch.oil_rungs),
        ("soap", f"How strong: {batch.soap.says}", batch.soap_rungs),
    ):
        if rungs:
            limits = batch.oil_limits if kind == "oil" else batch.soap_limits
            screen.print("", f"[label]{escape(title)}[/]")
            screen.print(_ladder(strongest.percent(kind), rungs, limits.refuse if limits else math.inf, screen))
            keys = list(dict.fromkeys(key for rung in rungs for key in rung.sources))
            screen.print(Padding(keys_text(keys), (0, 0, 0, 4)))


def _ladder(mine: float, rungs: tuple[Rung, ...], refuse: float, screen: Screen) -> Table:
    """Published strengths from weak to strong, with this mix and the limit among them."""
    rows = [(rung.percent, _KIND[rung.kind], escape(rung.says)) for rung in rungs]
    rows.append((mine, "", "[label]THIS MIX[/]"))
    rows.append((refuse, "", "this program refuses above it"))
    top = max(percent for percent, _, _ in rows)
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_column(width=2)
    table.add_column(width=7, justify="right")
    if not screen.plain:
        table.add_column(width=12)
    table.add_column(width=7)
    table.add_column(width=screen.width - (33 if not screen.plain else 20), overflow="fold")
    for percent, kind, says in sorted(rows, key=lambda row: row[0]):
        here = ">" if "THIS MIX" in says else ""
        bar = [] if screen.plain else [screen.bar(percent / top, 12)]
        table.add_row(here, f"{percent:.2f}%", *bar, kind, says)
    return table


def _water(batch: Batch, knowledge: Knowledge, screen: Screen) -> None:
    water = batch.water
    hard = knowledge.sprays.hard_water
    if water is None:
        return
    lines = []
    style = "warn" if water.verdict in ("jar_test", "swap") else "label"
    lines.append(f"{water.mg_per_l:.0f} ppm is {escape(water.grade)}. [{style}]{escape(water.do)}[/] {rests_on(hard)}")
    if water.lost:
        low, high = (f"{share:.0%}" for share in water.lost)
        lost = low if low == high else f"{low} to {high}"
        lines.append(f"It takes about {lost} of the soap in this mix (worked out; the true loss is a little less).")
    if water.verdict != "fine":
        lines.append(escape(hard.remedy))
        if water.rain_share:
            lines.append(f"Half-way help: {water.rain_share:.0%} rain water in the tank brings it down to soft.")
        lines.append(f"{escape(hard.jar_test)} [soft]\\[common practice][/]")
    bullets(lines, screen, "Your water")


def _leftover(batch: Batch, knowledge: Knowledge, screen: Screen) -> None:
    step = knowledge.sprays.steps["same_day"]
    left = batch.leftover_ml
    lines = []
    if left is not None and left >= 1:
        lines.append(f"About {litres(left, batch.order.kitchen)} over if the guess is right.")
    lines.append(f"{escape(step.says)} {rests_on(step)}")
    if batch.order.need:
        coverage = knowledge.sprays.coverage
        lines.append(f"{escape(coverage.water_test)} {rests_on(coverage)}")
    bullets(lines, screen, "Left over")


def show_mix_why(batch: Batch, knowledge: Knowledge, screen: Screen) -> None:
    """The numbers behind the recipe."""
    file = knowledge.sprays
    lines = []
    if batch.oil_limits:
        strength = batch.oil_limits.strength
        lines.append(
            f"Oil: usual rate {escape(strength.rate_says)}. Warned above {batch.oil_limits.warn:.2g}%, refused above "
            f"{batch.oil_limits.refuse:.2g}% ({escape(strength.refuse_says)}). {rests_on(strength)}"
        )
    soap = batch.soap
    warned = f"Warned above {soap.warn_percent:.2g}%, refused" if soap.warn_percent else "Refused"
    lines.append(
        f"Soap: {escape(soap.what)} Usual rate: {escape(soap.rate_says)}. {warned} above {soap.refuse_percent:.2g}% "
        f"({escape(soap.refuse_says)}). {rests_on(soap)}"
    )
    lines.append(f"{escape(file.home_mix.says)} {keys_text(file.home_mix.sources)}")
    lines += [escape(file.steps[name].says) + " " + rests_on(file.steps[name]) for name in ("finer", "level")]
    bullets(lines, screen, "Why this strength")
    need = batch.order.need
    if need:
        cover = file.coverage.covers[need.cover]
        ground = f"{need.area_m2:.2f} m2 at {cover.ml_per_m2[0]:g} to {cover.ml_per_m2[1]:g} mL to the m2"
        plant = f"; one plant taken to cover {need.assumed_footprint_m2:g} m2 (our judgement)"
        tail = plant if need.assumed_footprint_m2 else ""
        bullets([f"{ground} ({escape(cover.says)}){tail}. {rests_on(cover)}"], screen, "Why this much")
    if batch.shake:
        bullets(_shake_lines(batch, knowledge), screen, "Why shake so often")


def _shake_lines(batch: Batch, knowledge: Knowledge) -> list[str]:
    shake, emulsion = batch.shake, knowledge.sprays.emulsion
    if shake is None:
        return []
    oils = ", ".join(
        f"{knowledge.sprays.oils[name].says} {knowledge.sprays.oils[name].density:g} "
        + rests_on(knowledge.sprays.oils[name])
        for name in batch.order.oils
    )
    way = "sink" if shake.sinks else "rise"
    fine, coarse = emulsion.drop_range_um
    span = f"{_clock(shake.range_s[0])} to {_clock(shake.range_s[1])}"
    held = "" if shake.computed_s <= emulsion.longest_s else ", never longer than common practice allows"
    return [
        f"Oil drops {way}: speed = density gap x gravity x diameter squared / (18 x viscosity), Stokes' law. "
        + rests_on(emulsion),
        f"Water at {shake.temp_c:g} C: {shake.water_kg_m3:.1f} kg/m3, {shake.viscosity_mpas:.3f} mPa s. "
        f"Oil: {shake.oil_kg_m3:.1f} kg/m3 (relative density: {oils}).",
        f"Drops of {shake.drop_um:g} micrometres are an assumption: no published size for a hand-shaken bottle was "
        f"found. They {way} {shake.speed_mm_s:.3f} mm a second.",
        f"Liquid {shake.depth_m * 100:.0f} cm deep, {shake.cleared_share:.0%} of it may clear (our judgement): "
        f"{_clock(shake.computed_s)}. Shown as {minutes(shake.seconds)}: rounded down{held}.",
        f"With drops of {coarse:g} to {fine:g} micrometres it would be {span}.",
        escape(emulsion.check_yourself),
        escape(emulsion.throw_away),
    ]


def _clock(seconds: float) -> str:
    if math.isinf(seconds):
        return "never (as heavy as water)"
    whole, rest = divmod(round(seconds), 60)
    return f"{whole} min {rest:02d} s"


def record(batch: Batch) -> dict[str, Any]:
    """The batch as plain data, for `--json`. Volumes in mL, strengths in % by volume, times in seconds."""
    need = batch.order.need
    return {
        "fills": [
            {
                "times": fill.times,
                "ml": round(fill.ml, 2),
                "water_ml": round(fill.water_ml, 2),
                "measures": [
                    {
                        "kind": m.kind,
                        "name": m.name,
                        "exact_ml": round(m.exact_ml, 4),
                        "spoons": spoons_text(m.spoons) or None,
                        "syringe": m.syringe,
                        "ml": round(m.ml, 4),
                        "percent": round(m.percent, 4),
                    }
                    for m in fill.measures
                ],
            }
            for fill in batch.fills
        ],
        "fillings": batch.fillings,
        "made_ml": round(batch.made_ml, 2),
        "needed_ml": [round(need.low_ml, 2), round(need.high_ml, 2)] if need else None,
        "leftover_ml": None if batch.leftover_ml is None else round(batch.leftover_ml, 2),
        "shake_seconds": batch.shake.seconds if batch.shake else None,
        "warnings": [{"says": w.says, "sources": list(w.sources)} for w in batch.warnings],
        "water": None
        if batch.water is None
        else {"mg_per_l": batch.water.mg_per_l, "verdict": batch.water.verdict, "soap_lost": batch.water.lost},
    }
