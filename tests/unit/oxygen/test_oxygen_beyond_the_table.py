"""What other tables allow beyond 1.6 ata is not ours to extrapolate: the clock refuses it."""

import csv

import pytest

from check import close
from gaswright.oxygen.clock import OxygenBeyondTable, piece_cns
from published_checks import OUTSIDE

# US Navy Diving Manual Rev 4 Change A, table 18-5 (seen): closed-circuit 100 % oxygen, single-depth limits.
LINES = (OUTSIDE / "usn_o2_single_depth_limits_18_5_seen.csv").read_text(encoding="utf-8").splitlines()
ROWS = tuple(csv.DictReader(line for line in LINES if not line.startswith("#")))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['depth_fsw']} fsw")
def test_every_exposure_of_the_oxygen_rebreather_table_is_refused(row: dict[str, str]) -> None:
    """The table's ppO2 is depth / 33 + 1, all of it above 1.65 ata, and no share of a limit is made up for it."""
    po2_ata = float(row["depth_fsw"]) / 33 + 1
    close(po2_ata, float(row["PO2_ata"]), within=0.0005)
    with pytest.raises(OxygenBeyondTable):
        piece_cns(float(row["max_min"]), po2_ata, po2_ata)
