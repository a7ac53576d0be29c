"""`triage walk`: along the rows, and the day's work list at the end."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from typing import Any

import click

from triage.cli.books import draft_for, open_book
from triage.cli.choosing import journal_option, may_ask, the_day
from triage.cli.shared import Shop, fail, mends_input, pass_shop, say
from triage.reasoning.yaml_text import BadInput


@click.command(name="walk", short_help="Along the rows, one key a planting; then the day's work list.")
@click.argument("names", nargs=-1)
@click.option("--by", "observer", metavar="NAME", help="Who walks.")
@click.option("--anew", is_flag=True, help="Start over instead of going on with the walk that was left.")
@click.option("--list", "only_list", is_flag=True, help="Only the work list of what was seen on a day.")
@click.option("--date", "day", metavar="DAY", help="With --list: which day; today if not given.")
@click.option("--plants", multiple=True, metavar="WORDS=N", help="How many plants a planting has, for the mix.")
@click.option("--json", "as_json", is_flag=True, help="With --list: one JSON object.")
@journal_option
@pass_shop
@mends_input
def command(
    shop: Shop,
    /,
    names: tuple[str, ...],
    observer: str | None,
    anew: bool,
    only_list: bool,
    day: str | None,
    plants: tuple[str, ...],
    as_json: bool,
) -> None:
    """Goes through the plantings bed by bed, or through those NAMES tell (beds, or words of a planting).

    \b
    Example:
      triage walk
      triage walk "north bed" kale
      triage walk --list --date yesterday --plants "beans north=24"

    At each planting one key: fine (f), look closer (c), look again (a), skip (s), back (b), save and
    leave (q). What was wrong last time is asked about first. Every stop is kept at once.
    """
    if only_list:
        _list(shop, the_day(shop, day), plants, as_json)
        return
    if as_json or day is not None:
        raise fail("--json and --date go with --list", "triage walk --list --json")
    if not may_ask(False):
        raise fail("the walk needs a terminal", "without one, use: triage walk --list")
    _walk(shop, names, observer, anew, plants)


def _walk(shop: Shop, names: tuple[str, ...], observer: str | None, anew: bool, plants: tuple[str, ...]) -> None:
    from triage.screens.walk_screen import Walker
    from triage.screens.walk_start import begin

    book = open_book(shop)
    draft = draft_for(shop, "walk", book)
    home = shop.profile.settings
    # The arrays and rules are built while the person looks at the first planting.
    with ThreadPoolExecutor(max_workers=1) as pool:
        kit = pool.submit(lambda: shop.engine)
        try:
            walk = begin(book, draft, shop.screen, names, observer, anew)
        except (KeyboardInterrupt, EOFError):
            walk = None
        if walk is None:
            return
        walker = Walker(book, draft, shop.screen, kit.result, home.region, home.hemisphere)
        if walker.go(walk) is None:
            return
    _list(shop, shop.today, plants, as_json=False, since=walk.day)
    draft.drop()


def _list(shop: Shop, day: date, plants: tuple[str, ...], as_json: bool, since: date | None = None) -> None:
    """The work list of a day; after a walk, of all since it began, and what is not known for the mix is asked for."""
    from triage.reasoning.library import knowledge_folder
    from triage.records.means import load_means
    from triage.records.work_list import work_list
    from triage.screens.keeping import standing_here
    from triage.screens.work_list_page import ask_amounts, show_work_list, work_record

    means = load_means(knowledge_folder())
    notifiable = {cause for cause, sheet in shop.knowledge.sheets.items() if sheet.notifiable}
    with shop.journal.read() as session:
        standing = standing_here(session, shop.profile.settings.name, day)
        work = work_list(session, standing, day, means, notifiable, since)
        amounts = _amounts(shop, session, plants)
    if since is not None and work.to_spray:
        try:
            amounts |= ask_amounts(work, amounts, shop.crop_words, shop.knowledge, shop.screen)
        except (KeyboardInterrupt, EOFError):
            say("Left out: how much to mix.")
    _remember(shop, amounts)
    batch, trouble = _batch(shop, work, amounts)
    if as_json:
        click.echo(json.dumps(work_record(work, means, batch)))
        return
    country = shop.profile.settings.country or ""
    show_work_list(work, means, shop.crop_words, shop.knowledge, shop.screen, batch, amounts, country, trouble)


def _batch(shop: Shop, work: Any, amounts: dict[str, Any]) -> tuple[Any, str]:
    """The batch for the spray group; None and why when it cannot be mixed, since the list is shown all the same."""
    from triage.screens.spray_job import batch_for

    wanted = dict.fromkeys(item.planting.uid for item in work.to_spray)
    counted = [amounts[uid] for uid in wanted if uid in amounts]
    if not counted:
        return None, ""
    try:
        return batch_for(counted, shop.knowledge, shop.profile.settings), ""
    except BadInput as error:
        problem = error.problems[0]
        return None, f"{problem.wrong} ({problem.mend})" if problem.mend else problem.wrong


_PLANTS = "plants"  # the draft that remembers how many plants a planting has


def _amounts(shop: Shop, session: Any, plants: tuple[str, ...]) -> dict[str, Any]:
    """How many plants each planting has: as was said last, and as is said now."""
    from triage.records import drafts
    from triage.records.places import find_planting
    from triage.screens.spray_job import Plants

    known = drafts.get(shop.journal, _PLANTS) or {}
    found = {uid: Plants(*told) for uid, told in known.items()}
    for text in plants:
        words, sign, number = text.rpartition("=")
        if not sign or not number.strip().isdigit() or int(number) < 1:
            raise fail(f"'{text}' is no WORDS=N", "such as --plants 'beans north=24'", "--plants")
        planting = find_planting(session, words, shop.crop_words)
        cover = found[planting.uid].cover if planting.uid in found else "full"
        found[planting.uid] = Plants(planting.crop, int(number), cover)
    return found


def _remember(shop: Shop, amounts: dict[str, Any]) -> None:
    from triage.records import drafts

    told = {uid: [one.crop, one.count, one.cover] for uid, one in amounts.items()}
    if told != (drafts.get(shop.journal, _PLANTS) or {}):
        drafts.put(shop.journal, _PLANTS, told)
