"""Job -> Study: the whole job solved in each operating case, with what was assumed."""

from wiregen.circuit.run import study

__all__ = ["study"]
