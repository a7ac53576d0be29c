"""`triage today`: is it a day to spray?"""

from __future__ import annotations

import json
import sys
from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

from triage.cli.shared import Shop, fail, mends_input, pass_shop

_DAY = click.DateTime(["%Y-%m-%d"])


@click.command(name="today", short_help="Is today a day to spray?")
@click.option("--weather", type=click.Path(path_type=Path), metavar="FILE", help="A daily weather file.")
@click.option("--units", type=click.Choice(["metric", "us"]), help="Of a weather file that does not say.")
@click.option("--date", "on", type=_DAY, metavar="DATE", help="Another day, such as 2026-07-04.")
@click.option("--hottest", metavar="TEMP", help="In place of a file: how warm it gets, 25C or 77F.")
@click.option("--rain/--no-rain", default=None, help="Rain before it can dry.")
@click.option("--wind", metavar="SPEED", help="Such as 10km/h or 6mph.")
@click.option("--thirsty/--not-thirsty", default=None, help="Plants limp, or soil dry.")
@click.option("--bloom/--no-bloom", default=None, help="Flowers open on the plants or beside them.")
@click.option("--bloom-over", type=_DAY, metavar="DATE", help="When the flowers will be over.")
@click.option("--harvest", type=_DAY, metavar="DATE", help="When you will pick.")
@click.option("--last-sulfur", type=_DAY, metavar="DATE")
@click.option("--last-spray", type=_DAY, metavar="DATE", help="The last soap or home mix.")
@click.option("--last-oil", type=_DAY, metavar="DATE", help="The last plain horticultural oil.")
@click.option("--planted-out", type=_DAY, metavar="DATE", help="Planted out, wilted or frosted.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@pass_shop
@mends_input
def command(
    shop: Shop,
    /,
    weather: Path | None,
    units: Any,
    on: datetime | None,
    hottest: str | None,
    rain: bool | None,
    wind: str | None,
    as_json: bool,
    **known: Any,
) -> None:
    """Tells what speaks against a soap-and-oil spray on a day, and the next clear date.

    \b
    Example:
      triage today                       asks three questions
      triage today --weather garden.csv
      triage today --hottest 77F --no-rain --last-sulfur 2026-06-20
    """
    from triage.reasoning.library import knowledge_folder
    from triage.screens.holds_page import ask_day, ask_plants, day_record, show_day
    from triage.spraying.holds import day_report, next_clear, told_day, told_plants
    from triage.spraying.weather import read_weather
    from triage.spraying.weather_knowledge import load_holds

    rules = load_holds(knowledge_folder())
    day = _day(on) or shop.today
    told = (hottest, rain, wind) != (None, None, None)
    if weather and told:
        raise fail("--hottest, --rain and --wind stand in place of --weather", "give one or the other")
    asks = not weather and not told and not as_json and may_ask()
    if not (weather or told or asks):
        raise fail("nothing is known of the weather", "give --weather FILE, or --hottest and --rain or --no-rain")
    file = read_weather(weather, units) if weather else None
    if asks:
        that_day = ask_day(day, rules, shop.plain)
        if known["thirsty"] is None and known["bloom"] is None:
            known["thirsty"], known["bloom"] = ask_plants(shop.plain)
    else:
        that_day = told_day(day, hottest, rain, wind, rules)
    told_of: dict[str, Any] = {name: _day(v) if isinstance(v, datetime) else v for name, v in known.items()}
    plants = told_plants(**told_of)
    report = day_report(day, file or that_day, plants, rules, shop.today)
    following = None if report.clear else next_clear(day, file, plants, rules, shop.today)
    if as_json:
        print(json.dumps(day_record(report, following)))
    else:
        show_day(report, following, shop.screen)


def may_ask() -> bool:
    """Questions need a person at both ends."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def _day(value: datetime | None) -> date | None:
    return value.date() if value else None
