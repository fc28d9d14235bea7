"""The board of the book as text for a terminal."""

from zoneinfo import ZoneInfo

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from gaswright.cli.main import CAUTION
from gaswright.cli.render import print_findings
from gaswright.services.board import BoardRow
from gaswright.services.book_day import Today

__all__ = ["print_today"]


def print_today(console: Console, shown: Today) -> None:
    """Print the board: GO or what to mend first, every cylinder, every finding.

    Args:
        console: where to.
        shown: the board.
    """
    checked = shown.checked
    local = checked.now.astimezone(ZoneInfo(checked.day.trip.zone))
    console.print(Text(f"{checked.day.trip.name}, as of {local:%d %b %Y %H:%M %Z}", style="bold"))
    console.print(Text("GO" if checked.clearance.go else "NO GO", style="bold reverse"))
    print_findings(console, checked.day, checked.clearance.findings)
    console.print(_table(shown.rows))
    console.print(CAUTION, style="italic")


def _table(rows: tuple[BoardRow, ...]) -> Table:
    table = Table("Diver", "ID", "Cylinder", "Standing", "Gas", "MOD", "Pressure", box=SIMPLE_HEAD, pad_edge=False)
    for column in table.columns:
        column.overflow = "fold"
        if column.header in {"ID", "Standing", "Gas", "MOD", "Pressure"}:  # a number is never cut
            column.no_wrap = True
    for row in rows:
        word = row.standing.upper()
        table.add_row(row.diver_names, row.id_on_metal, row.cylinder, f"{word}\n({row.hold})" if row.hold else word,
                      row.gas_text, row.mod_text, row.pressure_text)
    return table
