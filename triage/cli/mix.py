"""`triage mix`: a safe batch of oil-and-soap spray."""

from __future__ import annotations

import json
import time

import click

from triage.cli.safety import home_country
from triage.cli.shared import Shop, mends_input, pass_shop


@click.command(name="mix", short_help="A safe batch: what to measure, and how strong it is.")
@click.option(
    "--tank", default="", help="What you fill: '1 gal', '1.5 L', '1 imp pint', '24 fl oz'.  [default: your garden's]"
)
@click.option("--plants", type=int, help="How many plants to spray; says how much to mix. With --crop.")
@click.option("--bed", default="", help="How much bed to spray: '4 m2', '100 sq ft', '4 x 8 ft'.")
@click.option("--cover", default="full", show_default=True, help="How leafy it is: light, usual or full.")
@click.option("--crop", default="", help="The crop; a touchy one gets a warning.")
@click.option(
    "--soap", default="", help="plain, detergent, or insecticidal (by its label).  [default: your garden's, or plain]"
)
@click.option(
    "--oil",
    "oils",
    multiple=True,
    help="peppermint, rosemary ... none: soap alone. Blend: peppermint=2,rosemary=1.  [default: your garden's]",
)
@click.option("--oil-rate", default="", help="Another strength: '0.2%', '1.5 tsp/gal', '2 mL/L'.")
@click.option("--soap-rate", default="", help="Another strength, or the label's rate: '20 mL/L'.")
@click.option("--hardness", default="", help="Of your water: '200 ppm', '12 gpg', '11 dH', or soft, hard, very hard.")
@click.option("--water-temp", default="", help="'18 C' or '65 F'.  [default: 20 C]")
@click.option("--depth", default="", help="How deep the liquid stands in the tank: '15 cm', '6 in'.")
@click.option("--spoons", default="", help="us, metric or australian measuring spoons.")
@click.option(
    "--country",
    default="",
    help="Two letters or a name; decides which gallon and whose rules. [default: your garden's]",
)
@click.option("--why", is_flag=True, help="The numbers and sources behind it.")
@click.option("--json", "as_json", is_flag=True, help="The batch as one JSON object.")
@click.option("--timer", is_flag=True, help="Then run a spraying timer that rings at each shake.")
@click.option("--minutes", type=float, help="How long the timer runs.")
@click.option("--shake", type=float, help="Minutes between shakes, where you measured your own.")
@pass_shop
@mends_input
def command(
    shop: Shop,
    tank: str,
    plants: int | None,
    bed: str,
    cover: str,
    crop: str,
    soap: str,
    oils: tuple[str, ...],
    oil_rate: str,
    soap_rate: str,
    hardness: str,
    water_temp: str,
    depth: str,
    spoons: str,
    country: str,
    why: bool,
    as_json: bool,
    timer: bool,
    minutes: float | None,
    shake: float | None,
) -> None:
    """Works out what to measure for a mild oil-and-soap spray, and refuses what would burn.

    \b
    Example:
      triage mix --tank '1 gal'
      triage mix --tank '1.5 L' --oil peppermint=2,rosemary=1 --hardness 200
      triage mix --plants 12 --crop tomato --tank '4 L' --why
      triage mix --tank '1 gal' --timer
    """
    from triage.screens.mix_page import record, show_mix
    from triage.screens.spray_timer import ring_for
    from triage.spraying.asked import Asked, at_home, order_of, timing
    from triage.spraying.mix import make

    file = shop.knowledge.sprays
    home = country or home_country(shop)
    asked = Asked(tank, plants, bed, cover, crop, soap, oils, oil_rate, soap_rate, hardness, water_temp, depth, spoons)
    garden = shop.profile.settings
    asked = at_home(asked, garden.tank, garden.soap, garden.oils)
    batch = make(order_of(asked, shop.knowledge, home), file)
    times = timing(batch, file, shake, minutes) if timer else None
    if as_json:
        print(json.dumps(record(batch)))
    else:
        show_mix(batch, shop.knowledge, shop.screen, home, why)
    if times:
        ring_for(times, shop.screen, time.monotonic, time.sleep)
