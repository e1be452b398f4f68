"""Play invented seasons under different ways of handing out sits, in this process."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from scheduling.rotation.replay.figures import Figures, figures, spread
from scheduling.rotation.replay.picture import picture
from scheduling.rotation.replay.play import NAMES, Way, play
from scheduling.rotation.replay.pressure import ASSUMPTIONS
from scheduling.rotation.replay.season import Assumed, make_season

Results = dict[Way, list[Figures]]


class Command(BaseCommand):
    help = (
        "Play invented seasons: the same stands, wind, forecasts and wishes handed out first "
        "come, first served, by rotation, and by rotation without the same-wind rule. Prints "
        "sits served, the share of sits on a wind already used, average fit, Gini and the "
        "worst-served member, and the deer met under several assumptions of what deer learn, "
        "one of them nothing. A simulation on invented figures: it shows how the ways differ "
        "under each assumption, not which assumption is true. Reads and writes no data."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        assumed = Assumed()
        parser.add_argument("--seasons", type=int, default=6, help="how many (default 6)")
        parser.add_argument("--seed", type=int, default=1, help="of the first (default 1)")
        parser.add_argument("--weeks", type=int, default=assumed.weeks)
        parser.add_argument("--stands", type=int, default=assumed.stands)
        parser.add_argument("--members", type=int, default=assumed.members)
        parser.add_argument("--picture", type=Path, help="write an SVG to this file")

    def handle(self, *_args: Any, **options: Any) -> None:
        if options["seasons"] < 1:
            raise CommandError("--seasons must be 1 or more.")
        try:
            assumed = Assumed(**{name: options[name] for name in ("weeks", "stands", "members")})
        except ValueError as wrong:
            raise CommandError(f"{wrong}.") from wrong
        results: Results = {way: [] for way in Way}
        plans = proven = 0
        for seed in range(options["seed"], options["seed"] + options["seasons"]):
            season = make_season(assumed, seed=seed)
            for way in Way:
                played = play(season, way)
                results[way].append(figures(season, played))
                if way in (Way.ROTATION, Way.ROTATION_ANY_WIND):
                    plans, proven = plans + played.plans, proven + played.proven
            self.stdout.write(f"Season {seed} played.")
        self._show(results, assumed)
        self.stdout.write(f"{plans} plans, {proven} proven best in all five aims.")
        if options["picture"]:
            options["picture"].write_text(picture(results) + "\n", encoding="utf-8")
            self.stdout.write(f"Picture written to {options['picture']}.")

    def _show(self, results: Results, assumed: Assumed) -> None:
        seasons = len(results[Way.BOARD])
        asked = sum(one.asked for one in results[Way.BOARD])
        self.stdout.write(
            f"{seasons} invented seasons of {assumed.weeks} weeks, {assumed.stands} stands, "
            f"{assumed.members} members, {asked} sits asked for. Mean (lowest to highest):"
        )
        self._table("sits served, %", results, lambda one: 100 * one.served / one.asked)
        self._table("sits on a wind already used, %", results, lambda one: 100 * one.on_used_wind)
        self._table("  beyond the same-wind cap, %", results, lambda one: 100 * one.beyond_cap)
        self._table("average fit, %", results, lambda one: 100 * one.average_fit)
        self._table("Gini of fit for each sit asked, %", results, lambda one: 100 * one.gini)
        self._table("worst served: sits, %", results, lambda one: 100 * one.worst_sits)
        self._table(
            "worst served: fit a sit asked, %", results, lambda one: 100 * one.worst_quality
        )
        for pressure in ASSUMPTIONS:
            name = pressure.name
            self._table(f"deer met, if they {name}", results, _deer_of(name))
            self._table("  the same, a sit, %", results, _deer_a_sit_of(name))

    def _table(self, label: str, results: Results, value: Callable[[Figures], float]) -> None:
        self.stdout.write(label)
        for way, seasons in results.items():
            self.stdout.write(f"    {NAMES[way]:28} {_words([value(one) for one in seasons])}")


def _deer_of(name: str) -> Callable[[Figures], float]:
    return lambda one: one.deer[name]


def _deer_a_sit_of(name: str) -> Callable[[Figures], float]:
    return lambda one: 100 * one.deer_a_sit(name)


def _words(values: Sequence[float]) -> str:
    found = spread(values)
    return f"{found.mean:6.1f} ({found.lowest:.1f} to {found.highest:.1f})"
