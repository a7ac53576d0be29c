"""A spraying timer that rings each time the mix must be shaken again."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext

import click
from rich.progress import BarColumn, Progress, TaskID, TextColumn

from triage.screens.console import Screen

_TICK = 0.25  # seconds between two looks at the clock


def _clock(seconds: float) -> str:
    whole, rest = divmod(max(0, round(seconds)), 60)
    return f"{whole}:{rest:02d}"


def run_timer(
    interval_s: float,
    total_s: float,
    screen: Screen,
    clock: Callable[[], float],
    sleep: Callable[[float], None],
    bell: Callable[[], None],
) -> int:
    """Runs for `total_s` seconds and rings at every `interval_s`. Returns how often it rang.

    `clock` gives seconds that never run backwards. A computer that slept through some rings gives
    one when it wakes, then goes on from there: the mix has stood all that time. Ctrl-C ends it.
    """
    start = clock()
    due = start + interval_s
    rung = 0
    # In plain mode, and where the output is no terminal, a line a ring and no bar.
    bar = None if screen.plain or not screen.console.is_terminal else _bar(screen)
    holder: AbstractContextManager[object] = bar if bar else nullcontext()
    screen.print(f"Shake every {_clock(interval_s)}. Running for {_clock(total_s)}. Ctrl-C stops it.")
    try:
        with holder:
            task = bar.add_task("spray", total=interval_s, left=_clock(interval_s)) if bar else TaskID(0)
            now = start
            while now - start < total_s:
                sleep(min(_TICK, max(due - now, 0.01), max(start + total_s - now, 0.01)))
                now = clock()
                if now >= due and due <= start + total_s:
                    rung += 1
                    bell()
                    screen.print(f"{_clock(now - start)}  Shake now.")
                    due = now + interval_s
                if bar:
                    bar.update(task, completed=interval_s - max(due - now, 0), left=_clock(due - now))
                    bar.refresh()
    except KeyboardInterrupt:
        screen.print("Stopped.")
    else:
        screen.print("Time is up. Shake before the last of the tank.")
    return rung


def _bar(screen: Screen) -> Progress:
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(bar_width=40),
        TextColumn("shake in {task.fields[left]}"),
        console=screen.console,
        auto_refresh=False,
        transient=True,
    )


def ring_for(
    times: tuple[float, float], screen: Screen, clock: Callable[[], float], sleep: Callable[[float], None]
) -> int:
    """The timer with the terminal's own bell; `times` are the interval and the whole, in seconds."""
    return run_timer(times[0], times[1], screen, clock, sleep, lambda: click.echo("\a", nl=False, err=True))
