"""One module for each rule: what is wrong in a computed job, why, and what would put it right."""

from wiregen.rules.engine import check, judge
from wiregen.rules.explain import explain, reference
from wiregen.rules.names import NAMES, close_names

__all__ = ["NAMES", "check", "close_names", "explain", "judge", "reference"]
