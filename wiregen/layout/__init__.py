"""Places, runs and labels in millimetres: pure geometry."""

from wiregen.layout.layout import Options, lay_out

__all__ = ["Options", "lay_out"]
