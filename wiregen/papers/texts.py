"""The words of the papers, by key, from a catalogue of texts: one file for each language."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

LANGUAGES = ("en",)


class Texts(NamedTuple):
    """The texts of one language."""

    language: str
    words: Mapping[str, Mapping[str, object]]

    def say(self, key: str, /, **values: object) -> str:
        """The text behind `paper.key`, with `{names}` filled in.

        KeyError where the catalogue has no such text, which a test of every language rules out.
        """
        paper, _, name = key.partition(".")
        found = self.words[paper][name]
        assert isinstance(found, str), key
        return found.format(**values) if values else found

    def all(self, key: str, /) -> tuple[str, ...]:
        """The list of texts behind `paper.key`."""
        paper, _, name = key.partition(".")
        found = self.words[paper][name]
        assert isinstance(found, list), key
        return tuple(str(item) for item in found)


def texts(language: str = "en") -> Texts:
    """The texts of a language. ValueError where there is none."""
    import tomllib
    from importlib.resources import files

    if language not in LANGUAGES:
        raise ValueError(f"no texts in {language}; there are {', '.join(LANGUAGES)}")
    source = files("wiregen.papers").joinpath(f"texts_{language}.toml").read_text(encoding="utf-8")
    return Texts(language, tomllib.loads(source))
