"""The one catalogue of the sentences of findings: code, severity, reason, mend, rule. Ready to translate.

Placeholders are named values that the caller has already turned into text with units.
Severities follow the table "How severe" of the trade; see docs/policy.md.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from gaswright.findings import Finding, Rule, Severity, Subject
from gaswright.policy import Policy

__all__ = ["CATALOGUE", "Entry", "finding"]

STOP, ASK, NOTE = Severity.STOP, Severity.ASK, Severity.NOTE


@dataclass(frozen=True, slots=True)
class Entry:
    """One kind of finding.

    Args:
        severity: as in the table of the trade.
        text: why, with named values in braces.
        mend: what mends it.
        rule: name of a policy setting, or of one of `RULES`.
    """

    severity: Severity
    text: str
    mend: str
    rule: str


RULES: Mapping[str, str] = {
    "known gas": "a cylinder's gas is known only by an analysis that names its last fill (common practice, no source)",
    "label shows the analysis": "label = analysis record, read from the metal (common practice, no source)",
    "MOD covers use": "depth shown at most the MOD on the cylinder (common practice, no source)",
    "clock": "a time in the future does not vouch",
    "qualification": "a diver stays within the limits he or she is qualified for (common practice, no source)",
    "cylinder test": "US: visual 12 months, hydrostatic 5 years (US Navy Diving Manual Rev 4 7-2.2.2.2); "
    "UK/EU per BS EN ISO 18119",
    "own analysis": "the diver who breathes it analyses it or accepts the analysis (common practice, no source)",
    "verified schedule": "every schedule passes an independent replay",
    "supply": "gas that is needed is there (common practice, no source)",
    "team finishes": "one failure must leave a way up for the team (common practice, no source)",
    "one team gas": "cylinders that serve the same step are one team gas; its depth is the shallowest allowed "
    "(common practice, no source)",
    "evidence": "a frozen cylinder is kept as it is",
    "oxygen table": "NOAA Diving Manual: the table ends at 1.6 ata; nothing is extrapolated",
    "corrosion": "rust eats oxygen between analyses (common practice, no source)",
    "whole-body oxygen": "REPEX (Hamilton, Kenyon, Peterson 1988): daily averages by days, part from memory",
    "isolator": "manifolded: isolator seen open at fill, analysis and dive (common practice, no source)",
    "marks agree": "a permanent mark is not an analysis (common practice, no source)",
    "plain numbers": "a number that reads as another is dangerous (common practice, no source)",
}

CATALOGUE: Mapping[str, Entry] = {
    # what is in the cylinder
    "gas.never_analysed": Entry(STOP, "no analysis: gas unknown", "analyse it", "known gas"),
    "gas.filled_since": Entry(STOP, "filled {changed} after its last analysis: gas unknown", "analyse it again",
                              "known gas"),
    "gas.equal_times": Entry(STOP, "fill and analysis carry the same time {changed}: which came first is unknown",
                             "analyse it again", "known gas"),
    "gas.helium_not_measured": Entry(STOP, "helium was not measured in a helium mix: gas unknown",
                                     "measure oxygen and helium", "known gas"),
    "gas.labels_off": Entry(STOP, "labels came off {changed}: gas unknown", "analyse and label it", "known gas"),
    "gas.lent": Entry(STOP, "lent or out of sight since {changed}: gas unknown", "analyse it again", "known gas"),
    "gas.two_heads": Entry(STOP, "two histories that do not know each other: gas unknown", "analyse it again",
                           "known gas"),
    "gas.disagree": Entry(STOP, "analyses of the same fill differ by more than their uncertainty: gas unknown",
                          "analyse it again", "known gas"),
    "gas.absent_fact": Entry(STOP, "rests on a fact that is not here ({fact}): gas unknown", "merge the book it is in",
                             "known gas"),
    "gas.voided": Entry(STOP, "the record it rests on was corrected away: gas unknown", "analyse it again",
                        "known gas"),
    "gas.expired": Entry(STOP, "analysis of {at} is too old: gas unknown", "analyse it again", "analysis_valid_h"),
    "gas.lifted": Entry(STOP, "was staged under water and lifted {changed}: gas unknown", "analyse it again",
                        "staged_valid_days"),
    "gas.in_the_future": Entry(STOP, "a record is {ahead} ahead of now ({at}): it does not vouch",
                               "set the clock right and analyse again", "clock"),
    "gas.unknown_kind": Entry(STOP, "a newer program wrote about it: gas unknown", "update this program", "known gas"),
    "gas.frozen": Entry(STOP, "frozen as evidence", "leave it as it is and use another cylinder", "evidence"),
    "gas.swapped": Entry(STOP, "reads {reading}, target {target}: oxygen and helium look swapped",
                         "analyse it again and type oxygen first", "known gas"),
    "gas.expires_before_dive": Entry(STOP, "its analysis vouches until {until}, the dive starts {start}",
                                     "analyse it again before the dive", "analysis_valid_h"),
    "analysis.temperature_far": Entry(NOTE, "cylinder read at {cylinder}, water {water}",
                                      "check the unit of both temperatures", "plain numbers"),
    "fill.pressure_far": Entry(NOTE, "reads {read}, was filled to {filled}", "read the gauge again, mind its unit",
                               "plain numbers"),
    "gas.no_target": Entry(STOP, "neither analysis nor target: nothing can be planned on it",
                           "analyse it, or give its target", "known gas"),
    "gas.two_readings": Entry(NOTE, "two readings of one fill agree within their uncertainty: the richer gives "
                              "the MOD, the leaner the decompression", "nothing to do", "known gas"),
    "analysis.by_another": Entry(ASK, "analysed by {by}, not yet accepted by {breather}",
                                 "{breather} analyses it, or accepts it at the cylinder", "own analysis"),
    "fill.out_of_tolerance": Entry(NOTE, "reads {reading}, the fill aimed at {target}: outside the fill's tolerance",
                                   "the plan uses the reading; tell the blender", "fill_tolerance_o2_percent"),
    "gas.oxygen_falls": Entry(NOTE, "reads {reading}, the same gas read {before} at {at}: oxygen falls, rust may be "
                              "eating it", "drain it and have it inspected inside", "corrosion"),
    "gas.read_again": Entry(STOP, "analysed {at}, before this dive day: ID and pressure were not read again",
                            "read its ID and pressure, or analyse it", "evening_analysis"),
    # its label
    "label.missing": Entry(STOP, "no label shows its analysis", "label it, reading the ID from the metal",
                           "label shows the analysis"),
    "label.other_cylinder": Entry(STOP, "its label was put on {read}, not on {serial}",
                                  "take the label off and label the right cylinder", "label shows the analysis"),
    "mark.deeper_than_mod": Entry(STOP, "permanent mark {mark} is deeper than its MOD {mod}",
                                  "cover the mark; the MOD is {mod}", "marks agree"),
    "mark.unreadable": Entry(STOP, 'permanent mark "{mark}" has no number with a unit: it may be read deeper than its '
                             "MOD {mod}", 'cover the mark, or write it with its unit, e.g. "21 m"', "marks agree"),
    "mark.not_analysis": Entry(NOTE, "permanent mark {mark} is not deeper than its MOD {mod}; a mark is not an "
                               "analysis", "read the label, not the mark", "marks agree"),
    # depth and oxygen
    "mod.planned_use": Entry(STOP, "reads {reading}: MOD {mod}, planned at {use}",
                             "re-plan the switch at {mod} or shallower, or refill", "MOD covers use"),
    "mod.staging": Entry(STOP, "staged at {use}, deeper than its MOD {mod}", "stage it at {mod} or shallower",
                         "MOD covers use"),
    "mod.place_ppo2": Entry(STOP, "ppO2 {ppo2} at {use} here, limit {limit}", "plan its use shallower",
                            "ppo2_place_room_ata"),
    "ppo2.low": Entry(STOP, "reading less its uncertainty gives ppO2 {ppo2} at {use}: too little oxygen",
                      "breathe another gas there (travel gas), or a richer mix", "ppo2_low_stop_ata"),
    "ppo2.low_note": Entry(NOTE, "ppO2 only {ppo2} at {use}", "breathe it deeper only, or rest there",
                           "ppo2_low_note_ata"),
    "oxygen.above_table": Entry(STOP, "ppO2 {ppo2} at {use}: beyond the oxygen table", "plan it shallower",
                                "oxygen table"),
    "oxygen.at_edge": Entry(NOTE, "ppO2 {ppo2} at {use}: counted at the rate of 1.6 ata", "keep the depth",
                            "oxygen table"),
    "oxygen.cns_note": Entry(NOTE, "CNS {cns}", "watch for signs of oxygen; plan breaks", "cns_note_percent"),
    "oxygen.cns_ask": Entry(ASK, "CNS {cns}: above the limit", "shorten the dive, plan breaks, or the diver answers",
                            "cns_ask_percent"),
    "oxygen.day_note": Entry(NOTE, "CNS {cns} of the limit within 24 h, earlier dives included",
                             "leave out a dive, or leaner gas", "cns_note_percent"),
    "oxygen.day_ask": Entry(ASK, "CNS {cns} of the limit within 24 h, earlier dives included: above it",
                            "leave out a dive, leaner gas, or the diver answers", "cns_ask_percent"),
    "oxygen.repex": Entry(NOTE, "{otu} OTU in {days}, REPEX allows {limit}", "a day without oxygen, or leaner gas",
                          "whole-body oxygen"),
    "oxygen.no_break": Entry(NOTE, "oxygen for {period} without a break", "plan breaks", "oxygen_period_min"),
    "narcosis.end": Entry(ASK, "END {end} at {use}, limit {limit}", "more helium, shallower, or the diver answers",
                          "end_limit_m"),
    "density.note": Entry(NOTE, "gas density {density} at {use}", "more helium, or shallower", "density_note_g_l"),
    "density.ask": Entry(ASK, "gas density {density} at {use}", "more helium, shallower, or the diver answers",
                         "density_ask_g_l"),
    # the schedule
    "schedule.ceiling": Entry(STOP, "level {use} is shallower than the ceiling {ceiling}",
                              "stay deeper, or end the dive at the stop", "verified schedule"),
    "schedule.level_too_short": Entry(STOP, "{minutes} do not suffice to reach {use}", "give the level more minutes",
                                      "verified schedule"),
    "schedule.no_overlap": Entry(STOP, "no depth at which travel and bottom gas can both be breathed",
                                 "a travel gas with a deeper MOD, or a richer bottom gas", "MOD covers use"),
    "schedule.no_gas": Entry(STOP, "no gas planned for {use}", "give the diver a main cylinder", "supply"),
    "schedule.too_long": Entry(STOP, "no way up within {limit}", "shorten the dive, or carry deco gas",
                               "verified schedule"),
    "schedule.unverified": Entry(STOP, "no schedule of it passes the replay: {why}",
                                 "do not dive it; less helium after long nitrogen, or other levels; if neither "
                                 "explains it, report the defect", "verified schedule"),
    "plan.tts_moved": Entry(ASK, "TTS {tts} on the readings, {wished} on the gas wished for",
                            "the team takes the new plan and answers, or refill", "replan_tts_min"),
    "plan.on_targets": Entry(NOTE, "PLAN ONLY: {cylinders} planned on the target, not on an analysis",
                             "analyse every cylinder and plan again", "known gas"),
    "plan.outdated": Entry(STOP, "planned on {planned}, its analysis reads {reading}", "plan again on the reading",
                           "known gas"),
    "team.alone": Entry(NOTE, "one diver: nobody shares gas or confirms a switch", "dive with a team",
                        "minimum_gas_divers"),
    "team.pulled_shallower": Entry(ASK, "switch at {depth} instead of {would_be} for all: {minutes} longer",
                                   "refill the cylinder, or the team answers", "one team gas"),
    "team.two_alike": Entry(ASK, "carries two alike: {cylinders}", "leave one, or the diver answers", "plain numbers"),
    "team.confusable": Entry(NOTE, "label numbers that can be read as each other: {pairs}", "name them in the brief",
                             "plain numbers"),
    "team.confusable_own": Entry(ASK, "carries label numbers that can be read as each other: {pairs}",
                                 "at each switch read number and unit aloud, bar below the number; the diver answers",
                                 "plain numbers"),
    # a reading against the sheet as it stands
    "window.mod": Entry(ASK, "reads {reading}: MOD {mod}, planned at {use}", "plan the switch at {mod} or shallower",
                        "MOD covers use"),
    "window.tts": Entry(ASK, "TTS {after} instead of {before}: moves by more than {limit}",
                        "plan again on the reading, new slates", "sheet_tts_min"),
    "window.stop": Entry(ASK, "a stop moves by more than {limit}", "plan again on the reading, new slates",
                         "sheet_stop_min"),
    "window.supply": Entry(ASK, "with the sheet as it stands {why}", "plan again on the reading, new slates", "supply"),
    "window.pressure": Entry(ASK, "a planned pressure moves by more than {limit}",
                             "plan again on the reading, new slates", "sheet_bar"),
    "plan.entered_differs": Entry(ASK, "computers set to whole percents ({entered}) come to a TTS of {by_entered}, the "
                                  "readings to {by_reading}: more than {limit} apart",
                                  "the slate carries the longer; follow the slate, and the team answers",
                                  "sheet_tts_min"),
    # gas supply
    "supply.pressure_unknown": Entry(STOP, "no pressure was read", "read the pressure", "supply"),
    "supply.minimum_gas": Entry(STOP, "minimum gas {minimum}, has {start}: short by {short}", "{mend}",
                                "minimum_gas_divers"),
    "supply.minimum_passed": Entry(STOP, "falls to {left}, below minimum gas {minimum}", "{mend}",
                                   "minimum_gas_divers"),
    "supply.runs_out": Entry(STOP, "runs out at minute {at}, short by {short}", "carry more, or plan less", "supply"),
    "supply.deco_reserve": Entry(NOTE, "{used} planned of {available}: below {factor} times the planned use",
                                 "fill it up, or shorten the dive", "deco_reserve_factor"),
    "supply.stage_reserve": Entry(NOTE, "bottom stage falls to {left}, rule: {rule} ({least})",
                                  "leave it sooner, or carry a larger one", "stage_reserve_bar"),
    "supply.not_breathed": Entry(NOTE, "carried, but the plan never breathes it: {why}", "leave it, or plan it",
                                 "supply"),
    "case.cannot_finish": Entry(STOP, "{case}: no way up for the team: {why}", "carry more gas, or plan less",
                                "team finishes"),
    "case.diver_alone": Entry(NOTE, "{case}: {diver} cannot finish alone: {giver} gives {gas} from minute {at}",
                              "name it in the brief", "team finishes"),
    "case.two_failures": Entry(NOTE, "{case} (two failures at once): no way up: {why}",
                               "know it; carry more to cover it", "team finishes"),
    # pairs and cylinders
    "pair.differs_note": Entry(NOTE, "pair {pair} differs by {difference}", "plan on the richer for MOD, the leaner "
                               "for decompression", "pair_o2_note_percent"),
    "pair.differs": Entry(ASK, "pair {pair} differs by {difference}",
                          "analyse both again, refill, or the diver answers", "pair_o2_ask_percent"),
    "pair.isolator": Entry(ASK, "isolator {state} at the analysis",
                           "open it, let it mix, analyse again; or analyse both posts", "isolator"),
    "pair.isolator_unknown": Entry(NOTE, "nobody said whether the isolator was open at the analysis",
                                   "look at it and record it; shut: open it, let it mix, analyse again", "isolator"),
    "cylinder.not_registered": Entry(STOP, "not in the register: size, tests and oxygen service unknown",
                                     "register it", "cylinder test"),
    "cylinder.retired": Entry(STOP, "taken out of use", "use another cylinder", "cylinder test"),
    "cylinder.not_oxygen_clean": Entry(STOP, "not oxygen clean, holds {gas}", "drain it; use an oxygen-clean cylinder",
                                       "oxygen_service_percent"),
    "cylinder.same_id": Entry(STOP, "its ID {id} is also that of {other}: a label would fit both",
                              "paint another ID on one of them and use it as its serial", "label shows the analysis"),
    "cylinder.out_of_test": Entry(STOP, "{test} test ran out {until}", "have it tested; use another cylinder",
                                  "cylinder test"),
    "cylinder.test_soon": Entry(NOTE, "{test} test runs out {until}", "have it tested", "test_warning_days"),
    "cylinder.test_unknown": Entry(NOTE, "no {test} test date given", "read it from the shoulder", "cylinder test"),
    "cylinder.over_pressure": Entry(NOTE, "settled {settled} at {reference}, working pressure {working}",
                                    "let it down to the working pressure", "settled_reference_c"),
    "cylinder.staged_overnight": Entry(ASK, "staged since {at}, overnight", "lift and analyse it, or the team answers",
                                       "staged_valid_days"),
    "book.no_plan": Entry(NOTE, "nobody goes: {why}", "merge a trip file with the plan of the day into the book",
                          "verified schedule"),
    # people, policy, surface
    "qualification.depth": Entry(STOP, "planned {use}, qualified to {limit}", "plan shallower", "qualification"),
    "qualification.o2": Entry(STOP, "breathes {gas}, qualified to {limit}", "use a leaner gas", "qualification"),
    "qualification.helium": Entry(STOP, "breathes {gas}, not qualified for helium", "use a gas without helium",
                                  "qualification"),
    "dive.other_day": Entry(STOP, "the dive is on {day}, now it is {today}", "check on the day of the dive",
                            "dive_day_end_h"),
    "policy.loosened": Entry(ASK, "policy loosened: {setting} is {value}, looser than shipped",
                             "go back to the shipped value, or the leader answers", "{setting}"),
    "surface.oxygen_short": Entry(ASK, "surface oxygen {have}, the ride needs {need}", "carry more oxygen, or the "
                                  "leader answers", "surface_oxygen_l_min"),
    "surface.oxygen_unknown": Entry(NOTE, "surface oxygen is not stated", "state litres, ride and persons",
                                    "surface_oxygen_l_min"),
}


def finding(policy: Policy, code: str, subject: Subject, **values: str) -> Finding:
    """The finding of a code with its sentences filled in.

    Args:
        policy: whose rule and source are named.
        code: key of the catalogue.
        subject: whom or what it is about.
        **values: the named values of the sentences, already with units.
    """
    entry = CATALOGUE[code]
    name = entry.rule.format(**values)
    rule = Rule(name, RULES[name]) if name in RULES else policy.rule(name)
    return Finding(code, entry.severity, subject, entry.text.format(**values), entry.mend.format(**values), rule)
