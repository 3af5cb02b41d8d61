"""Teaching: stages, cases and planted faults: layers over a job, and the figures drawn from them."""

from wiregen.teaching.base import Unfit
from wiregen.teaching.draft import Draft, Figure
from wiregen.teaching.figure_set import FigureSet, figure_set
from wiregen.teaching.items import Crowded
from wiregen.teaching.stepper import index, stepper

__all__ = ["Crowded", "Draft", "Figure", "FigureSet", "Unfit", "figure_set", "index", "stepper"]
