"""The names of all rules. A new rule is a module of its own and its name in this list; nothing else."""

from __future__ import annotations

JUDGING = (
    "unfused-positive",
    "reversed-polarity",
    "undersized-conductor",
    "voltage-drop",
    "unterminated-sense-lead",
    "short-circuit",
    "oversized-fuse",
    "no-operating-point",
    "loose-end",
    "unmated-connector",
    "missing-return",
    "missing-feed",
    "misplaced-sense-lead",
    "missing-trigger",
    "undersized-return",
    "undersized-fuse",
    "fuse-voltage",
    "insulation-too-cool",
    "connector-overcurrent",
    "connector-voltage",
    "regulated-solar-input",
    "solar-overvoltage",
    "unregulated-panel",
    "mixed-voltage",
    "centre-tap",
    "isolated-body-return",
    "breaking-capacity",
    "slow-clearing",
    "profile-mismatch",
    "overcharge-current",
    "mixed-batteries",
    "unswitched-trigger",
    "holder-rating",
    "solar-overcurrent",
    "unfused-parallel-strings",
    "cold-lithium-charge",
    "unfused-trigger",
    "start-battery-drain",
    "wrong-sensing-side",
    "alternator-overload",
    "charger-without-battery",
    "charger-behind-load",
    "charger-far-from-battery",
    "unvented-battery",
    "battery-overcurrent",
    "load-dump",
    "missing-main-isolation",
    "switched-always-live",
    "laxer-own-figure",
    "live-end-at-stage",
    "colour-convention",
    "unequal-parallel-conductors",
    "ambiguous-size",
    "terminal-fit",
    "minimum-size",
    "unnamed-conductor",
    "exposed-live-pin",
    "wet-place",
    "indicator-overload",
    "indicator-without-return",
    "missing-indicator",
    "body-not-bonded",
    "shunt-bypass",
    "double-bond",
    "switch-rating",
    "bypassed-switch",
    "missing-pre-charge",
)
"""Rules that look at the study, in the order in which they run. `unfused-positive` is in unfused_positive.py."""

RECORD = ("missing-data", "rule-failure", "stale-acceptance", "kit-changed")
"""What is said about the record, by the engine after the rules or by the reader. Explained as rules are."""

NAMES = JUDGING + RECORD


def module_name(rule: str) -> str:
    """The Python module of a rule: `unfused-positive` is in `wiregen.rules.unfused_positive`."""
    return "wiregen.rules." + rule.replace("-", "_")


def close_names(name: str) -> tuple[str, ...]:
    """Up to three rules that are meant by a name that is not known: those that begin with it, else those about as close
    to it as the closest, the closest first."""
    from difflib import SequenceMatcher, get_close_matches

    said = name.strip().lower().replace("_", "-").replace(" ", "-")
    begun = tuple(name for name in NAMES if name.startswith(said)) if len(said) > 3 else ()
    if 0 < len(begun) <= 3:
        return begun
    close = get_close_matches(said, NAMES, n=3, cutoff=0.7)
    ratios = {each: SequenceMatcher(None, each, said).ratio() for each in close}
    return tuple(each for each in close if ratios[each] >= ratios[close[0]] - 0.1)
