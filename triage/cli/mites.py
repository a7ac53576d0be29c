"""`triage mites`: what sprays do to spider mites, day by day."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click

from triage.cli.shared import Shop, fail, mends_input, pass_shop, say


@click.command(name="mites", short_help="Why every three days: spider mites with and without sprays.")
@click.option("--at", "at", metavar="TEMP", help="One temperature all day, such as 25C or 77F.  [default: 25C]")
@click.option("--weather", type=click.Path(path_type=Path), metavar="FILE", help="A daily weather file instead.")
@click.option("--from", "start", type=click.DateTime(["%Y-%m-%d"]), help="First day of it.  [default: today]")
@click.option("--units", type=click.Choice(["metric", "us"]), help="Of a weather file that does not say.")
@click.option("--mix", metavar="NAME", help="home, soap, good or best.  [default: home]")
@click.option("--kill", type=click.FloatRange(0, 100), metavar="%", help="Of what crawls, in place of a mix.")
@click.option("--kill-eggs", type=click.FloatRange(0, 100), metavar="%", help="Of the eggs, in place of a mix.")
@click.option("--sprays", multiple=True, metavar="DAYS", help="A schedule of yours, such as 0,4,8,12. May repeat.")
@click.option("--days", type=click.IntRange(7, 120), default=28, show_default=True)
@click.option("--figure", type=click.Path(path_type=Path), metavar="FILE", help="Draw the curves as .svg or .png.")
@click.option("--why", is_flag=True, help="What it rests on, with sources.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, counts by day.")
@pass_shop
@mends_input
def command(
    shop: Shop,
    at: str | None,
    weather: Path | None,
    start: datetime | None,
    units: str | None,
    mix: str | None,
    kill: float | None,
    kill_eggs: float | None,
    sprays: tuple[str, ...],
    days: int,
    figure: Path | None,
    why: bool,
    as_json: bool,
) -> None:
    """Shows how spider mites grow, what sprays do to them, and the best gap between two sprays.

    \b
    Example:
      triage mites --at 25C
      triage mites --weather garden.csv --mix good
      triage mites --at 86F --sprays 0,3,6,9,12 --figure mites.svg

    It compares no spray, every 7 days, every 3 days, the best gap, and any schedule you give.
    """
    from triage.reasoning.library import knowledge_folder
    from triage.screens.mites_page import save_figure, show_basis, show_mites
    from triage.spraying.mite_ask import kill_of, schedule_of, warmth_of
    from triage.spraying.mite_knowledge import load_mites
    from triage.spraying.mites import TooCold, compare

    mites = load_mites(knowledge_folder())
    first = start.date() if start else None
    temperatures, where = warmth_of(at, weather, first, shop.today, units)
    used, share = kill_of(mix, kill, kill_eggs, mites)
    given = [schedule_of(text, days) for text in sprays]
    try:
        comparison = compare(temperatures, mites, share, days=days, given=given)
    except TooCold as error:
        raise fail(f"{where}: {error}", "try 15 C (59 F) or more") from None
    if as_json:
        print(json.dumps({"where": where, "mix": mix or (mites.usual_mix if used else None), **comparison.as_record()}))
    else:
        show_mites(comparison, mites, used, where, shop.screen)
        if why:
            show_basis(comparison, mites, used, shop.knowledge.sources, shop.screen)
    if figure:
        save_figure(comparison, figure, where)
        say(f"Drawn: {figure}")
