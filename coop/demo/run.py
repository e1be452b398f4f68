"""The demo from an empty database to a working cooperative, step by step."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

from coop.demo import report_files, told, work
from coop.demo.build import Built, build, builder, find_built
from coop.demo.cameras import hang_cameras
from coop.demo.client_day import first_day_offered
from coop.demo.files import InputFiles, write_files
from coop.demo.history import write_history
from coop.demo.imports import Reconciled, import_all
from coop.demo.next_seat import take_next_seat
from coop.demo.scenario import Calendar
from coop.demo.tokens import renew_credential, renew_tokens
from coop.demo.trouble import write_trouble
from coop.jobs.models import JobRun
from scheduling.sits.models import Sit
from scheduling.worklist.generation_services import write_worklist

Step = Callable[[], None]


@dataclass
class Demo:
    """One run; each step leaves what the next ones and the tables need.

    Every step may run again on the same day: what stands already is found and left alone.
    """

    calendar: Calendar
    folder: Path
    built: Built | None = None
    was_built: bool = False
    files: tuple[InputFiles, ...] = ()
    accounts: tuple[Reconciled, ...] = ()
    published: tuple[str, ...] = ()
    next_sit: Sit | None = None
    runs: int = 0

    def steps(self) -> list[tuple[str, Step]]:
        """What is done, in order, with a name to show meanwhile."""
        return [
            ("laying out land, people and cameras", self.lay_out),
            ("writing what stations, loggers and cameras would have sent", self.write_inputs),
            ("taking the files in", self.take_in),
            ("writing the season that was", self.tell_history),
            ("learning the stands' wind and computing fits", self.compute_fits),
            ("taking a seat for whoever tries it out", self.take_next_seat),
            ("planning the rotation", self.plan_rotation),
            # An errand's advice keeps clear of the sits that stand, so all are booked before.
            ("reviewing the scrapes", self.review_scrapes),
            ("writing the managers' lists", self.write_lists),
            ("writing the month's reports and the season's so far", self.write_reports),
        ]

    @property
    def cooperative(self) -> Built:
        assert self.built is not None, "lay_out comes first"
        return self.built

    def lay_out(self) -> None:
        self.built = find_built(self.calendar)
        self.was_built = self.built is not None
        if self.built is None:
            self.built = build(self.calendar)
            hang_cameras(self.built, self.calendar)

    def write_inputs(self) -> None:
        self.files = tuple(write_files(self.folder / "input", self.calendar))

    def take_in(self) -> None:
        self.accounts = tuple(
            account
            for files in self.files
            for account in import_all(files, self.cooperative, self.calendar)
        )

    def tell_history(self) -> None:
        write_history(self.cooperative, self.calendar)
        write_trouble(self.cooperative, self.calendar)

    def compute_fits(self) -> None:
        work.queue_fits(self.cooperative, self.calendar)
        self._drain()

    def take_next_seat(self) -> None:
        self.next_sit = take_next_seat(self.cooperative, self.calendar)

    def plan_rotation(self) -> None:
        queued = {run.id for run in work.queue_rotation(self.cooperative, self.calendar)}
        ended: list[JobRun] = []
        self._drain(on_run=ended.append)
        # A draft that stands already is of whoever tries the demo out, and theirs to publish.
        own = [run for run in ended if run.id in queued]
        self.published = tuple(work.publish_drafts(own, self.calendar))
        self._drain()

    def review_scrapes(self) -> None:
        work.queue_reviews(self.cooperative, self.calendar)
        self._drain()

    def write_lists(self) -> None:
        for land in self.cooperative.lands.values():
            write_worklist(actor=builder(), land=land, now=self.calendar.now)

    def write_reports(self) -> None:
        work.queue_months(self.cooperative, self.calendar)
        work.queue_season(self.cooperative, self.calendar)
        self._drain()

    def _drain(self, *, on_run: work.OnRun = lambda _run: None) -> None:
        self.runs += work.drain(self.calendar, on_run=on_run).runs


def run_demo(calendar: Calendar, *, folder: Path, console: Console) -> Demo:
    """Do every step, showing how far it is."""
    demo = Demo(calendar=calendar, folder=folder)
    steps = demo.steps()
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, TimeElapsedColumn(), console=console) as progress:
        task = progress.add_task("", total=len(steps))
        for name, step in steps:
            progress.update(task, description=name)
            step()
            progress.advance(task)
    return demo


def tell(demo: Demo, console: Console) -> None:
    """Everything the run did, in the order somebody reads it."""
    built = demo.cooperative
    told.tell_imports(console, demo.accounts)
    told.tell_fits(console, built, demo.calendar)
    told.tell_reviews(console, built, demo.calendar)
    told.tell_rotation(console, built, demo.published)
    reports = report_files.write_report_files(built, demo.folder / "reports", now=demo.calendar.now)
    inputs = [path for files in demo.files for path in files.paths]
    told.tell_files(console, [*inputs, *reports.paths], reports.missing_reasons)
    credential = renew_credential(built, demo.calendar)
    day = first_day_offered(built, demo.calendar)
    told.tell_tokens(console, renew_tokens(built, demo.calendar, clients_day=day))
    told.tell_next_sit(console, demo.next_sit, demo.calendar)
    told.tell_quick_start(console, credential, day)
