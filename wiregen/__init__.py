"""wiregen: checks, computes and draws low-voltage DC vehicle wiring from a plain-text netlist."""

__version__ = "0.1.0"
