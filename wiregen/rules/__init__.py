"""One module for each rule: what is wrong in a computed job, why, and what would put it right."""

from wiregen.rules.engine import check, judge
from wiregen.rules.explain import explain, listing, pages, reference
from wiregen.rules.register import close_names

__all__ = ["check", "close_names", "explain", "judge", "listing", "pages", "reference"]
