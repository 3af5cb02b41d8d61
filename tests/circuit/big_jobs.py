"""Large jobs that a fitter might wire: many fuse blocks on one bank, for timings and growth."""

from __future__ import annotations

from random import Random


def big_netlist(loads: int, seed: int = 1) -> str:
    """A bank with `loads` loads (about 5 branches each) behind fuse blocks of twelve ways, returns to busbars."""
    random = Random(seed)
    blocks = max(loads // 12, 1)
    per_bar = 20
    bars = max(blocks // per_bar, 1)
    lines = [
        'job "Large" { system 12 V, limits iso13297 }',
        f"battery bank {max(100, 10 * loads)} Ah agm, resistance {5.0 / max(loads / 10, 1):.6f} mohm",
        "busbar PB 5000 A",
        "busbar NB 5000 A",
        f"bank.+ --[WP red 120 mm2 {20.0 / max(loads, 20):.5f} m]-- PB",
        f"bank.- --[WN black 120 mm2 {20.0 / max(loads, 20):.5f} m]-- NB",
    ]
    for b in range(bars):
        lines += [
            f"busbar P{b} 1000 A",
            f"busbar N{b} 1000 A",
            f"PB --[PW{b} red 120 mm2 0.3 m]-- P{b}",
            f"NB --[NW{b} black 120 mm2 0.3 m]-- N{b}",
        ]
    made = 0
    for k in range(blocks):
        bar = min(k // per_bar, bars - 1)
        rows = []
        for way in range(1, 13):
            if made == loads:
                break
            made += 1
            size = random.choice(("1.5", "2.5", "4"))
            amps = random.choice((0.2, 0.5, 1.0))
            length = random.uniform(0.5, 5)
            pair = f"R{made} B{made} {size} mm2 {length:.2f} m"
            rows.append(f"    {way}: 10 A --[{pair}]-- load L{made} {amps} A, back C{k}")
        lines += [
            f"busbar C{k} 100 A",
            f"fuse F{k} 60 A strip",
            f"P{bar} --[FA{k} red 16 mm2 0.3 m]-- F{k} --[FB{k} red 16 mm2 1 m]-- FB{k}x.in",
            f"N{bar} --[FC{k} black 16 mm2 1.3 m]-- C{k}",
            f"fuse-block FB{k}x 60 A, blade, wire red black {{",
            *rows,
            "}",
        ]
    return "\n".join(lines) + "\n"
