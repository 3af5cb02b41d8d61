"""The tree of a sound text: every shape of the language, every token in its place."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from hypothesis import given
from strategies import netlist_texts

from wiregen.findings import Source
from wiregen.language import parse
from wiregen.language.tree import Block, Core, File, Join, Line, Phrase, Value


def tree_of(text: str) -> File:
    """The tree of a text without mistakes."""
    tree, findings = parse(Source("t.wnet", text))
    assert not findings, findings
    assert tree.complete
    return tree


def words(phrase: Phrase) -> list[tuple[str, str]]:
    """Kind and text of each value."""
    return [(value.kind, value.text) for value in phrase.values]


def test_a_line_of_facts() -> None:
    (line,) = tree_of('battery tools "House" 80Ah agm, at deck, max-charge 20 A').lines
    assert line.path is None and line.label is None
    assert [words(phrase) for phrase in line.phrases] == [
        [("name", "battery"), ("name", "tools"), ("title", "House"), ("quantity", "80 Ah"), ("name", "agm")],
        [("name", "at"), ("name", "deck")],
        [("name", "max-charge"), ("quantity", "20 A")],
    ]


def test_a_path_goes_on_over_lines_and_comments() -> None:
    text = "tools.+ --[R1 red 10 mm2, via bonnet 1.2 m, deck 2.4 m]-- F5  # why\n  # and why\n    -- bus, note\nx"
    first, second = tree_of(text).lines
    assert first.path is not None
    assert [[v.text for v in s.values] for s in first.path.stations] == [["tools.+"], ["F5"], ["bus"]]
    core, join = first.path.links
    assert isinstance(core, Core) and isinstance(join, Join)
    assert [[v.text for v in p.values] for p in core.phrases] == [
        ["R1", "red", "10 mm2"],
        ["via", "bonnet", "1.2 m"],
        ["deck", "2.4 m"],
    ]
    assert [words(p) for p in first.phrases] == [[("name", "note")]]
    assert second.span.text == "x"


def test_braces_labels_and_way_rows() -> None:
    text = 'fuse-block FB1 60 A, blade {\n  1: 10 A --[P1 N1 4 m]-- lamp D1 20 W "Work"\n  7..10: empty\n}, at x'
    (line,) = tree_of(text).lines
    assert [phrase.block is not None for phrase in line.phrases] == [False, True, False]
    block = line.phrases[1].block
    assert block is not None and block.span.text.startswith("{") and block.span.text.endswith("}")
    way, rest = block.lines
    assert way.label is not None and way.label.text == "1" and way.label.kind == "number"
    assert way.path is not None and [v.text for v in way.path.stations[1].values] == ["lamp", "D1", "20 W", "Work"]
    assert rest.label is not None and (rest.label.kind, rest.label.text) == ("range", "7..10")
    (row,) = tree_of("ampacity { 6 mm2: 50 A, 10 mm2: 70 A }").lines
    assert row.phrases[0].block is not None
    (inside,) = row.phrases[0].block.lines
    assert inside.label is not None and inside.label.text == "6 mm2"
    assert inside.phrases[1].label is not None and inside.phrases[1].label.text == "10 mm2"


def test_a_sign_belongs_to_a_name_only_after_a_dot() -> None:
    (line,) = tree_of("start.---[W4]--dcdc.in.-").lines
    assert line.path is not None
    assert [[v.text for v in s.values] for s in line.path.stations] == [["start.-"], ["dcdc.in.-"]]
    (line,) = tree_of("connector X1, poles + -, shrouded").lines
    assert words(line.phrases[1]) == [("name", "poles"), ("sign", "+"), ("sign", "-")]


def test_names_and_words_of_every_kind() -> None:
    text = "87a 2026-03-14 L1..L8 K1.87a T1.F.out é-é <size> green/white 12V-bus 10mm2x"
    (line,) = tree_of(text).lines
    assert [v.kind for v in line.phrases[0].values] == [
        *("name", "name", "range", "name", "name", "name", "blank", "colours", "name", "name")
    ]
    assert [v.text for v in line.phrases[0].values] == text.replace("<size>", "size").split()


def test_commas_between_figures_and_facts() -> None:
    for text in ("8mm2,5 m", "8 mm^2,5m", "40 A,5 m", "F1,5 m", "x, 5 m", "x ,5 m"):
        (line,) = tree_of(text).lines
        assert [v.text for v in line.phrases[1].values] == ["5 m"]


def test_several_threads_read_their_own_texts() -> None:
    texts = [f"fuse F{number} {number} A\n" * 200 + ("b = 5" if number % 2 else "") for number in range(8)]
    with ThreadPoolExecutor(4) as threads:
        trees = list(threads.map(lambda text: parse(Source("t.wnet", text))[0], texts))
    for text, tree in zip(texts, trees, strict=True):
        assert tree.span.source.text == text
        assert tree.lines[0].span.text == text.split("\n")[0]


@given(netlist_texts())
def test_every_span_shows_what_the_value_says(text: str) -> None:
    """The excerpt under a value is the value itself, and spans lie within each other in order."""

    def check(node: Value | Phrase | Line | Block, start: int, end: int) -> None:
        assert start <= node.span.start <= node.span.end <= end
        if isinstance(node, Value):
            if node.kind in ("name", "sign", "colours"):
                assert node.span.text == node.text
            return
        parts: list[Value | Phrase | Line | Block] = []
        if isinstance(node, Block):
            parts += node.lines
        elif isinstance(node, Phrase):
            parts += [p for p in (node.label, *node.values, node.block) if p]
        else:
            parts += [node.label] if node.label else []
            for station in node.path.stations if node.path else ():
                parts += station.values
            parts += node.phrases
        at = node.span.start
        for part in parts:
            check(part, at, node.span.end)
            at = part.span.end

    tree = tree_of(text)
    at = 0
    for line in tree.lines:
        check(line, at, len(text))
        at = line.span.end
