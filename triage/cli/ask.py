"""`triage ask`: the interview, at the terminal or from prepared answers."""

from __future__ import annotations

import json
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import click

from triage.cli.books import draft_for, try_open_book
from triage.cli.choosing import journal_option
from triage.cli.shared import Shop, fail, mends_input, pass_shop, say

REGIONS = ["europe", "north_america", "south_america", "africa", "asia", "oceania"]
HEMISPHERES = ["north", "south", "tropics"]


@click.command(name="ask", short_help="Questions and answers about one damaged plant.")
@click.option("--crop", metavar="NAME", help="Skip the first question: the crop, by any everyday name.")
@click.option("--month", type=click.IntRange(1, 12), help="Month of the damage; this month if not given.")
@click.option(
    "--region",
    type=click.Choice(REGIONS),
    help="Where in the world; drops pests that are not there.  [default: your garden's]",
)
@click.option(
    "--hemisphere",
    type=click.Choice(HEMISPHERES),
    help="Which half of the earth; turns the seasons.  [default: your garden's]",
)
@click.option(
    "--answers",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Play the interview from a case file; - is stdin.",
)
@click.option("--json", "as_json", is_flag=True, help="With --answers: one JSON object, with the cues asked.")
@click.option("--resume", is_flag=True, help="Go on with the interview you left.")
@click.option("--no-input", is_flag=True, help="Never ask; only with --answers.")
@click.option("--why", is_flag=True, help="All the reasons below the verdict.")
@journal_option
@pass_shop
@mends_input
def command(
    shop: Shop,
    crop: str | None,
    month: int | None,
    region: Any,
    hemisphere: Any,
    answers: Path | None,
    as_json: bool,
    resume: bool,
    no_input: bool,
    why: bool,
) -> None:
    """Asks about one damaged plant, then tells what most likely did it and what to do.

    \b
    Example:
      triage ask
      triage ask --crop bean --region europe
      triage ask --answers case.yaml --json

    At every question one key tells why it is asked (w), how to check it (h), takes "can't tell" (x)
    and "I think so" (t), goes back (b), shows how it stands (s), finishes (f) or saves and leaves (q).
    At the end it offers to keep the visit in the journal.
    """
    if answers is not None:
        _from_file(shop, answers, as_json, why)
        return
    if as_json:
        raise fail("--json goes with --answers", "or use: triage assess --json FILE")
    if no_input or not sys.stdin.isatty() or not sys.stdout.isatty():
        raise fail("the interview needs a terminal", "without one, use: triage ask --answers FILE")
    home = shop.profile.settings
    case = {"month": month or shop.today.month, "region": region or home.region}
    case["hemisphere"] = hemisphere or home.hemisphere
    _at_the_terminal(shop, crop, case, resume, why)


def _at_the_terminal(shop: Shop, crop: str | None, case: dict[str, Any], resume: bool, why: bool) -> None:
    from triage.reasoning.case import find_crop
    from triage.screens.crop_question import ask_crop

    crop_id = find_crop(crop, shop.knowledge) if crop else None
    if crop and crop_id is None:
        raise fail(f"no crop is called '{crop}'", "or say: other", "--crop")
    shop.screen.print("[soft]Keys at every question stand below it. Ctrl-C saves and leaves.[/]")
    context = click.get_current_context()

    def lay_out() -> Any:
        with context.scope(cleanup=False):  # whoever opens the journal, it is closed when the command ends
            return shop.engine, try_open_book(shop)

    # The arrays and rules are built, and the journal is opened, while the person types the crop.
    with ThreadPoolExecutor(max_workers=1) as pool:
        kit = pool.submit(lay_out)
        if crop_id is None and not resume:
            try:
                crop_id = ask_crop(shop.knowledge, shop.screen)
            except (KeyboardInterrupt, EOFError):
                crop_id = None
            if crop_id is None:
                shop.screen.print("Nothing was asked yet, so nothing is kept.")
                return
        engine, (book, trouble) = kit.result()
    if book is None:
        say(f"triage: {trouble}")
        if crop_id is None:
            raise fail("without the journal no interview can be taken up again", "start anew: triage ask", "--resume")
        say("The interview goes on, but nothing is kept.")
    from triage.screens.keeping import ask_and_keep
    from triage.screens.visit import resumed, start

    draft = draft_for(shop, "interview", book)
    begun = resumed(draft, engine) if crop_id is None else start(crop_id, **case)
    ask_and_keep(begun, engine, book, draft, shop.screen, why, shop.today)


def _from_file(shop: Shop, path: Path, as_json: bool, why: bool) -> None:
    from triage.cli.assess import record, show_record
    from triage.reasoning.interview import play
    from triage.reasoning.verdict import judge
    from triage.screens.case_files import read_case_file

    for case in read_case_file(path, shop.knowledge):
        interview = play(case, shop.engine)
        verdict = judge(interview.case, shop.engine)
        if as_json:
            print(json.dumps({**record(str(path), verdict), "asked": list(interview.asked)}))
        else:
            show_record(shop, str(path), verdict, why)
            print(f"Asked: {', '.join(interview.asked)}")
