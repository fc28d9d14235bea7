"""Write docs/policy.md from the shipped policy and the catalogue of findings; `--check` only says if it is current.

Usage: python scripts/policy_page.py [--check]
"""

import sys
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

from gaswright.catalogue import CATALOGUE, Entry
from gaswright.findings import Severity

PAGE = Path(__file__).parents[1] / "docs" / "policy.md"
SAFER = {"lower": "lower", "higher": "higher", "either": "a choice"}
MEANING = {
    Severity.STOP: "forbids the dive until it is mended; no answer lifts it",
    Severity.ASK: "forbids the dive until a named person has answered it",
    Severity.NOTE: "informs; folded under one line",
}

HEAD = """# Policy
*Made by `scripts/policy_page.py` from `data/policy.toml` and `catalogue.py`; do not edit it by hand.*

A planning aid for trained and certified divers. A policy value is a limit that this program judges by; your training,
your team's procedures, local law and codes, and licensed or medical professionals decide.

## How findings work
A finding is a *stop*, an *ask* or a *note*. Each says whom it is about, why, what mends it, and the rule it rests on
with that rule's source. The sentences below carry their values in braces.

**Go** = a plan with a schedule exists, it rests on analysed gas, there is no stop and no unanswered ask. A plan on
targets is never go.

**Answers.** An answer is a code, a subject, a person and a time. It covers every ask of that code whose subject holds
all that the answer names: diver, cylinder, case, or the setting of a loosened policy (several parted by commas). An
answer that names nothing covers every ask of its code: one answer covers like findings of the day. It counts on the
dive day on which it was given (a dive day ends at the local hour `dive_day_end_h`), not before its own time, and only
with a person's name. An answer never covers a stop.

**What is judged for whom.** Cylinders that planned divers may breathe from on the dive pass every gate. Cylinders of
others (somebody who does not dive the plan, a spare that the dive does not use) are judged for custody only: gas,
label, register, tests, oxygen service, pressure. Suit gas and surface oxygen are never in a schedule and need no
analysis to go; being frozen, another cylinder's label, register, tests, oxygen service and pressure are judged. A
*label* for them still needs an analysis, as for any cylinder.

**What the gates read.** Test dates must hold on the later of today and the day of the dive, in the trip's time zone.
Oxygen service is judged on the richest gas a cylinder can hold: the reading plus its uncertainty, or its target. A
reading with a temperature is carried to `settled_reference_c` by the real-gas equation; without one, the pressure as
read is judged. A cylinder at its working pressure at 21 C stays below 5/4 of it at 55 C by the same equation, so the
second limit of 49 CFR 173.301a is not asked separately.

**Labels that can be read as each other**, only where both numbers stand on labels of this dive, on two cylinders:

| how | example | ask | note |
|---|---|---|---|
| turned over: a whole number upside down reads as another | 6 m / 9 m | one diver carries both, one unit | else |
| percentage or MOD: the same bare number is both | 50 % / 50 m | one diver carries both | else |
| the other unit: feet and metres within one of each other | 20 ft / 21 m | one diver carries both | else |
| one digit apart: MODs of one diver, equally long | 21 m / 24 m | both picked by their MOD, in metres | mains; feet |

Why not more asks: in feet every MOD stands on the 10 ft grid, so 20 ft and 70 ft, oxygen and EAN50, are one digit apart
on every normal day; an ask that always comes is not read. Mains are not picked by their MOD at a switch. All asks of
one diver are one finding, all notes of the team another (our own choice). *Two alike* = two cylinders that one diver
carries, neither mains nor a pair nor staged, with the same MOD on the label or the same whole percentages.

**Permits.** A label is printed only for a cylinder that is in the register, in test, fit for its gas, not frozen, and
whose analysis is valid now; nothing else withholds it. Any stop withholds slates and cards, except that unknown gas
alone (with the pressure nobody read on it) gives sheets that say PLAN ONLY. Every sheet carries a *sheet code*:
five characters from a SHA-256 of what the sheet shows; equal numbers give the equal code, another reading another.

**Not judged yet**, because the facts for it do not exist yet: a re-plan that moves the team's TTS by more than 3 min.
"""

SETTINGS = """A user's file and a trip may tighten a setting; a looser one is an ask on every page; hard caps hold.
Status: *seen* in the source or in a text that quotes it; from *memory*; *common practice* without a source; *policy*:
our own choice.
"""


def cell(text: str) -> str:
    """A text as one cell of a table."""
    return text.replace("|", "\\|").replace("\n", " ")


def severity_rows() -> Iterator[str]:
    """One table per severity, every code of the catalogue."""
    for severity in Severity:
        yield f"\n### {severity.value}: {MEANING[severity]}\n"
        yield "| code | says | what mends it | rule |\n|---|---|---|---|"
        yield from (row(code, entry) for code, entry in CATALOGUE.items() if entry.severity is severity)


def row(code: str, entry: Entry) -> str:
    """One finding as a row."""
    return f"| `{code}` | {cell(entry.text)} | {cell(entry.mend)} | {cell(entry.rule)} |"


def setting_rows() -> Iterator[str]:
    """Every setting with its value, its hard caps, its source and its status."""
    yield "| setting | value | unit | safer | hard caps | source | status |\n|---|---|---|---|---|---|---|"
    for name, setting in settings().items():
        yield (
            f"| `{name}` | {setting['value']:g} | {setting['unit']} | {SAFER[str(setting['tighter'])]} | "
            f"{setting['low']:g} to {setting['high']:g} | {cell(str(setting['source']))} | {setting['status']} |"
        )


def settings() -> dict[str, dict[str, float | str]]:
    """The settings of the shipped policy."""
    return {name: setting for name, setting in table().items() if isinstance(setting, dict)}


def table() -> dict[str, object]:
    """The shipped policy as it is written."""
    text = files("gaswright").joinpath("data/policy.toml").read_text(encoding="utf-8")
    return dict(tomllib.loads(text))


def page() -> str:
    """The whole page."""
    title = f"\n## Settings, version {table()['version']}\n"
    return "\n".join((HEAD, "## How severe", *severity_rows(), title, SETTINGS, *setting_rows(), ""))


def main() -> int:
    """Write the page, or with `--check` say if it is current."""
    if "--check" in sys.argv[1:]:
        current = PAGE.exists() and PAGE.read_text(encoding="utf-8") == page()
        print("docs/policy.md is current" if current else "docs/policy.md is stale: run scripts/policy_page.py")
        return 0 if current else 1
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE.name}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
