"""One class a symbol, drawn by schemdraw; `SYMBOLS` says which shape is drawn by which."""

from __future__ import annotations

from wiregen.drawing.symbols import along, boxes, contacts, ends, upright
from wiregen.drawing.symbols.base import Symbol, Symbols

SYMBOLS: Symbols = {
    "fuse": along.Fuse,
    "breaker": along.Breaker,
    "switch": along.Switch,
    "isolator": along.Isolator,
    "shunt": along.Shunt,
    "diode": along.Diode,
    "led": along.Led,
    "load": along.Load,
    "lamp": along.Lamp,
    "motor": along.Motor,
    "sensor": along.Sensor,
    "voltage-relay": along.VoltageRelay,
    "low-voltage-disconnect": along.Disconnect,
    "battery": upright.Battery,
    "alternator": upright.Alternator,
    "starter": upright.Starter,
    "panel": upright.Panel,
    "load-upright": upright.StandingLoad,
    "lamp-upright": upright.StandingLamp,
    "motor-upright": upright.StandingMotor,
    "sensor-upright": upright.StandingSensor,
    "box": boxes.Box,
    "relay": boxes.Relay,
    "fuse-block": boxes.FuseBlock,
    "busbar": boxes.Busbar,
    "splice": boxes.Splice,
    "connector": contacts.Connector,
    "plug": contacts.Plug,
    "socket": contacts.Socket,
    "feed": ends.Feed,
    "earth": ends.Earth,
    "frame": ends.Frame,
    "loose": ends.Loose,
    "capped": ends.Capped,
}

# boxes that show what their part does
CONVERTERS: Symbols = {
    "charger": boxes.Converter,
    "solar-controller": boxes.Converter,
    "mains-charger": boxes.MainsCharger,
    "inverter": boxes.Inverter,
}


def symbol_of(symbol: str, kind: str) -> type[Symbol]:
    """The class that draws a shape: by its symbol, a box by the kind of its part. Unknown symbols are boxes."""
    if symbol == "box":
        return CONVERTERS.get(kind, boxes.Box)
    return SYMBOLS.get(symbol, boxes.Box)
