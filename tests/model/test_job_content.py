"""What a netlist says ends up in the job: each statement of the language, with names as the contract has them."""

from __future__ import annotations

import pytest

from wiregen.model import read
from wiregen.model.job import Job

SOURCES = """battery start 70 Ah flooded
battery aux 80 Ah agm
"""


def job_of(text: str, base: str = SOURCES) -> Job:
    """The job of a sound text."""
    job, findings = read("t.wnet", text=base + text)
    assert [f.message for f in findings] == []
    assert job and job.complete
    return job


def ends(job: Job) -> dict[str, tuple[str, str]]:
    """Each conductor's two terminals."""
    return {c.id: (c.from_, c.to) for c in job.conductors.values()}


def links(job: Job) -> set[tuple[str, str, str]]:
    """All links with why they are there."""
    return {(link.a, link.b, link.why) for link in job.links}


# ---------------------------------------------------------------- parts and facts


def test_bare_values_find_their_facts() -> None:
    job = job_of(
        "alternator alt 110 A variable\ncharger u 18 A\npanel pv 120 W\nfuse F1 40 A strip\nlamp L1 5 W led\n"
        "load M1 3 ohm\nfeed ign switched\nbody shell bonded, 1.5 mohm\nisolator Q1 100 A open\ninverter inv 900 W\n"
    )
    start = job.parts["start"]
    assert (start.number("capacity"), start.word("chemistry")) == (70, "flooded")
    assert (job.parts["alt"].number("rating"), job.parts["alt"].word("control")) == (110, "variable")
    assert job.parts["u"].number("rating") == 18
    assert job.parts["pv"].number("rating") == 120
    assert (job.parts["F1"].number("rating"), job.parts["F1"].word("type")) == (40, "strip")
    assert (job.parts["L1"].number("draws"), job.parts["L1"].word("type")) == (5, "led")
    draws = job.parts["M1"].measure("draws")
    assert draws and (draws.value, draws.dimension) == (3, "resistance")
    assert job.parts["ign"].word("state") == "switched"
    assert (job.bodies["shell"].word("state"), job.bodies["shell"].number("resistance")) == ("bonded", 0.0015)
    assert not job.parts["Q1"].contacts[0].closed
    assert job.parts["inv"].number("rating") == 900


def test_facts_stand_after_commas_or_in_braces() -> None:
    one = job_of("charger u 18 A, profile agm, efficiency 90 %\n").parts["u"]
    two = job_of("charger u 18 A {\n profile agm\n efficiency 90 %\n}\n").parts["u"]
    assert {k: f.word for k, f in one.facts.items()} == {k: f.word for k, f in two.facts.items()}
    assert one.number("efficiency") == pytest.approx(0.9)


def test_places_titles_and_ranges() -> None:
    job = job_of('place deck "Rear deck", ambient -10..45 degC, wet\nfuse F1 "Main" 40 A, at deck\n')
    deck = job.places["deck"]
    ambient = deck.measure("ambient")
    assert ambient and (ambient.low, ambient.high) == (-10, 45)
    assert deck.has("wet") and deck.title == "Rear deck"
    assert (job.parts["F1"].place, job.parts["F1"].title) == ("deck", "Main")


def test_capitals_do_not_distinguish_and_the_declaration_spells() -> None:
    job = job_of('fuse F1 40 A\nSTART.+ --[W1 red]-- f1 --[W2 red]-- Aux.+\nnote w1 "x"\n')
    assert ends(job) == {"W1": ("start.+", "F1.in"), "W2": ("F1.out", "aux.+")}
    assert job.notes[0].subject == "W1"


def test_a_type_gives_defaults_terminals_and_contacts() -> None:
    job = job_of(
        'type link-fuse "Link fuse" is fuse strip, volts 58 V, breaks 2 kA\n'
        "type changeover is relay 30 A {\n ends 30 85 86 87 87a\n coil 85 86 90 ohm\n contact 30 87 open\n"
        " contact 30 87a closed\n fits 30 87 2.5..6 mm2\n}\n"
        "type pump is load 60 W {\n ends + -\n inrush 18 A\n symbol motor\n}\n"
        "link-fuse F1 40 A, breaks 6 kA\nchangeover K1\npump M1\nstart.+ --[W1 red]-- M1 --[W2 black]-- start.-\n"
    )
    fuse = job.parts["F1"]
    assert (fuse.kind, fuse.type, fuse.title) == ("fuse", "link-fuse", "Link fuse")
    assert (fuse.number("volts"), fuse.number("breaks"), fuse.number("rating")) == (58, 6000, 40)
    assert (fuse.facts["volts"].origin, fuse.facts["breaks"].origin) == ("type", "own")
    relay = job.parts["K1"]
    assert relay.terminals == ("K1.30", "K1.85", "K1.86", "K1.87", "K1.87a")
    assert [(c.name, c.kind, c.closed) for c in relay.contacts] == [("87", "relay", False), ("87a", "relay", True)]
    assert relay.number("coil") == 90 and relay.words("coil")[1:] == ("85", "86")
    fits = relay.measure("fits 30")
    assert fits and (fits.low, fits.high) == (2.5, 6)
    assert ends(job)["W2"] == ("M1.-", "start.-")


def test_types_may_stand_behind_their_use_and_on_each_other() -> None:
    job = job_of("big F1\ntype big is medium 100 A\ntype medium is fuse strip 40 A, volts 32 V\n")
    assert (job.parts["F1"].number("rating"), job.parts["F1"].number("volts")) == (100, 32)


def test_a_change_overrides_and_says_so() -> None:
    job = job_of("fuse F1 40 A\nstart.+ --[W1 red 2 m]-- F1\nchange F1 30 A, volts 32 V\nchange W1 3 m\n")
    assert job.parts["F1"].number("rating") == 30
    assert job.parts["F1"].facts["rating"].origin == "change"
    assert job.conductors["W1"].number("length") == 3


# ---------------------------------------------------------------- paths


def test_two_sided_parts_are_passed_through_in_tracing_order() -> None:
    job = job_of(
        "fuse F1 40 A\nshunt R1 200 A\nload M1 5 A\n"
        "start.+ --[W1 red]-- F1 --[W2 red]-- M1 --[W3 black]-- R1 --[W4 black]-- start.-\n"
    )
    assert ends(job) == {
        "W1": ("start.+", "F1.in"),
        "W2": ("F1.out", "M1.+"),
        "W3": ("M1.-", "R1.in"),
        "W4": ("R1.out", "start.-"),
    }


def test_a_path_that_begins_or_ends_at_a_two_sided_part() -> None:
    job = job_of("fuse F1 40 A\nstart.+ --[W1 red]-- F1\nF1 --[W2 red]-- aux.+\n")
    assert ends(job) == {"W1": ("start.+", "F1.in"), "W2": ("F1.out", "aux.+")}


def test_two_paths_that_end_at_one_fuse_take_its_two_sides() -> None:
    job = job_of("fuse F1 40 A\nstart.+ --[W1 red]-- F1\naux.+ --[W2 red]-- F1\n")
    assert ends(job) == {"W1": ("start.+", "F1.in"), "W2": ("aux.+", "F1.out")}


def test_connectors_have_sides_a_met_first_and_b() -> None:
    job = job_of(
        "connector X1 50 A, poles + -\nconnector X2 5 A, poles 1\n"
        "start.+ --[W1 red]-- X1.+ --[W2 red]-- aux.+\nstart.- --[W3 black]-- X1.a.-\nX1.b.- --[W4 black]-- aux.-\n"
        "start.+ --[W5 red]-- X2 --[W6 red]-- aux.+\n"
    )
    assert ends(job)["W1"] == ("start.+", "X1.a.+")
    assert ends(job)["W2"] == ("X1.b.+", "aux.+")
    assert ends(job)["W3"] == ("start.-", "X1.a.-")
    assert ends(job)["W6"] == ("X2.b.1", "aux.+")
    assert [(c.name, c.a, c.b, c.kind, c.closed) for c in job.parts["X1"].contacts] == [
        ("+", "X1.a.+", "X1.b.+", "pole", True),
        ("-", "X1.a.-", "X1.b.-", "pole", True),
    ]


def test_an_unmated_connector_is_open() -> None:
    job = job_of("connector X1 50 A, poles + -, unmated\n")
    assert not any(c.closed for c in job.parts["X1"].contacts)


def test_mated_halves_are_linked_pole_by_pole() -> None:
    job = job_of("plug P1 50 A, poles + - t\nsocket S1 50 A shrouded, poles + - t\nmate P1 S1\n")
    assert links(job) == {(f"P1.{p}", f"S1.{p}", "mated") for p in "+-t"}


def test_studs_are_numbered_in_order_of_mention() -> None:
    job = job_of(
        "busbar NB1 100 A\nstart.- --[W1 black]-- NB1 --[W2 black]-- aux.-\naux.- --[W3 black]-- NB1.2\n"
        "start.- --[W4 black]-- NB1\n"
    )
    assert ends(job) == {
        "W1": ("start.-", "NB1.1"),
        "W2": ("NB1.3", "aux.-"),
        "W3": ("aux.-", "NB1.2"),
        "W4": ("start.-", "NB1.4"),
    }
    bar = job.parts["NB1"]
    assert bar.terminals == ("NB1.1", "NB1.2", "NB1.3", "NB1.4")
    assert {c.kind for c in bar.contacts} == {"solid"} and len(bar.contacts) == 3


def test_conductors_without_a_name_are_called_by_their_ends() -> None:
    job = job_of("start.+ --[red 6 mm2]-- aux.+\nstart.+ --[red 6 mm2]-- aux.+\nstart.+ --[red 6 mm2]-- loose\n")
    assert list(job.conductors) == ["start.+--aux.+", "start.+--aux.+~2", "start.+--loose"]
    assert not job.conductors["start.+--aux.+"].named


def test_ends_in_the_air_are_terminals() -> None:
    job = job_of('start.+ --[W1 red]-- loose\ncapped "spare" --[W2 red]-- aux.+\n')
    assert ends(job) == {"W1": ("start.+", "loose:W1"), "W2": ("capped:W2", "aux.+")}
    assert job.terminals["loose:W1"].part == "" and job.part_of("loose:W1") is None
    assert job.conductors["W2"].word("capped") == "spare"


def test_metal_to_metal_is_a_link() -> None:
    job = job_of("fuse F1 40 A\nstart.+ -- F1 --[W1 red]-- aux.+\n")
    assert links(job) == {("start.+", "F1.in", "joined")}


def test_what_is_mounted_is_linked() -> None:
    job = job_of("alternator alt 90 A fixed, on start\nfuse F1 100 A bolted, on aux\nfuse F2 9 A, on start.+\n")
    assert links(job) == {
        ("start.+", "alt.+", "mounted"),
        ("start.-", "alt.-", "mounted"),
        ("aux.+", "F1.in", "mounted"),
        ("start.+", "F2.in", "mounted"),
    }


def test_bodies_have_their_earths() -> None:
    job = job_of(
        "body shell bonded\nearth E1 on shell\nalternator alt 90 A fixed\nstart.- --[W1 black]-- E1\n"
        "aux.- --[W2 black]-- shell\nalt.- -- shell\n"
    )
    assert ends(job) == {"W1": ("start.-", "E1"), "W2": ("aux.-", "shell.1")}
    assert links(job) == {("alt.-", "shell.2", "joined")}
    assert job.bodies["shell"].earths == ("E1", "shell.1", "shell.2")
    assert job.parts["shell.1"].kind == "earth"


def test_a_one_stud_charger_has_one_negative_and_a_common_one_conducts() -> None:
    job = job_of("charger u 9 A, negative one-stud\nu.- --[W1 black]-- start.-\ncharger v 9 A, negative common\n")
    assert [t for t in job.parts["u"].terminals if t.endswith("-")] == ["u.-"]
    assert links(job) == set()
    assert ("v.in.-", "v.out.-", "solid") in {(c.a, c.b, c.kind) for c in job.parts["v"].contacts}


def test_a_load_may_be_declared_where_a_path_stops() -> None:
    job = job_of('start.+ --[W1 red]-- lamp L1 5 W "Work lamp" --[W2 black]-- start.-\n')
    assert ends(job) == {"W1": ("start.+", "L1.+"), "W2": ("L1.-", "start.-")}
    assert job.parts["L1"].title == "Work lamp"


def test_the_same_facts_of_a_conductor_in_any_order() -> None:
    job = job_of(
        "place bay\nstart.+ --[6 mm2 red 5.2 m +- 0.3 m W1 via bay, in conduit, insulation 125 degC silicone]-- aux.+\n"
    )
    wire = job.conductors["W1"]
    length = wire.measure("length")
    assert length and (length.low, length.high) == pytest.approx((4.9, 5.5))
    assert (wire.number("size"), wire.colours, wire.word("in")) == (6, ("red",), "conduit")
    assert (wire.number("insulation"), wire.word("insulation-kind")) == (125, "silicone")
    assert [leg.place for leg in wire.route] == ["bay"]


def test_a_route_may_split_the_length() -> None:
    job = job_of("place bay\nplace sill\nstart.+ --[W1 red 3.4 m via bay 1.2 m, sill 2.2 m]-- aux.+\n"
                 "start.- --[W2 black via bay 1 m, sill 2 m]-- aux.-\n")  # fmt: skip
    assert [(leg.place, leg.length_m) for leg in job.conductors["W1"].route] == [("bay", 1.2), ("sill", 2.2)]
    assert job.conductors["W2"].number("length") == 3


def test_sizes_as_the_trade_writes_them() -> None:
    job = job_of("start.+ --[W1 2/0 AWG]-- aux.+\nstart.+ --[W2 6 auto-mm]-- aux.+\nstart.+ --[W3 8mm²]-- aux.+\n")
    sizes = [job.conductors[w].measure("size") for w in ("W1", "W2", "W3")]
    assert [s and (s.value, s.dimension) for s in sizes] == [(-1, "gauge"), (6, "auto-size"), (8, "area")]


# ---------------------------------------------------------------- defaults


def test_precedence_conductor_cable_nearest_each_outer_each() -> None:
    job = job_of(
        'job "x" { each insulation 105 degC, 16 mm2 }\n'
        "cable C1 twin 6 mm2 2 m, cores red black, screen\n"
        "circuit one, each 10 mm2 {\n"
        "  start.+ --[W1 red 1 m]-- aux.+\n"
        "  start.+ --[W2 red 4 mm2 1 m]-- aux.+\n"
        "  start.+ --[C1.red]-- aux.+\n"
        "  start.- --[C1.black 3 m]-- aux.-\n"
        "  start.- --[C1.screen]-- capped\n"
        "}\n"
        "start.- --[W3 black 1 m]-- aux.-\n"
    )
    sizes = {c.id: c.number("size") for c in job.conductors.values()}
    assert sizes == {"W1": 10, "W2": 4, "C1.red": 6, "C1.black": 6, "C1.screen": 6, "W3": 16}
    assert {c.number("insulation") for c in job.conductors.values()} == {105}
    assert job.conductors["C1.black"].number("length") == 3
    assert job.conductors["C1.red"].colours == ("red",) and job.conductors["C1.screen"].colours == ()
    assert job.conductors["C1.red"].facts["size"].origin == "cable"
    assert job.conductors["W1"].facts["size"].origin == "each"
    assert job.cables["C1"].cores == ("C1.red", "C1.black", "C1.screen")
    assert job.conductors["W1"].circuit == "one" and job.conductors["W3"].circuit is None


def test_each_holds_for_the_whole_block_wherever_it_stands() -> None:
    job = job_of("circuit one {\n  start.+ --[W1 red]-- aux.+\n  each 10 mm2\n}\n")
    assert job.conductors["W1"].number("size") == 10


def test_a_bundle_gives_its_conductors_route_and_cover() -> None:
    job = job_of('place sill\nbundle B1 "Loom", sleeve 20 mm, via sill\nstart.+ --[W1 red, bundle B1]-- aux.+\n')
    assert [leg.place for leg in job.conductors["W1"].route] == ["sill"]
    assert job.conductors["W1"].word("in") == "sleeve"
    assert job.bundles["B1"].title == "Loom"


# ---------------------------------------------------------------- fuse blocks


BLOCK = """fuse-block FB1 "Deck block" 60 A, blade, volts 32 V, breaks 2 kA, wire red black {
    1: 10 A --[P1 N1 2.5 mm2 4 m]-- load fan 6 A "Fan", duty 30 %
    2: 5 A "Spare"
    3: 15 A FX3 --[P3 N3 4 mm2 2 m]-- load pump 9 A, back start.-
    4..5: 7.5 A
    6: empty
}
"""


def test_way_rows_make_fuses_conductors_and_loads() -> None:
    job = job_of(BLOCK)
    assert job.parts["FB1"].terminals == tuple(f"FB1.{end}" for end in ("in", 1, 2, 3, 4, 5, 6, "-"))
    fuses = {p.id: (p.way, p.number("rating"), p.word("type")) for p in job.parts.values() if p.block == "FB1"}
    assert fuses == {
        "FB1.1": ("1", 10, "blade"),
        "FB1.2": ("2", 5, "blade"),
        "FX3": ("3", 15, "blade"),
        "FB1.4": ("4", 7.5, "blade"),
        "FB1.5": ("5", 7.5, "blade"),
    }
    assert ends(job) == {
        "P1": ("FB1.1", "fan.+"),
        "N1": ("fan.-", "FB1.-"),
        "P3": ("FB1.3", "pump.+"),
        "N3": ("pump.-", "start.-"),
    }
    assert job.conductors["P1"].colours == ("red",) and job.conductors["N1"].colours == ("black",)
    assert job.parts["fan"].number("duty") == pytest.approx(0.3)
    assert {("FB1.in", "FX3.in", "way"), ("FX3.out", "FB1.3", "way"), ("FB1.in", "FB1.1.in", "way")} <= links(job)
    assert job.parts["FB1.1"].number("volts") == 32 and job.parts["FB1.2"].title == "Spare"
    assert "FB1.6.in" not in job.terminals


def test_a_change_of_a_block_reaches_its_ways() -> None:
    job = job_of(BLOCK + 'change FB1 { 2: 3 A, 6: 20 A "Inverter" }\n')
    assert job.parts["FB1.2"].number("rating") == 3 and job.parts["FB1.2"].title == "Spare"
    assert job.parts["FB1.6"].number("rating") == 20 and job.parts["FB1.6"].title == "Inverter"
    assert job.parts["FB1.6"].facts["rating"].origin == "change"


# ---------------------------------------------------------------- circuits, limits, cases


def test_a_circuit_has_the_ends_of_its_first_path_its_members_and_limits() -> None:
    job = job_of(
        'fuse F1 40 A\ncharger u 9 A\ncircuit feed "Feed", limit 5 % {\n  limit 3 %\n'
        "  start.+ --[W1 red]-- F1 --[W2 red]-- u.in.+\n  start.- --[W3 black]-- u.in.-\n}\n"
    )
    circuit = job.circuits["feed"]
    assert (circuit.from_, circuit.to, circuit.title) == ("start.+", "u.in.+", "Feed")
    assert set(circuit.members) == {"start", "F1", "u", "W1", "W2", "W3"}
    assert [(x.ratio, x.from_, x.to) for x in job.limits] == [
        (0.05, "start.+", ("u.in.+",)),
        (0.03, "start.+", ("u.in.+",)),
    ]


def test_limits_name_ports_groups_and_a_base() -> None:
    job = job_of(
        "charger u 9 A\nlamp L1 5 W\nload M1 5 A\nlimit 5 % start to u.in of 13.8 V\nlimit 4 % aux to loads\n"
        "own-figures { limit 3 % }\n"
    )
    assert [(x.ratio, x.from_, x.to, x.named, x.of_v) for x in job.limits] == [
        (0.03, None, (), False, None),
        (0.05, "start", ("u.in",), True, 13.8),
        (0.04, "aux", ("L1", "M1"), False, None),
    ]


def test_cases_take_verbs_before_and_after_groups_and_ranges() -> None:
    job = job_of(
        "lamp L1 5 W\nlamp L2 5 W\nlamp L3 5 W\nload M1 5 A\nfeed ign switched\nconnector X1 5 A, poles +\nplace bay\n"
        "group evening L1 L2\n"
        'case day "By day", start 13 V, aux 12.4..13.2 V, ign on, off loads, bay 60 degC\n'
        "case night like day, on evening, M1 off, apart X1, L1..L3 broken, start { charge 70 %, resistance 12 mohm }\n"
    )
    day = job.cases["day"]
    assert day.title == "By day"
    assert [(s.verb, s.targets) for s in day.settings] == [
        ("volts", ("start",)),
        ("volts", ("aux",)),
        ("on", ("ign",)),
        ("off", ("L1", "L2", "L3", "M1")),
        ("ambient", ("bay",)),
    ]
    held = day.settings[1].measure
    assert held and (held.low, held.high) == (12.4, 13.2)
    night = job.cases["night"].settings
    assert night[: len(day.settings)] == day.settings
    assert [(s.verb, s.targets) for s in night[len(day.settings) :]] == [
        ("on", ("L1", "L2")),
        ("off", ("M1",)),
        ("apart", ("X1",)),
        ("broken", ("L1", "L2", "L3")),
        ("facts", ("start",)),
    ]
    assert night[-1].facts["charge"].measure and night[-1].facts["charge"].measure.value == pytest.approx(0.7)


def test_a_way_fuse_may_be_pulled() -> None:
    job = job_of(BLOCK + "case bare, FB1.1 FX3 pulled\n")
    assert job.cases["bare"].settings[0].targets == ("FB1.1", "FX3")


def test_own_figures_stand_beside_the_catalogue() -> None:
    job = job_of(
        'own-figures "Table 3" {\n ampacity { 2.5 mm2: 27 A, 10 mm2: 68 A\n 6 AWG: 70 A }\n tail 0.25 m\n'
        " resistivity 1.7241e-8 ohm-m, conductor-temperature 60 degC, joints 0 mohm\n voltage start 12.8 V\n}\n"
    )
    own = job.own_figures
    assert own and own.title == "Table 3"
    assert [(size.value, size.unit, amps.value) for size, amps, _ in own.ampacity] == [
        (2.5, "mm2", 27),
        (10, "mm2", 68),
        (6, "AWG", 70),
    ]
    assert own.voltages["start"].value == 12.8
    assert set(own.facts) == {"tail", "resistivity", "conductor-temperature", "joints"}


# ---------------------------------------------------------------- about the job


def test_records_are_kept() -> None:
    job = job_of(
        'job "Truck", customer "Job 7" { system 12 V, limits iso13297, drawn-by "JK" }\n'
        'revision A 2026-02-02 "First issue"\nrevision B 2026-03-14 "More", by "JK"\n'
        'fuse F1 40 A\nstart.+ --[W1 red 1 m, note "mind the edge"]-- F1\n'
        'note F1 "On the guard.", for trainer\n'
        'accept missing-main-isolation on start because "plug is the isolator", by "JK", until 2027-03-01\n'
        'stage 1 "Batteries", start aux\nstage 2 "The rest", rest\nstack start.+ W1\n'
        'draw {\n row start F1\n sheet 2 "Control", F1\n}\n'
    )
    assert (job.title, job.facts["system"].word, job.facts["limits"].word) == ("Truck", "12 V", "iso13297")
    assert [(r.name, r.date, r.by) for r in job.revisions] == [("A", "2026-02-02", ""), ("B", "2026-03-14", "JK")]
    assert [(n.subject, n.text, n.audience) for n in job.notes] == [
        ("F1", "On the guard.", "trainer"),
        ("W1", "mind the edge", ""),
    ]
    (accept,) = job.accepts
    assert (accept.rule, accept.subject, accept.by, accept.until) == (
        "missing-main-isolation",
        "start",
        "JK",
        "2027-03-01",
    )
    assert [(s.number, s.members, s.rest) for s in job.stages] == [("1", ("start", "aux"), False), ("2", (), True)]
    assert job.stacks == {"start.+": ("W1",)}
    assert [(h.kind, h.number, h.members) for h in job.hints] == [("row", "", ("start", "F1")), ("sheet", "2", ("F1",))]


def test_lessons_are_kept_step_by_step() -> None:
    job = job_of(
        'fuse F1 40 A\nstart.+ --[W1 red 1 m]-- F1\nstage 1 "All", rest\n'
        'fault A "Too long" {\n change W1 5.2 m\n expect unfused-positive on W1\n teaches "Why."\n}\n'
        'worksheet 1 "Find it" {\n stage 1, fault A\n hide findings\n blank F1 rating, W1 size length\n'
        ' ask "Which?" answer "W1"\n}\n'
    )
    fault, sheet = job.lessons
    assert [(s.verb, [v.text for v in s.values]) for s in fault.steps] == [
        ("change", ["W1", "5.2 m"]),
        ("expect", ["unfused-positive", "on", "W1"]),
        ("teaches", ["Why."]),
    ]
    assert [s.verb for s in sheet.steps] == ["stage", "fault", "hide", "blank", "blank", "ask"]


# ---------------------------------------------------------------- kits


KIT = """kit fused-lead "Fused lead" {
    takes rating, size 10 mm2, length 150 mm
    ends in out
    fuse F <rating> strip
    in --[W red <size> <length>]-- F -- out
    note F "Fit last."
}
"""


def test_a_kit_is_unfolded_under_its_name_and_its_ends_dissolve() -> None:
    job = job_of(KIT + "place bay\nfused-lead T1 60 A, length 200 mm, at bay\nstart.+ -- T1 --[W1 red]-- aux.+\n")
    assert ends(job) == {"T1.W": ("start.+", "T1.F.in"), "W1": ("T1.F.out", "aux.+")}
    assert job.links == ()
    assert job.parts["T1.F"].number("rating") == 60 and job.parts["T1.F"].place == "bay"
    assert job.conductors["T1.W"].number("length") == pytest.approx(0.2)
    assert job.conductors["T1.W"].number("size") == 10
    assert [use.name for use in job.parts["T1.F"].through] == ["T1"]
    assert job.notes[0].subject == "T1.F" and job.kits == {"T1": "fused-lead"}


def test_a_filled_value_points_at_where_it_was_written() -> None:
    job = job_of(KIT + "fused-lead T1 60 A\n")
    assert job.parts["T1.F"].where("rating").text == "60 A"
    size = job.conductors["T1.W"].where("size")
    assert size.text == "10 mm2"


def test_two_kits_end_to_end_become_one_point() -> None:
    job = job_of(KIT + "fused-lead T1 60 A\nfused-lead T2 50 A\nstart.+ -- T1 -- T2 -- aux.+\n")
    assert ends(job) == {"T1.W": ("start.+", "T1.F.in"), "T2.W": ("T1.F.out", "T2.F.in")}
    assert links(job) == {("T2.F.out", "aux.+", "dissolved")}


def test_where_only_conductors_meet_a_kits_end_is_a_splice() -> None:
    job = job_of(KIT + "fused-lead T1 60 A\nstart.+ --[W1 red]-- T1.in\n")
    assert ends(job) == {"T1.W": ("T1.in", "T1.F.in"), "W1": ("start.+", "T1.in")}
    assert job.parts["T1.in"].kind == "splice" and job.parts["T1.in"].terminals == ("T1.in",)


def test_a_kits_end_that_nothing_meets_hangs_in_the_air() -> None:
    job = job_of(KIT + "fused-lead T1 60 A\n")
    assert ends(job) == {"T1.W": ("loose:T1.W", "T1.F.in")}


def test_kits_may_hold_kits_circuits_and_cables() -> None:
    job = job_of(
        KIT + "kit pair {\n ends a b\n fused-lead L 30 A\n cable C twin 6 mm2 2 m, cores red black\n each 4 mm2\n"
        " circuit inner { a -- L --[C.red]-- b }\n}\npair P\nstart.+ -- P -- aux.+\n"
    )
    assert ends(job) == {"P.L.W": ("start.+", "P.L.F.in"), "P.C.red": ("P.L.F.out", "aux.+")}
    assert job.conductors["P.C.red"].circuit == "P.inner"
    assert [use.name for use in job.parts["P.L.F"].through] == ["P", "L"]
    assert job.kits == {"P": "pair", "P.L": "fused-lead"}


def test_a_kits_end_on_a_busbar_gives_each_conductor_its_stud() -> None:
    job = job_of(
        "kit bar {\n ends in\n busbar NB 100 A\n in -- NB\n}\nbar D\nstart.- --[W1 black]-- D.in --[W2 black]-- aux.-\n"
    )
    assert ends(job) == {"W1": ("start.-", "D.NB.1"), "W2": ("D.NB.2", "aux.-")}


def test_a_change_reaches_way_fuses_cores_and_places() -> None:
    job = job_of(
        BLOCK + "place bay\ncable C1 twin 6 mm2 2 m, cores red black\nstart.+ --[C1.red]-- aux.+\n"
        "change FB1.1 7.5 A\nchange FX3 breaks 1 kA\nchange C1.red 3 m\nchange bay ambient 50 degC, wet\n"
    )
    assert job.parts["FB1.1"].number("rating") == 7.5
    assert job.parts["FX3"].number("breaks") == 1000
    assert job.conductors["C1.red"].number("length") == 3
    assert job.places["bay"].number("ambient") == 50 and job.places["bay"].has("wet")


def test_poles_with_named_sides_are_believed() -> None:
    job = job_of(
        "charger u 9 A\nconnector X1 50 A, poles + s\nstart.+ --[W1 red]-- X1.+ --[W2 red]-- u.in.+\n"
        "u.sense --[W3 grey]-- X1.b.s\nX1.a.s --[W4 grey]-- aux.-\nu.trigger --[W5 blue]-- X1.a.s\n"
    )
    assert ends(job)["W3"] == ("u.sense", "X1.b.s")


def test_a_way_row_may_end_anywhere() -> None:
    job = job_of(
        "load fan 6 A\nconnector X1 9 A, poles +\nbusbar NB1 60 A\nfuse-block FB 60 A, wire red black {\n"
        '1: 9 A --[P1 N1 4 mm2]-- fan, back NB1\n2: 9 A --[P2 4 mm2]-- X1.+\n3: 9 A --[P3 4 mm2]-- capped "spare"\n'
        "4: 9 A -- lamp D1 5 W\n5: 9 A --[brown 4 mm2]-- lamp D2 5 W\n}\n"
    )
    assert ends(job) == {
        "P1": ("FB.1", "fan.+"),
        "N1": ("fan.-", "NB1.1"),
        "P2": ("FB.2", "X1.a.+"),
        "P3": ("FB.3", "capped:P3"),
        "FB.5--D2.+": ("FB.5", "D2.+"),
        "D2.---FB.-": ("D2.-", "FB.-"),
    }
    assert {("FB.4", "D1.+", "joined"), ("D1.-", "FB.-", "joined")} <= links(job)
    assert job.conductors["D2.---FB.-"].colours == ("brown",)


def test_two_paths_from_a_fuse_on_a_post_both_leave_it() -> None:
    job = job_of("fuse F1 100 A, on start\nF1 --[W1 red]-- aux.+\nF1 --[W2 red]-- aux.+\n")
    assert ends(job) == {"W1": ("F1.out", "aux.+"), "W2": ("F1.out", "aux.+")}


def test_a_path_that_ends_at_a_part_with_one_side_taken_means_the_free_side() -> None:
    job = job_of(
        "fuse F1 9 A, on start\nfuse F2 9 A\nfuse F3 9 A\naux.+ --[W1 red]-- F1\nstart.+ --[W2 red]-- F2.in\n"
        "aux.+ --[W3 red]-- F2\nF3.out --[W4 red]-- aux.+\nstart.+ --[W5 red]-- F3\n"
    )
    found = ends(job)
    assert (found["W1"][1], found["W3"][1], found["W5"][1]) == ("F1.out", "F2.out", "F3.in")
