"""Every mistake is found in one run, at its place, in trade words, with a remedy."""

from __future__ import annotations

import pytest

from wiregen.findings import Finding
from wiregen.model import draft, read

BASE = """job "t" { system 12 V, limits iso13297 }
place bay, ambient 40 degC
battery start 70 Ah flooded, at bay
battery aux 80 Ah agm
charger dcdc 18 A, profile agm
fuse F1 40 A strip
fuse F2 30 A
connector X1 50 A, poles + -
lamp L1 5 W
busbar NB1 100 A
body shell bonded
"""


def mistakes(text: str) -> list[Finding]:
    """The findings of a few lines after a sound beginning."""
    _, findings = read("t.wnet", text=BASE + text + "\n")
    return list(findings)


def place(finding: Finding) -> str:
    """`line:column`, the lines counted from the end of the sound beginning."""
    assert finding.at
    line, column = finding.at.span.source.position(finding.at.span.start)
    return f"{line - BASE.count(chr(10))}:{column}"


# text, then for each finding: place, what it marks, a piece of the message, a piece of the remedy
TABLE: list[tuple[str, list[tuple[str, str, str, str]]]] = [
    # names
    ("strat.+ -- F1", [("1:1", "strat.+", "no part is called strat", "write start.+, or declare strat")]),
    ("start.- -- body", [("1:12", "body", "no part is called body", "body is a kind of part: declare one, body NAME")]),
    ("start.- -- chassis", [("1:12", "chassis", "no part is called chassis", "declare it: body chassis")]),
    ("start.+ -- F77", [("1:12", "F77", "no part is called F77", "declare it, such as: fuse F77 40 A")]),
    ("start.+ -- zork.+", [("1:12", "zork.+", "no part is called zork", "its kind, then zork, then its values")]),
    ("F5 fuse 30 A", [("1:1", "F5", "no line begins with F5", "the kind comes first, then the name")]),
    ("lead-acid battery B3 70 Ah", [("1:1", "lead-acid", "no line begins with lead-acid", "battery B3")]),
    ("dcdc-charger D2 30 A", [("1:1", "dcdc-charger", "no line begins with dcdc-charger", "write charger")]),
    ("battery B3 70 A", [("1:12", "70 A", "70 A has no meaning of its own", "meant as a capacity such as `100 Ah`")]),
    ("place p, ambient 40 C", [("1:18", "40", "40 has no unit", "write 40 degC")]),
    ("place p, ambient 100 F", [("1:18", "100", "100 has no unit", "write 100 degF")]),
    ("connector X2 30 A, poles 2\nX2.1 -- X2.-", [("1:26", "2", "poles 2 is one pole, called 2", "poles + -")]),
    ("connector X2 30 A, poles 3\nX2.1 -- X2.3", [("1:26", "3", "poles 3 is one pole, called 3", "poles 1 2 3")]),
    ("start.plus -- F1", [("1:1", "start.plus", "start has no terminal plus", "start.+, start.-")]),
    ("start.+ -- F9\naux.+ -- F9", [("1:12", "F9", "no part is called F9", "F1 or F2")]),
    ("fuse F1 30 A", [("1:6", "F1", "F1 is declared twice", "another name")]),
    ("lamp f1 5 W", [("1:6", "f1", "f1 is declared twice", "another name")]),
    ("fuse loose 5 A", [("1:6", "loose", "has a meaning of its own", "another name")]),
    ("busbar 12V-bus 100 A", [("1:8", "12V-bus", "a name begins with a letter", "letter")]),
    ("fuse A.B 3 A", [("1:6", "A.B", "has no dot", "A-B")]),
    ("fuse F3 40 A, at bonnet", [("1:18", "bonnet", "no place is called bonnet", "place bonnet")]),
    ("fuse F3 40 A, at F1", [("1:18", "F1", "F1 is a part, not a place", "place")]),
    ("F1-F2 -- aux.+", [("1:1", "F1-F2", "no part is called F1-F2", "F1 -- F2")]),
    ("F1-F2", [("1:1", "F1-F2", "no part is called F1-F2", "F1 -- F2")]),
    ("fuse", [("1:1", "fuse", "fuse has no name", "fuse NAME")]),
    ("fuse 40 A", [("1:6", "40 A", "fuse has no name", "fuse NAME")]),
    # statements and kinds
    ("fues F3 40 A\nstart.+ -- F3", [("1:1", "fues", "no line begins with fues", "write fuse")]),
    ("40 A fuse F9", [("1:1", "40 A", "a line begins with a word", "begin with fuse")]),
    ("F1 40 A", [("1:1", "F1", "no line begins with F1", "change F1")]),
    ("job", [("1:1", "job", "second job line", "keep one")]),
    ("1: 5 A", [("1:1", "1", "way row", "fuse-block")]),
    ("circuit c {\n  job\n}", [("2:3", "job", "cannot stand inside a circuit", "move it")]),
    ('circuit c {\n  include "x.wnet"\n}', [("2:3", "include", "cannot stand inside a circuit", "move it")]),
    # facts and their values
    ("fuse F3 40 A strip at", [("1:20", "at", "at of F3 has no value", "a name")]),
    ("fuse F3 40 A, volts", [("1:15", "volts", "volts of F3 has no value", "12 V")]),
    ("fuse F3 40 A, volts 12", [("1:21", "12", "12 has no unit", "voltage")]),
    ("fuse F3 40 A, volts 58 A", [("1:21", "58 A", "volts takes a voltage", "volts")]),
    ("fuse F3 40 V", [("1:9", "40 V", "40 V has no meaning of its own", "volts 40 V")]),
    ("fuse F3 40 amps", [("1:9", "40", "40 has no unit (amps is no unit)", "write 40 A")]),
    ("fuse F3 40 A 50 A", [("1:14", "50 A", "says rating twice", "keep one")]),
    ("fuse F3 40 A, at bay, at bay", [("1:23", "at bay", "says at twice", "keep one")]),
    ('fuse F3 40 A "one" "two"', [("1:20", '"two"', "a second text", "note")]),
    ("fuse F3 40 A, volt 32 V", [("1:15", "volt", "volt is no word for F3", "write volts")]),
    ("fuse F3 40 A, colour red", [("1:15", "colour", "colour is no word for F3", "a fuse may say: rating")]),
    ("fuse F3 <rating>", [("1:9", "<rating>", "is a blank", "write the value")]),
    ("fuse F3 0 A", [("1:9", "0 A", "impossible as the rating", "check")]),
    ("charger d2 10 A, efficiency 0.9", [("1:29", "0.9", "0.9 has no unit", "90 %")]),
    ("charger d2 10 A, efficiency 120 %", [("1:29", "120 %", "impossible as the efficiency", "check")]),
    ("charger d2 5 A, negative commn", [("1:26", "commn", "negative takes common", "write common")]),
    ("battery b 70 Ah floded", [("1:17", "floded", "floded is no word for b", "write flooded")]),
    ("battery b 70 Ah, charge 120 %", [("1:25", "120 %", "impossible as the charge", "check")]),
    ("busbar N2 10 A, studs 2.5", [("1:23", "2.5", "whole number", "studs 8")]),
    ("place tray { ambient 45 deg C }", [("1:22", "45", "45 has no unit (deg is no unit)", "write 45 degC")]),
    ("connector X3 50 A", [("1:11", "X3", "does not say its poles", "poles + -")]),
    ("connector X3 50 A, poles + +", [("1:28", "+", "the pole + twice", "own name")]),
    ("connector X3 5 A, poles + -, shrouded c", [("1:39", "c", "shrouded takes a, b or both", "a, b or both")]),
    ("earth E1", [("1:7", "E1", "does not say on which body", "body")]),
    ("earth E1 on F1", [("1:13", "F1", "F1 is no body", "body shell bonded")]),
    ("feed ign live, from nowhere", [("1:21", "nowhere", "no part is called nowhere", "battery")]),
    ("fuse F3 9 A, on dcdc", [("1:17", "dcdc", "on which terminal", "dcdc.in.+")]),
    # conductors
    (
        "start.+ --[W1 red 8 mm 5 m]-- F1",
        [("1:24", "5 m", "two lengths, no size: 8 mm and 5 m", "copper area write mm2, as in 8 mm2")],
    ),
    ("start.+ --[W1 red 8 qmm 1 m]-- F1", [("1:19", "8", "8 has no unit (qmm is no unit)", "write 8 mm2")]),
    ("start.+ --[W1 red 8 150 mm]-- F1", [("1:19", "8", "8 has no unit", "copper area")]),
    ("start.+ --[W1 red 10 mm2 -5 m]-- F1", [("1:26", "-5 m", "impossible as the length of W1", "check")]),
    ("start.+ --[W1 red 99 AWG]-- F1", [("1:19", "99 AWG", "impossible as the size", "check")]),
    ("start.+ --[reed 10 mm2]-- F1", [("1:12", "reed", "reed is no colour", "write red")]),
    ("start.+ --[W1 reed 10 mm2]-- F1", [("1:15", "reed", "reed is no colour", "write red")]),
    ("start.+ --[purple 6 mm2]-- F1", [("1:12", "purple", "purple is no colour", "write violet")]),
    ("start.+ --[red/purpel 6 mm2]-- F1", [("1:12", "red/purpel", "is no colour", "write red/violet")]),
    ("start.+ --[red black 6 mm2]-- F1", [("1:16", "black", "says colour twice", "keep one")]),
    ("start.+ --[W1 W2 red]-- F1", [("1:15", "W2", "W2 is no word for W1", "a conductor may say: colour")]),
    ("start.+ --[W1 red bundle B9]-- F1", [("1:26", "B9", "no bundle is called B9", "bundle B9")]),
    ("start.+ --[W1 red via sill]-- F1", [("1:23", "sill", "no place is called sill", "place sill")]),
    ("start.+ --[W1 red 2 m via bay 1 m]-- F1", [("1:23", "via bay 1 m", "its places add up to 1 m", "agree")]),
    ("start.+ --[W1 red insulation]-- F1", [("1:19", "insulation", "has no value", "temperature")]),
    (
        "start.+ --[W1 red]-- F1\naux.+ --[W1 red]-- F2",
        [("2:10", "W1", "W1 is declared twice", "another name")],
    ),
    # paths
    ("start.+ --[W1 red]-- dcdc", [("1:22", "dcdc", "a charger with several studs", "dcdc.in.+, dcdc.in.-")]),
    ("start -- F1", [("1:1", "start", "a battery with several posts", "start.+, start.-")]),
    ("dcdc.in -- aux.+", [("1:1", "dcdc.in", "a port with several terminals", "dcdc.in.+, dcdc.in.-")]),
    ("dcdc.out.+ -- X1", [("1:15", "X1", "a connector with 2 poles", "X1.+, X1.-")]),
    ("start.+ F1 -- aux.+", [("1:9", "F1", "side by side", "start.+ -- F1")]),
    ("start.+ -- bay", [("1:12", "bay", "bay is a place", "a part or a terminal")]),
    ("loose --[W1 red]-- capped", [("1:7", "--[W1 red]--", "both ends in the air", "terminal")]),
    ("start.+ --[W1 red]-- loose --[W2 red]-- F1", [("1:22", "loose", "at the end of a path", "another path")]),
    ("F1 -- loose", [("1:7", "loose", "the end of a conductor", "--[ ]--")]),
    ("start.+ --[W1 red]-- start.+", [("1:9", "--[W1 red]--", "begins and ends at start.+", "other end")]),
    (
        "start.+ --[W1]-- F1\naux.+ --[W2]-- F1\naux.+ --[W3]-- F1",
        [("2:16", "F1", "3 paths end at F1", "F1.in or F1.out")],
    ),
    ("start.+ --[W1]-- NB1.x", [("1:18", "NB1.x", "NB1 has no terminal x", "NB1 alone")]),
    ("start.+ --[W1]-- F1, duty 5 %", [("1:22", "duty 5 %", "no meaning after a path", "--[ ]--")]),
    (
        "start.+ --[W1]-- X1.+ --[W2]-- dcdc.in.+\ndcdc.in.- --[W3]-- X1.- --[W4]-- start.-",
        [("2:20", "X1.-", "traced against each other", "X1.a.-, X1.b.-")],
    ),
    (
        "connector X3, poles + s\nstart.+ --[W1]-- X3.+ --[W2]-- dcdc.in.+\ndcdc.sense --[W3]-- X3.s --[W4]-- aux.-",
        [("3:21", "X3.s", "traced against each other", "X3.a.s, X3.b.s")],
    ),
    (
        "connector X3 9 A, poles 1 2\nstart.+ --[W1]-- X3.1 --[W2]-- F1 --[W3]-- X3.2 --[W4]-- L1 --[W5]-- start.-",
        [("2:44", "X3.2", "traced against each other", "X3.a.2, X3.b.2")],
    ),
    (
        "feed ign live, from start\nF1 --[W1]-- ign --[W2]-- dcdc.trigger",
        [("2:13", "ign", "a path does not pass through it", "end the path at ign")],
    ),
    # cables
    ("start.+ --[C9.red]-- F1", [("1:12", "C9.red", "no cable is called C9", "cable C9")]),
    (
        "cable C1 twin 6 mm2 2 m, cores red black\nstart.+ --[C1.blue]-- F1",
        [("2:12", "C1.blue", "no core blue", "red, black")],
    ),
    (
        "cable C1 twin 6 mm2 2 m, cores red black\nstart.+ --[C1.red]-- F1\nstart.- --[C1.red]-- aux.-",
        [("3:12", "C1.red", "the core C1.red is used twice", "another core")],
    ),
    # fuse blocks
    ("fuse-block FB 60 A {\n1: 10 A\n1: 5 A\n}", [("3:1", "1", "way 1 of FB is declared twice", "another number")]),
    ("fuse-block FB 60 A, ways 2 {\n3: 10 A\n}", [("2:1", "3", "FB has 2 ways", "more ways")]),
    ("fuse-block FB 60 A {\n0: 10 A\n}", [("2:1", "0", "0 is no way", "from 1")]),
    ("fuse-block FB 60 A {\n1: empty 10 A\n}", [("2:10", "10 A", "is empty and yet", "leave out")]),
    (
        "fuse-block FB 60 A {\n1: 10 A --[P1 N1 4 mm2 1 m]-- load fan 6 A -- F1\n}",
        [("2:44", "--", "one pair of conductors", "trace the rest")],
    ),
    ("start.+ -- load fan 6 A, back NB1", [("1:26", "back", "back is no word for fan", "a load may say")]),
    ("fuse-block FB 60 A {\n1: 9 A --[P1]-- L1, duty 5 %\n}", [("2:21", "duty 5 %", "after a path", "declared")]),
    ("fuse-block FB 60 A {\n1: 9 A --[P1]-- F1, back NB1\n}", [("2:17", "F1", "nothing comes back", "leave")]),
    ("fuse-block FB 60 A {\n1: 9 A --[P1 N1]-- F1\n}", [("2:14", "N1", "nowhere to come back from", "leave")]),
    ("fuse-block FB 60 A\nFB -- aux.+", [("2:1", "FB", "a fuse block with several terminals", "FB.in")]),
    # statements about the job
    ("limit 5 start to dcdc.in", [("1:7", "5", "5 has no unit", "write 5 %")]),
    ("limit 5 % start to nowhere", [("1:20", "nowhere", "no part or conductor is called nowhere", "declare")]),
    ("limit 5 % start", [("1:11", "start", "from one source to the ports", "start to dcdc.in")]),
    ("limit 150 % start to aux", [("1:7", "150 %", "impossible", "100 %")]),
    ("case driving, strat 12 V", [("1:15", "strat", "no part or conductor is called strat", "write start")]),
    ("case driving, start offf", [("1:21", "offf", "offf is no state", "write off")]),
    ("case driving, start 12", [("1:21", "12", "12 has no unit", "write 12 V")]),
    ("case driving, start", [("1:15", "start", "does not say what it is to be", "on open")]),
    ("case driving, off", [("1:15", "off", "off does not say what", "names")]),
    ("case a like b\ncase b like a", [("2:13", "a", "is like itself", "leave one")]),
    ("case a, off L1\ncase a, on L1", [("2:6", "a", "case a is declared twice", "another name")]),
    ('accept x on F9 because "y"', [("1:13", "F9", "no part or conductor is called F9", "F1 or F2")]),
    ("accept x on F1", [("1:8", "x", "gives no reason", "because")]),
    ('accept x on F1 because "y", until 2027-02-29', [("1:35", "2027-02-29", "is no date", "2027-03-01")]),
    ('revision A 2026-13-01 "x"', [("1:12", "2026-13-01", "is no date", "2026-03-14")]),
    ("note F1", [("1:6", "F1", "a note has no text", '"..."')]),
    ('stage 1 "x", F1..F4', [("1:14", "F1..F4", "not declared: F3, F4", "shorten")]),
    ("stage 1\nstage 1", [("2:7", "1", "stage 1 stands twice", "another name")]),
    ("group g F1 F9", [("1:12", "F9", "no part or conductor is called F9", "F1 or F2")]),
    ("mate X1 F1", [("1:6", "X1", "only a plug and a socket", "plug"), ("1:9", "F1", "only a plug", "plug")]),
    ("change F9 40 A", [("1:8", "F9", "no part or conductor is called F9", "F1 or F2")]),
    ("stack start.+ W9", [("1:15", "W9", "no part or conductor is called W9", "declare")]),
    (
        "own-figures {\nampacity { 6 mm2 50 A, 10 mm2: 40 V }\n}",
        [("2:12", "6 mm2 50 A", "begins with a size", "6 mm2: 50 A"), ("2:32", "40 V", "has no current", "50 A")],
    ),
    ("fault A { chang F1 5 A }", [("1:11", "chang", "no word of a fault", "write change")]),
    ("fault A { }", [("1:7", "A", "fault A changes nothing", "say what is wrong")]),
    ('fault A { teaches "why" }', [("1:7", "A", "fault A changes nothing", "say what is wrong")]),
    ("fault A { joint start.+ -5 mohm }", [("1:25", "-5 mohm", "adds -5 mohm is impossible", "above zero")]),
    ("fault A { short start.+ to start.+ }", [("1:28", "start.+", "both ends of this short", "two terminals")]),
    (
        "start.+ --[W1 red 6 mm2 1 m]-- F1\nfault A { move W1 from start.+ to start.+ }",
        [("2:35", "start.+", "W1 is on start.+ already", "where it lands instead")],
    ),
    ("worksheet 1 {\nstage 9\n}", [("2:7", "9", "there is no stage 9", "stage 9")]),
    ('worksheet 1 {\nask "x"\n}', [("2:1", 'ask "x"', "no answer", "answer")]),
    ("draw { rows F1 }", [("1:8", "rows", "no hint for the drawing", "write row")]),
    ("change F1.in 3 A", [("1:8", "F1.in", "cannot be changed here", "name one of them")]),
    # what else people write
    ("battery b 70 Ah lithium", [("1:17", "lithium", "lithium is no word for b", "write lifepo4")]),
    ("solar-panel p 100 W", [("1:1", "solar-panel", "no line begins with solar-panel", "write panel")]),
    ("wire W1 red", [("1:1", "wire", "no line begins with wire", "start.+ --[W1 red 6 mm2 2 m]-- F1")]),
    ("poles + -", [("1:1", "poles", "no line begins with poles", "said of a connector")]),
    ("place tray\n-- F1 -- aux.+", [("2:1", "--", "goes on from the line above", "begin the path")]),
    ("start.+ --[W1 6 red]-- F1", [("1:15", "6", "6 has no unit", "mm2")]),
    ("charger d2 9 A, profile lithium", [("1:25", "lithium", "profile takes flooded", "write lifepo4")]),
    ("start.positive -- F1", [("1:1", "start.positive", "no terminal positive", "write start.+")]),
    ("start.+ - F1", [("1:1", "start.+", "no line begins with start.+", "start.+ -- F1")]),
    ("place engine bay", [("1:14", "bay", "bay is no word for engine", "engine-bay")]),
    ('fuse F3 9 A, at "engine bay"', [("1:17", '"engine bay"', "at takes a name", "at engine-bay")]),
    ("battery b 2x100 Ah", [("1:11", "2x100", "2x100 is no word", "100 Ah, parallel 2, or series 2")]),
    ("connector X3 9 A, poles +, -", [("1:28", "-", "- is no word for X3", "poles + -")]),
    ("connector X3 9 A, poles +, shrouded a b", [("1:39", "b", "takes one value", "shrouded both")]),
    ("cable C5 6 mm2 2 m, red black", [("1:21", "red", "red is no word for C5", "cores red")]),
    ("fuse-block FB 60 A {\n1 10 A\n}", [("2:1", "1", "without its colon", "write 1:")]),
    ("note F1 Mount on the guard", [("1:9", "Mount", "in quotation marks", '"Mount on the guard"')]),
    ("feed ign ignition", [("1:10", "ignition", "ignition is no word for ign", "write switched")]),
    ("start.+ --[W1 red 3 yards]-- F1", [("1:19", "3", "yards is no unit", "a unit of length; write m")]),
    # types and kits
    ("type lf is fuze strip", [("1:12", "fuze", "no kind is called fuze", "write fuse")]),
    ("type fuse is load", [("1:6", "fuse", "a word of the language", "another name")]),
    ("type a is b\ntype b is a", [("2:11", "a", "type b is made of itself", "built-in kind")]),
    ("type x is load 6 W {\nends + -\ncontact + 2 open\n}\nx Q9", [("3:11", "2", "no terminal 2", "+ -")]),
    ("kit k {\nends a b\nk T9\n}\nk T1", [("3:1", "k", "kit k uses itself", "take this use out")]),
    ("kit k {\ntakes rating\nfuse F <rating>\n}\nk T1", [("5:3", "T1", "does not fill the blank rating", "rating")]),
    ("kit k {\ntakes size 6 mm2\n}\nk T1 50 A", [("4:6", "50 A", "cannot be the size of T1", "size (6 mm2)")]),
    ("kit k {\ntakes rating\nfuse F <ratin>\n}\nk T1 5 A", [("3:8", "<ratin>", "no blank ratin", "write rating")]),
    ("kit k {\nfuse F 5 A\n}\nk T1\nT1.x -- aux.+", [("5:1", "T1.x", "there is no x in T1", "T1 has F")]),
    ("kit k {\nends a b c\n}\nk T1\nT1 -- aux.+", [("5:1", "T1", "a kit with 3 ends", "T1.a, T1.b, T1.c")]),
]


@pytest.mark.parametrize(("text", "expected"), TABLE, ids=[row[0].replace("\n", " / ")[:60] for row in TABLE])
def test_a_mistake_is_named_at_its_place(text: str, expected: list[tuple[str, str, str, str]]) -> None:
    found = mistakes(text)
    assert [place(f) for f in found] == sorted(
        (row[0] for row in expected), key=lambda p: [int(n) for n in p.split(":")]
    )
    by_place = {place(f): f for f in found}
    for where, marked, message, remedy in expected:
        finding = by_place[where]
        assert finding.at and finding.at.span.text == marked
        assert message in finding.message
        assert remedy in finding.remedy
        assert finding.rule == "netlist-mistake" and finding.severity == "danger" and finding.lost


@pytest.mark.parametrize("text", [row[0] for row in TABLE])
def test_a_mistake_leaves_the_rest_of_the_job_readable(text: str) -> None:
    job, _ = read("t.wnet", text=BASE + text + "\nfuse LAST 5 A\n")
    assert job and not job.complete
    assert "LAST" in job.parts and "start" in job.parts


def test_all_mistakes_are_found_in_one_run() -> None:
    lines = [
        "fues F3 40 A",
        "fuse F4 40 V",
        "fuse F5 40 A, at bonnet",
        "battery B1 70 Ah floded, charge 120 %",
        "start.+ --[W1 red 8 mm 5 m]-- F4 --[W2 reed 6 mm2 1 m]-- strat.+",
        "start.+ -- dcdc",
        "aux.+ --[W3 red 6 mm2 1 m]-- aux.+",
        "limit 5 start to aux",
        "case night, start offf",
        'accept x on W9 because "y"',
        'note F7 "x"',
    ]
    found = [place(f) for f in mistakes("\n".join(lines))]
    assert found == [
        "1:1", "2:9", "3:18", "4:18", "4:33", "5:24", "5:40", "5:58", "6:12", "7:7", "8:7", "9:19", "10:13", "11:6",
    ]  # fmt: skip


def test_every_place_of_an_undefined_name_is_shown_with_one_finding() -> None:
    (finding,) = mistakes('start.+ -- F9\naux.+ -- F9\nnote L1 "x"')
    assert [m.span.text for m in finding.marks] == ["F9"]


def test_a_double_name_shows_both_places() -> None:
    (finding,) = mistakes("fuse F1 30 A")
    (mark,) = finding.marks
    assert mark.span.source.position(mark.span.start) == (6, 6)


def test_a_mistake_inside_a_kit_carries_its_use() -> None:
    (finding,) = mistakes("kit k {\nends a\nfuse F 5 A, volts\na -- F.in\n}\nk T1\nstart.+ -- T1")
    assert place(finding) == "3:13"
    assert [use.name for use in finding.through] == ["T1"]


def test_a_mistake_in_a_kit_is_said_once_for_all_its_uses() -> None:
    assert len(mistakes("kit k {\nends a\nfuse F 5 A, volts\na -- F.in\n}\nk T1\nk T2\nk T3")) == 1


def test_more_lugs_than_studs_is_a_warning_that_reads_on() -> None:
    (finding,) = mistakes("busbar N2 10 A, studs 1\nstart.+ --[W1 red]-- N2\naux.+ --[W2 red]-- N2")
    assert finding.severity == "warning" and not finding.lost


def test_an_empty_text_is_one_finding() -> None:
    for text in ("", "\n\n", "# nothing here\n"):
        job, findings = read("t.wnet", text=text)
        assert job is None
        assert [f.message for f in findings] == ["t.wnet holds no statement"]


def test_a_name_from_a_line_that_was_not_understood_is_not_missed_elsewhere() -> None:
    text = 'nosuchkit T1 60 A\nstart.+ -- T1.in\nnote T1.F "x"\ntype a is a\na A1 5 A\nA1 -- aux.+'
    assert [place(f) for f in mistakes(text)] == ["1:1", "4:11"]


def test_of_very_many_mistakes_the_first_are_told() -> None:
    found = mistakes("".join(f"wrong{n} 5 A\n" for n in range(1000)))
    assert len(found) == 201 and "more than 200 mistakes" in "".join(f.message for f in found)


def test_types_and_cases_in_long_chains_are_findings() -> None:
    types = "".join(f"type t{n} is t{n - 1}\n" for n in range(3000, 0, -1)) + "type t0 is fuse 5 A"
    assert any("too many types" in f.message for f in mistakes(types))
    cases = "".join(f"case c{n} like c{n - 1}, start 12 V\n" for n in range(1, 60)) + "case c0, start 12 V"
    assert all("too many others" in f.message for f in mistakes(cases))


def test_a_job_that_is_too_large_is_one_finding(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(draft, "MOST_PARTS", 500)
    ways = "".join(f"fuse-block FB{n} 60 A {{\n1..200: 5 A\n}}\n" for n in range(20))
    assert [f.message for f in mistakes(ways)] == ["this job has too many parts; what follows is not read"]
    kit = "kit k {\n" + "".join(f"fuse F{n} 5 A\n" for n in range(60)) + "}\n" + "".join(f"k T{n}\n" for n in range(20))
    assert [f.message for f in mistakes(kit)] == ["this job has too many parts; what follows is not read"]
    cases = "".join(f"case c{n}, start 12 V\n" for n in range(150))
    assert [f.message for f in mistakes(cases)] == ["too many cases"]


def test_a_sign_without_its_dot_is_read_as_a_terminal() -> None:
    (finding,) = mistakes("start+ --[W1 red]-- F1")
    assert finding.severity == "warning" and not finding.lost and "start.+" in finding.remedy
    job, _ = read("t.wnet", text=BASE + "start+ --[W1 red]-- F1\n")
    assert job and job.complete and job.conductors["W1"].from_ == "start.+"
