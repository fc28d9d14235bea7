"""The demo: two days at an invented quarry, run through the same services as any trip."""

from dataclasses import dataclass
from datetime import datetime
from importlib.resources import files
from pathlib import Path

from gaswright.errors import InputError
from gaswright.exchange.trip_reader import read_trip
from gaswright.services.checking import Checked, check_day, local_moment
from gaswright.services.day import day_of
from gaswright.services.papers import Papers, papers_of, write_papers
from gaswright.services.picture import plan_picture

__all__ = ["DEMO_DAYS", "DemoDay", "demo_days"]

# file of the trip and the local time at which the day is judged
DEMO_DAYS = (("quarry-day.toml", "2027-05-15T09:00:00"), ("no-go-day.toml", "2027-05-16T09:00:00"))


@dataclass(frozen=True, slots=True)
class DemoDay:
    """One demo day as it ran.

    Args:
        trip_file: the trip file written for the user to play with.
        checked: the day judged.
        papers: what it prints and what is withheld.
        written: the PDFs and the picture.
    """

    trip_file: Path
    checked: Checked
    papers: Papers
    written: tuple[Path, ...]


def demo_days(folder: Path) -> tuple[DemoDay, ...]:
    """Both demo days, with trip files, papers and pictures written into a folder.

    Args:
        folder: made if it is not there.

    Raises:
        InputError: the folder cannot be written.
    """
    return tuple(_demo_day(folder, name, now_text) for name, now_text in DEMO_DAYS)


def _demo_day(folder: Path, name: str, now_text: str) -> DemoDay:
    trip_file = folder / name
    try:
        folder.mkdir(parents=True, exist_ok=True)
        trip_file.write_bytes(files("gaswright").joinpath("data", "demo", name).read_bytes())
    except OSError as error:
        raise InputError(f"{folder}: cannot write there ({error.strerror}); choose another folder") from error
    trip = read_trip(trip_file)
    now = local_moment(datetime.fromisoformat(now_text), trip.zone)
    checked = check_day(day_of(trip, now), now)
    papers = papers_of(checked)
    written = write_papers(papers, folder / trip_file.stem)
    picture = folder / trip_file.stem / "plan.svg"
    if checked.plan is not None and checked.plan.planned.schedule is not None:
        picture.write_text(plan_picture(checked.day, checked.plan), encoding="utf-8")
        written = (*written, picture)
    return DemoDay(trip_file, checked, papers, written)
