"""Draw the pictures of the README from the demo day: the plan, and its papers side by side."""

import io
import sys
from collections.abc import Sequence
from datetime import datetime
from importlib.resources import files
from pathlib import Path

from PIL import Image

from gaswright.clearance.permits import LabelPermit, SheetPermit
from gaswright.exchange.trip_reader import read_trip
from gaswright.paper.cards import switch_card_pictures
from gaswright.paper.labels import labels_pictures
from gaswright.paper.slates import slate_pictures
from gaswright.services.checking import check_day, local_moment
from gaswright.services.day import day_of
from gaswright.services.demo import DEMO_DAYS
from gaswright.services.papers import label_leave, sheet_leave
from gaswright.services.picture import write_plan_picture

GREY, GAP, HIGH = (196, 196, 196), 16, 760


def main() -> int:
    """Write plan.svg and papers.png into the folder named on the command line."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "docs/pictures")
    folder.mkdir(parents=True, exist_ok=True)
    name, now_text = DEMO_DAYS[0]
    trip = read_trip(Path(str(files("gaswright").joinpath("data", "demo", name))))
    now = local_moment(datetime.fromisoformat(now_text), trip.zone)
    checked = check_day(day_of(trip, now), now)
    label, sheets = label_leave(checked, "ines-50"), sheet_leave(checked)
    if checked.plan is None or not isinstance(label, LabelPermit) or not isinstance(sheets, SheetPermit):
        print("the demo day prints no papers")
        return 1
    write_plan_picture(checked.day, checked.plan, folder / "plan.svg")
    pages = [
        *labels_pictures([label], dots_per_inch=75),
        *slate_pictures(sheets, "ines", dots_per_inch=110)[:1],
        *switch_card_pictures(sheets, dots_per_inch=75),
    ]
    beside(pages).quantize(16).save(folder / "papers.png", optimize=True)
    print(f"{folder}/plan.svg {folder}/papers.png")
    return 0


def beside(pages: Sequence[bytes]) -> Image.Image:
    """Pages side by side on grey, equally high."""
    sheets = [Image.open(io.BytesIO(page)).convert("L").convert("RGB") for page in pages]
    scaled = [sheet.resize((round(sheet.width * HIGH / sheet.height), HIGH)) for sheet in sheets]
    whole = Image.new("RGB", (sum(sheet.width + GAP for sheet in scaled) + GAP, HIGH + 2 * GAP), GREY)
    left = GAP
    for sheet in scaled:
        whole.paste(sheet, (left, GAP))
        left += sheet.width + GAP
    return whole


if __name__ == "__main__":
    sys.exit(main())
