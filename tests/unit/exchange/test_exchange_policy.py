"""The policy: shipped values with sources; a user's file tightens, loosens (remembered), never passes a hard cap."""

from decimal import Decimal
from pathlib import Path

import pytest

from check import close
from gaswright.errors import InputError
from gaswright.exchange.policy_file import POLICY_NAMES, policy_of, shipped_policy, user_policy_changes


def changes(tmp_path: Path, text: str) -> dict[str, float]:
    """The changes of a policy file with this text."""
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return user_policy_changes(path)


def test_the_shipped_policy_is_not_loosened_and_every_setting_has_a_source() -> None:
    """Every setting names its source, and the shipped values are loosened against nothing."""
    policy = shipped_policy()
    assert policy.loosened == ()
    assert set(policy.rules) == set(POLICY_NAMES)
    assert all(policy.rule(name).source for name in POLICY_NAMES)
    # US Navy Diving Manual Rev 4 p. 10-5: 1.4 ata; NOAA practice: 1.6 ata at rest
    close(policy.ppo2_bottom_ata, 1.4, within=0.0)
    close(policy.ppo2_deco_ata, 1.6, within=0.0)


def test_a_users_file_tightens(tmp_path: Path) -> None:
    """Both ways of writing a value are read; a tighter one is used and not an ask."""
    found = changes(tmp_path, "ppo2_deco_ata = 1.5\n[end_limit_m]\nvalue = 24\n")
    policy = policy_of(found)
    close(policy.ppo2_deco_ata, 1.5, within=0.0)
    close(policy.end_limit_m, 24.0, within=0.0)
    assert policy.loosened == ()


def test_a_looser_value_is_used_and_remembered(tmp_path: Path) -> None:
    """Looser is: higher where lower is safer, lower where higher is; a choice is never looser."""
    found = changes(tmp_path, "end_limit_m = 40\nu_o2_percent = 0.2\ndive_day_end_h = 6\nppo2_deco_ata = 1.62\n")
    assert policy_of(found).loosened == ("ppo2_deco_ata", "u_o2_percent", "end_limit_m")


@pytest.mark.parametrize(("text", "parts"), [
    ("# mine\nppo2_deco_ata = 1.7\n", ["mine.toml, line 2, ppo2_deco_ata", "1.7 ata", "hard cap", "0.5 to 1.65 ata"]),
    ("[ppo2_deco_ata]\n\nvalue = 1.7\n", ["mine.toml, line 3, ppo2_deco_ata", "hard cap"]),
    ("ppo2_decko_ata = 1.5\n", ["mine.toml, line 1, ppo2_decko_ata", "no policy setting", "nearest is ppo2_deco_ata"]),
    ("x = 1\n", ["mine.toml, line 1, x", "known are ppo2_bottom_ata"]),
    ("end_limit_m = true\n", ["line 1, end_limit_m", "true is not a number", "10 to 60 m"]),
    ('end_limit_m = "24"\n', ["end_limit_m", "'24' is not a number"]),
    ("end_limit_m = nan\n", ["end_limit_m", "NaN is not a number"]),
    ("end_limit_m = -inf\n", ["end_limit_m", "not a number"]),
    ("[end_limit_m]\nlow = 5\n", ["end_limit_m", "None is not a number"]),
    ("[end_limit_m]\nvalue = 24\nhigh = 90\n", ["line 2, end_limit_m", "only value can be changed", "high"]),
    ("end_limit_m = 1" + "0" * 400 + "\n", ["end_limit_m", "is not a number"]),
    ("end_limit_m = \n", ["mine.toml, line 1", "not TOML"]),
])  # fmt: skip
def test_a_wrong_policy_file_is_named_with_its_line(tmp_path: Path, text: str, parts: list[str]) -> None:
    """An unknown name, a value that is no number or passes a hard cap: file, line, value and range are named."""
    with pytest.raises(InputError) as caught:
        changes(tmp_path, text)
    for part in parts:
        assert part in str(caught.value)


def test_all_problems_of_a_policy_file_are_named_at_once(tmp_path: Path) -> None:
    """Three wrong lines are three problems."""
    with pytest.raises(InputError) as caught:
        changes(tmp_path, "end_limit_m = 99\nfoo = 1\nu_he_percent = true\nppo2_deco_ata = 1.5\n")
    assert [problem.where for problem in caught.value.problems] == [
        "mine.toml, line 1, end_limit_m", "mine.toml, line 2, foo", "mine.toml, line 3, u_he_percent",
    ]  # fmt: skip


def test_a_missing_policy_file_is_an_input_error(tmp_path: Path) -> None:
    """A path that leads nowhere is one sentence."""
    with pytest.raises(InputError, match="no such file"):
        user_policy_changes(tmp_path / "none.toml")


def test_changes_given_in_code_are_judged_alike() -> None:
    """policy_of refuses what the file reader refuses, and takes ints, floats and Decimals."""
    close(policy_of({"end_limit_m": Decimal("24.5")}).end_limit_m, 24.5, within=0.0)
    for wrong in (True, "24", None, float("nan"), 1000):
        with pytest.raises(InputError):
            policy_of({"end_limit_m": wrong})
