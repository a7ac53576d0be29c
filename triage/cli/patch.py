"""`triage patch`: a mix tried on one or two plants before the rest."""

from __future__ import annotations

import json
from typing import Any

import click

from triage.cli.choosing import entry_options, may_ask, the_day, the_planting
from triage.cli.planning import Rules, keep_result, kept, mixed
from triage.cli.shared import Shop, fail, mends_input, pass_shop, say


@click.group(name="patch", short_help="Try the mix on one or two plants first.")
def command() -> None:
    """Notes a test patch and how it went. No programme goes ahead without a clean one.

    \b
    Example:
      triage patch start --planting "beans north"
      triage patch result clean
    """


@command.command(name="start", short_help="The mix is on one or two plants: note it.")
@click.option("--mix", metavar="TEXT", help='What was tried; "home mix" if not given.')
@click.option("--oil", type=float, metavar="PERCENT", help="Oil in the mix, % by volume.")
@click.option("--soap", type=float, metavar="PERCENT", help="Soap in the mix, % by volume.")
@click.option("--plants", type=click.IntRange(1, 1000), metavar="N", help="On how many plants.")
@click.option("--note", metavar="TEXT")
@entry_options
@pass_shop
@mends_input
def start(
    shop: Shop,
    /,
    mix: str | None,
    oil: float | None,
    soap: float | None,
    plants: int | None,
    note: str | None,
    day: str | None,
    observer: str | None,
    as_json: bool,
    no_input: bool,
    **place: Any,
) -> None:
    """Notes that the mix was put on one or two plants, and when to look.

    \b
    Example:
      triage patch start --planting "beans north"
      triage patch start --crop kale --bed "south bed" --date yesterday
    """
    from triage.cli.safety import home_country
    from triage.records.entries import add
    from triage.records.rows import plain_one
    from triage.screens.patch_page import show_started
    from triage.screens.safety_page import show_brief
    from triage.spraying.patches import looks_of

    rules = Rules(shop)
    on = the_day(shop, day)
    used = mixed(shop, mix, oil, soap)
    looks = looks_of(on, rules.programme.test_patch)
    if not any(place.values()) and may_ask(no_input, as_json):
        place = {**place, "planting": _chosen(shop)}
    with shop.journal.write() as session:
        planting = the_planting(shop, session, **place)
        if planting is None:
            raise fail("which planting?", "give --planting WORDS, or --crop and --bed", "--planting")
        data = {"date": on, "mix": used.name, "oil_percent": used.oil_percent, "soap_percent": used.soap_percent}
        data |= {"plants": plants or rules.programme.test_patch.plants, "look_on": looks[0], "note": note}
        data["observer"] = observer or shop.profile.settings.observer
        row = add(session, "patch", planting, data, shop.journal.clock())
        line, record = kept(shop, session, "patch", row), plain_one(session, row)
    if as_json:
        click.echo(json.dumps({"kind": "patch", **record, "looks": [look.isoformat() for look in looks]}))
        return
    show_started(line, looks, rules.programme.test_patch, shop.screen)
    show_brief(shop.knowledge, shop.screen, home_country(shop))


@command.command(name="result", short_help="How it looks: clean or burnt.")
@click.argument("result", type=click.Choice(["clean", "burnt"]))
@click.argument("ref", required=False)
@click.option("--note", metavar="TEXT")
@entry_options
@pass_shop
@mends_input
def result_command(
    shop: Shop,
    /,
    result: str,
    ref: str | None,
    note: str | None,
    day: str | None,
    observer: str | None,
    as_json: bool,
    no_input: bool,
    **place: Any,
) -> None:
    """Notes how a patch looks. REF: the letters the journal shows, where several are waiting.

    \b
    Example:
      triage patch result clean
      triage patch result burnt --planting "beans north"
    """
    from triage.records.rows import plain_one
    from triage.screens.patch_page import show_result

    rules = Rules(shop)
    on = the_day(shop, day)
    with shop.journal.write() as session:
        if place["planting"] is None and place["crop"] is not None:
            place = {**place, "planting": f"{place['crop']} {place['bed'] or ''}", "crop": None, "bed": None}
        patch = _the_patch(session, ref, the_planting(shop, session, **place))
        keep_result(shop, session, patch, result, on, observer or shop.profile.settings.observer, note, rules)
        line, record = kept(shop, session, "patch", patch), plain_one(session, patch)
    if as_json:
        click.echo(json.dumps({"kind": "patch", **record}))
        return
    show_result(line, result, rules.programme.test_patch, shop.screen)
    say("Wrong? triage log edit " + record["id"][:6])


def _the_patch(session: Any, ref: str | None, planting: Any) -> Any:
    """The patch that is meant: by its letters, else the one that is waiting. Raises BadInput."""
    from triage.records.entries import find_entry
    from triage.records.tables import Patch
    from triage.records.visits import open_patches, patches_to_see_again

    if ref is not None:
        row = find_entry(session, ref).row
        if not isinstance(row, Patch):
            raise fail(f"'{ref}' is no test patch", "see: triage due", "REF")
        return row
    waiting = [*open_patches(session), *patches_to_see_again(session)]
    if planting is not None:
        waiting = [patch for patch in waiting if patch.planting_id == planting.id]
    if not waiting:
        raise fail("no test patch is waiting", "note one: triage patch start; mend an old one: give its letters", "REF")
    if len(waiting) > 1:
        listed = "; ".join(f"{p.planting.crop}, {p.planting.bed.name}, {p.date} [{p.uid[:6]}]" for p in waiting)
        raise fail(f"{len(waiting)} patches are waiting: {listed}", "give the letters in brackets", "REF")
    return waiting[0]


def _chosen(shop: Shop) -> str:
    """A standing planting picked from a list. Raises BadInput when there is none."""
    from triage.records.places import label, plantings
    from triage.screens.log_forms import choose_planting

    with shop.journal.read() as session:
        standing = [(p.uid, label(p, shop.crop_words)) for p in plantings(session, standing=True)]
    try:
        uid = choose_planting(standing, shop.plain) if standing else None
    except (KeyboardInterrupt, EOFError):
        say("Left: nothing was written.")
        raise SystemExit(1) from None
    if uid is None:
        raise fail("which planting?", "give --crop and --bed", "--planting")
    return uid
