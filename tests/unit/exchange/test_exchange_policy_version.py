"""The version of the policy, as every sheet prints it, tells what was changed."""

from gaswright.exchange.policy_file import policy_of, shipped_policy


def test_what_is_loosened_is_named_in_the_version() -> None:
    """A looser limit stands by name on every sheet; a tighter one only says so; the shipped policy is plain."""
    plain = shipped_policy().version
    assert policy_of({"ppo2_bottom_ata": 1.5}).version == f"{plain} LOOSENED: ppo2_bottom_ata"
    assert policy_of({"ppo2_bottom_ata": 1.3}).version == f"{plain} tightened"
    assert policy_of({"ppo2_bottom_ata": 1.3, "end_limit_m": 40}).version == f"{plain} LOOSENED: end_limit_m"
    assert "LOOSENED" not in plain
