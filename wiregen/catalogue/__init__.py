"""Published and common-practice data, every row with its source and how it is known."""

from functools import cache

from wiregen.catalogue.tables import Catalogue

__all__ = ["Catalogue", "catalogue"]


@cache
def catalogue() -> Catalogue:
    """The catalogue that ships with the tool, from its built module (made from the TOML files beside this)."""
    from wiregen.built.catalogue import SOURCES, TABLES

    return Catalogue(SOURCES, TABLES)
