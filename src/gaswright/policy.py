"""The policy: every limit the program judges by. Types only; `exchange/policy_file.py` reads it from a file."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from gaswright.findings import Rule

__all__ = ["Policy", "Tighter"]

Tighter = str  # "lower", "higher" or "either": which way is safer


@dataclass(frozen=True, slots=True)
class Policy:
    """Every limit, its source, and which of them a user's file or a trip has loosened.

    The unit is the end of each name; sources stand in `data/policy.toml`.

    Args:
        version: of the policy, printed on every sheet.
        rules: name of the setting to its rule.
        loosened: names of settings that are looser than the shipped ones.
    """

    version: str
    rules: Mapping[str, Rule]
    ppo2_bottom_ata: float
    ppo2_deco_ata: float
    ppo2_low_stop_ata: float
    ppo2_low_note_ata: float
    ppo2_place_room_ata: float
    u_o2_percent: float
    u_he_percent: float
    fill_tolerance_o2_percent: float
    fill_tolerance_he_percent: float
    end_limit_m: float
    density_note_g_l: float
    density_ask_g_l: float
    cns_note_percent: float
    cns_ask_percent: float
    oxygen_period_min: float
    oxygen_break_min: float
    oxygen_interval_min: float
    fly_after_h: float
    fly_after_deco_h: float
    cabin_bar: float
    deco_reserve_factor: float
    stage_reserve_bar: float
    minimum_gas_divers: float
    pair_o2_note_percent: float
    pair_o2_ask_percent: float
    pair_he_ask_percent: float
    analysis_valid_h: float
    dive_day_end_h: float
    staged_valid_days: float
    clock_ahead_min: float
    oxygen_mark_o2_percent: float
    team_marks_used: float
    oxygen_service_percent: float
    test_warning_days: float
    settled_reference_c: float
    surface_oxygen_l_min: float
    replan_tts_min: float
    sheet_stop_min: float
    sheet_tts_min: float
    sheet_bar: float
    evening_analysis: float = 0.0
    loosened: tuple[str, ...] = field(default=())

    def rule(self, name: str) -> Rule:
        """The rule behind a setting, with its source.

        Args:
            name: of the setting.
        """
        return self.rules[name]
