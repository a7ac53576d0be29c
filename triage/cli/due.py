"""`triage due`: what is waiting, and one key to write it down."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

import click

from triage.cli.choosing import journal_option, may_ask, the_day
from triage.cli.planning import Rules, keep_look, keep_result, keep_spray, kept, laid_out, programmes_due
from triage.cli.shared import Shop, fail, mends_input, pass_shop, say


@click.command(name="due", short_help="What is waiting, today and this week; sprays done with one key.")
@click.option("--days", type=click.IntRange(0, 400), default=7, metavar="N", help="So many days ahead; 7 if not given.")
@click.option("--done", metavar="ID", help="The next spray of this programme is done.")
@click.option("--clean", metavar="ID", help="You looked: the new growth is clean.")
@click.option("--hit", metavar="ID", help="You looked: the new growth is hit too.")
@click.option("--date", "day", metavar="DAY", help="With these: when; today if not given.")
@click.option("--by", "observer", metavar="NAME", help="With these: who.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@click.option("--no-input", is_flag=True, help="Never ask.")
@journal_option
@pass_shop
@mends_input
def command(
    shop: Shop,
    days: int,
    done: str | None,
    clean: str | None,
    hit: str | None,
    day: str | None,
    observer: str | None,
    as_json: bool,
    no_input: bool,
) -> None:
    """Shows the sprays, test patches and plants that wait, the longest overdue first.

    \b
    Example:
      triage due
      triage due --days 0
      triage due --done 4f2a91 --date yesterday

    On a terminal it then asks for each that is due today: one key writes it down.
    """
    from triage.records.due import due
    from triage.screens.journal_page import show_due

    rules, who = Rules(shop), observer or shop.profile.settings.observer
    acts = [(word, ref) for word, ref in (("done", done), ("clean", clean), ("hit", hit)) if ref is not None]
    if len(acts) > 1:
        raise fail("--done, --clean and --hit say one thing at a time", "give one of them")
    if acts:
        [(word, ref)] = acts
        _act(shop, ref, word, the_day(shop, day), who, rules, as_json)
        return
    with shop.journal.read() as session:
        items = due(session, shop.today + timedelta(days=days), [programmes_due(shop, rules)])
    if as_json:
        for item in items:
            click.echo(json.dumps(_record(item)))
        return
    show_due(items, shop.today, shop.crop_words, shop.screen)
    now = [item for item in items if item.day <= shop.today and item.kind in ("spray", "look", "patch")]
    if now and may_ask(no_input):
        _ask(shop, now, who, rules)
    elif any(item.kind in ("spray", "look") for item in items):
        say("Done? triage due --done ID; looked? triage due --clean ID (or --hit ID)")


def _record(item: Any) -> dict[str, Any]:
    planting = item.planting
    record = {"due": item.day.isoformat(), "kind": item.kind, "says": item.says, "id": item.ref}
    record |= {"step": item.step} if item.step else {}
    return record | {"planting": planting.uid, "crop": planting.crop, "bed": planting.bed.name}


def _act(shop: Shop, ref: str, word: str, day: date, who: str | None, rules: Rules, as_json: bool) -> None:
    """Writes down a spray done, or what a look found; then says what comes next."""
    from triage.records.programmes import find_programme
    from triage.screens.programme_page import following_line

    with shop.journal.write() as session:
        row = find_programme(session, ref)
        if word == "done":
            entry = keep_spray(shop, session, row, day, who, rules)
            line, uid = kept(shop, session, "spray", entry), entry.uid
        else:
            keep_look(shop, session, row, word, None, day, who)
            line, uid = kept(shop, session, "programme", row), row.uid
            line += f" New growth {word}."
        programme, _ = laid_out(shop, session, row, rules)
        following = programme.following
    if as_json:
        told = {"step": following.id, "on": following.on.isoformat()} if following else None
        click.echo(json.dumps({"id": uid, "kept": word, "date": day.isoformat(), "next": told}))
        return
    click.echo(line)
    click.echo(following_line(programme))
    if word == "done":
        say(f"Wrong? triage log undo {uid[:6]}")


def _ask(shop: Shop, items: list[Any], who: str | None, rules: Rules) -> None:
    """One key for each that is due. Ctrl-C leaves; what was written down stays."""
    from triage.reasoning.yaml_text import BadInput
    from triage.records.entries import find_entry
    from triage.records.places import label
    from triage.screens.one_key import LATER, one_key

    keys = {
        "spray": {"d": "done today", "y": "done yesterday"},
        "look": {"c": "clean new growth", "h": "hit too"},
        "patch": {"c": "clean", "b": "burnt"},
    }
    asked: set[tuple[str, str]] = set()
    for item in items:
        if (item.ref, item.kind) in asked:
            continue
        asked.add((item.ref, item.kind))
        try:
            pressed = one_key(f"{label(item.planting, shop.crop_words)}: {item.says}", keys[item.kind], shop.plain)
        except (KeyboardInterrupt, EOFError):
            say("Left. What was written down stays.")
            return
        if pressed == LATER:
            continue
        try:
            if item.kind == "patch":
                word = "clean" if pressed == "c" else "burnt"
                with shop.journal.write() as session:
                    patch: Any = find_entry(session, item.ref).row
                    keep_result(shop, session, patch, word, shop.today, who, None, rules)
                    line = kept(shop, session, "patch", patch)
                click.echo(line)
            else:
                word = {"d": "done", "y": "done", "c": "clean", "h": "hit"}[pressed]
                day = shop.today - timedelta(days=pressed == "y")
                _act(shop, item.ref, word, day, who, rules, False)
        except BadInput as error:
            say(f"triage: {error}")
