"""From the TOML files to one Python module: read, checked, written out. Used only when the tool is built."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from typing import Any

KNOWN = ("primary", "secondary", "computed", "memory", "common practice")
FILES = ("conductors", "ampacity", "limits", "fuses", "batteries", "defaults")

# table -> column -> (least, most) for numbers, or a type. Columns that are not listed are mistakes.
Column = tuple[float, float] | type
SCHEMA: dict[str, dict[str, Column]] = {
    "conductor": {"family": str, "size": str, "area_mm2": (0.05, 500), "ohm_per_km": (0.01, 500)},
    "constant": {"value": (0, 1000), "unit": str},
    "ampacity_table": {"reference_c": (0, 60), "insulation_c": list},
    "ampacity": {"table": str, "size": str, "area_mm2": (0.05, 500), "amps": list},
    "engine_factor": {"table": str, "insulation_c": (50, 250), "ambient_c": (30, 100), "factor": (0.1, 1)},
    "bundle_factor": {"table": str, "count": (2, 1000), "factor": (0.1, 1)},
    "limits": {
        "title": str,
        "table": str,
        "tail_m": (0, 5),
        "tail_sheathed_m": (0, 5),
        "tail_battery_sheathed_m": (0, 5),
        "drop_main": (0, 1),
        "drop_other": (0, 1),
        "minimum_mm2": (0, 10),
        "minimum_sheathed_mm2": (0, 10),
        "minimum_over_m": (0, 5),
        "minimum_source": str,
        "drop_source": str,
        "rating_source": str,
    },
    "fuse_family": {
        "title": str,
        "volts": (0, 1000),
        "breaks_a": (0, 1e6),
        "millivolts_cold": (1, 500),
        "ratings": list,
        "gates": str,
    },
    "gate": {"gates": str, "percent": (100, 10000), "least_s": (0, 1e6), "most_s": (0, 1e6)},
    "fuse_resistance": {"family": str, "rating_a": (0.1, 1000), "milliohm": (0.01, 1000)},
    "melting_i2t": {"family": str, "rating_a": (0.1, 1000), "a2s": (1, 1e7)},
    "fuse_derating": {"ambient_c": (-40, 200), "factor": (0, 1)},
    "breaking_capacity": {"cranking_a": (0, 1e9), "main_a": (0, 1e5), "branch_a": (0, 1e5)},
    "chemistry": {
        "title": str,
        "ocv": str,
        "absorption_v": (10, 16),
        "float_v": (10, 16),
        "compensation_v_per_k": (-0.1, 0),
        "ohm_ah": (0.01, 10),
        "charge_per_ah": (0.01, 5),
        "coldest_charge_c": (-50, 50),
        "gassing": (0, 1),
        "ocv_source": str,
        "resistance_source": str,
    },
    "open_circuit": {"chemistry": str, "state": (0, 1), "volts": (5, 20)},
    "default": {"value": (-50, 1000), "unit": str},
    "insulation": {"final_c": (100, 500)},
}
# table -> (columns that group rows, column that rises, columns that rise with it, columns that fall with it)
RISING: dict[str, tuple[tuple[str, ...], str, tuple[str, ...], tuple[str, ...]]] = {
    "conductor": (("family",), "area_mm2", (), ("ohm_per_km",)),
    "ampacity": (("table",), "area_mm2", ("amps",), ()),
    "engine_factor": (("table",), "insulation_c", ("factor",), ()),
    "bundle_factor": (("table",), "count", (), ("factor",)),
    "gate": (("gates",), "percent", (), ("least_s", "most_s")),
    "fuse_resistance": (("family",), "rating_a", (), ("milliohm",)),
    "melting_i2t": (("family",), "rating_a", ("a2s",), ()),
    "fuse_derating": ((), "ambient_c", (), ("factor",)),
    "open_circuit": (("chemistry",), "state", ("volts",), ()),
}

Row = dict[str, Any]


def read_files() -> tuple[dict[str, Row], dict[str, list[Row]]]:
    """Sources by name and rows by table, as the TOML files hold them. Raises ValueError where a file is unsound."""
    sources: dict[str, Row] = {}
    tables: dict[str, list[Row]] = {}
    for name in FILES:
        text = files("wiregen.catalogue").joinpath(f"{name}.toml").read_text(encoding="utf-8")
        for key, value in tomllib.loads(text).items():
            if key == "source":
                twice = sorted(sources.keys() & value.keys())
                if twice:
                    raise ValueError(f"{name}.toml: source {twice[0]} stands in two files")
                sources.update(value)
            else:
                tables.setdefault(key, []).extend(value)
    problems = unsound(sources, tables)
    if problems:
        raise ValueError("; ".join(problems))
    return sources, tables


def unsound(sources: dict[str, Row], tables: dict[str, list[Row]]) -> list[str]:
    """What is unsound in the tables: missing sources, ids twice, columns out of range or not in order."""
    found = [
        f"source {name}: needs text and known, one of {', '.join(KNOWN)}"
        for name, row in sources.items()
        if not row.get("text") or row.get("known") not in KNOWN
    ]
    for table, rows in tables.items():
        columns = SCHEMA.get(table)
        if columns is None:
            found.append(f"table {table} is not known to the loader")
            continue
        ids = [row.get("id") for row in rows]
        found += [f"{table}: id {i!r} stands twice" for i in sorted({str(i) for i in ids if ids.count(i) > 1})]
        for row in rows:
            found += _row_faults(f"{table} {row.get('id')!r}", row, columns, sources)
        found += _order_faults(table, rows)
    return found


def _row_faults(name: str, row: Row, columns: dict[str, Column], sources: dict[str, Row]) -> list[str]:
    found = [f"{name}: {key} is missing" for key in ("id", "source", *columns) if key not in row]
    for key, value in row.items():
        if key in ("id", "note"):
            continue
        if key == "source" or key.endswith("_source"):
            if value not in sources:
                found.append(f"{name}: no source {value!r}")
            continue
        column = columns.get(key)
        if column is None:
            found.append(f"{name}: column {key} is not known")
        elif isinstance(column, tuple):
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if not number or not column[0] <= value <= column[1]:
                found.append(f"{name}: {key} = {value!r} is not between {column[0]} and {column[1]}")
        elif not isinstance(value, column):
            found.append(f"{name}: {key} = {value!r} is of the wrong kind")
    return found


def _order_faults(table: str, rows: list[Row]) -> list[str]:
    if table not in RISING:
        return []
    groups, key, rising, falling = RISING[table]
    found = []
    last: dict[tuple[Any, ...], Row] = {}
    for row in rows:
        group = tuple(row.get(g) for g in groups)
        before = last.get(group)
        last[group] = row
        if before is None:
            continue
        if not before[key] < row[key]:
            found.append(f"{table} {row['id']!r}: {key} does not rise")
        found += [f"{table} {row['id']!r}: {column} falls" for column in rising if before[column] > row[column]]
        found += [f"{table} {row['id']!r}: {column} rises" for column in falling if before[column] < row[column]]
    for row in rows:
        for value in row.values():
            if isinstance(value, list) and value != sorted(value):
                found.append(f"{table} {row['id']!r}: a list is not in order")
    return found


def built_text() -> str:
    """The text of wiregen/built/catalogue.py: the same rows as plain Python literals, in the order of the files."""
    sources, tables = read_files()
    lines = ['"""Made from wiregen/catalogue/*.toml by `python -m wiregen.build`. Do not edit."""', "", "SOURCES = {"]
    lines += [f"    {name!r}: {row!r}," for name, row in sources.items()]
    lines += ["}", "", "TABLES = {"]
    for table, rows in tables.items():
        lines.append(f"    {table!r}: (")
        lines += [f"        {row!r}," for row in rows]
        lines.append("    ),")
    lines.append("}")
    return "\n".join(lines) + "\n"
