"""Build the wheel, install it in a new environment without make, and run the demo from another folder."""

import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).parents[1]


def main() -> int:
    """Exit code of the run: 0 when the installed wheel printed its demo papers."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        run([sys.executable, "-m", "build", "--wheel", "--outdir", str(place), str(ROOT)], ROOT)
        wheel = next(place.glob("gaswright-*.whl"))
        venv.create(place / "new", with_pip=True)
        binary = place / "new" / "bin"
        constraints = str(ROOT / "constraints.txt")
        run([str(binary / "python"), "-m", "pip", "install", "-q", "-c", constraints, str(wheel)], place)
        run([str(binary / "gaswright"), "demo", "--out", "papers"], place)
        papers = sorted(path.name for path in (place / "papers").rglob("*.pdf"))
        print(f"wheel {wheel.name}: demo wrote {len(papers)} PDFs")
        return 0 if papers else 1


def run(command: list[str], folder: Path) -> None:
    """Run a command in a folder; a failure ends the script."""
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    subprocess.run(command, cwd=folder, check=True, env=environment)


if __name__ == "__main__":
    sys.exit(main())
