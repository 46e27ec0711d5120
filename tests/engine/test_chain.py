"""The chain: links, ports, terminators, order against enumeration, and how it keeps clear of power."""

from itertools import pairwise, permutations
from random import Random

import pytest

from engine.findings import Level
from engine.solvers.separation import length
from engine.stages.chain.ground import ground
from engine.stages.chain.part import Port
from tests.engine.wall_site import BASE, TWELVE, hang, place, three

PORTS = 'ports = ["plug", "socket"]'


def row(*per_phase):
    return hang(BASE + f'[set]\nper_phase = {list(per_phase)}\n[wall]\nwidth = "6 m"\n')


@pytest.mark.parametrize(("per_phase", "links"), [((1, 1, 1), 2), ((2, 2, 1), 4), ((4, 4, 4), 11)])
def test_n_units_take_n_minus_one_links_and_a_terminator_at_each_end(per_phase, links):
    """T22: the lead is at one end, every unit is in the chain once, the terminators fit the ports that the links leave free."""
    site = row(*per_phase)
    chain = site.chain
    assert len(chain.links) == links
    assert chain.order[0] == site.units.lead
    assert sorted(chain.order) == sorted(site.units.tags)
    assert [(link.start, link.end) for link in chain.links] == list(pairwise(chain.order))
    assert {(str(link.start_port), str(link.end_port)) for link in chain.links} == {("plug", "socket")}
    assert [(t.unit, t.port, t.kind) for t in chain.terminators] == [(chain.order[0], Port("socket"), "plug"), (chain.order[-1], Port("plug"), "socket")]


def test_two_ports_of_the_same_name_are_numbered():
    """S20."""
    chain = hang(three().replace(PORTS, 'ports = ["socket", "socket"]')).chain
    assert {(str(link.start_port), str(link.end_port)) for link in chain.links} == {("socket 1", "socket 2")}
    assert [(str(t.port), t.kind) for t in chain.terminators] == [("socket 2", "plug"), ("socket 1", "plug")]


def test_one_port_or_none_is_told():
    """A unit inside the chain needs two."""
    assert hang(three().replace(PORTS, 'ports = ["plug"]')).finding("one-port").level is Level.STOP
    bare = hang(three().replace(PORTS + "\n", ""))
    assert bare.finding("ports-unanswered").level is Level.CAUTION
    assert bare.chain.links[0].start_port is None
    assert {"one-port", "ports-unanswered"}.isdisjoint(hang(three()).codes())


def test_links_take_the_shortest_stock_that_is_long_enough():
    """1 m between ports and 0.5 m inside the gear: 1.5 m as needed, which is a stock length to the millimetre."""
    chain = hang(three()).chain
    assert [(link.length.value, link.stock.value) for link in chain.links] == [(1.5, 1.5), (1.5, 1.5)]
    assert chain.length.value == 3.0


def test_a_link_over_the_longest_stock_length_stops_the_plan():
    """4 m apart with the load board between, round which it goes (0.25 m up and down): 5 m with what goes inside; links of at most 3 m."""
    site = hang(three(size=(8, 2.4), xs=(0.8, 1.8, 5.8)))
    told = site.finding("link-too-long")
    assert (told.level, told.about) == (Level.STOP, "plan.chain.links[L2-1 > L3-1].length")
    assert "needs 5 m" in told.text
    assert "3 m" in told.text
    assert "link-too-long" not in hang(three()).codes()
    assert "link-lengths-unanswered" in hang(three().replace('link_lengths = ["0.5 m", "1.5 m", "3 m"]\n', "")).codes("caution")


def test_the_bus_is_held_against_its_manual_and_its_bit_rate():
    """As bought 3 m: over a limit of 2.5 m; CAN at 1 Mbit/s is planned up to 25 m (makers' planning tables)."""
    assert hang(three().replace('length_max = "40 m"', 'length_max = "2.5 m"')).finding("bus-too-long").level is Level.STOP
    long = TWELVE.replace('["0.5 m", "1.5 m", "3 m"]', '["3 m"]')
    assert hang(long).chain.length.value == 33
    assert "bus-too-long-for-rate" not in hang(long).codes()
    told = hang(long.replace("500 kbit/s", "1 Mbit/s")).finding("bus-too-long-for-rate")
    assert "25 m" in told.text


def test_a_bus_node_at_an_end_carries_that_ends_terminator():
    """T22, S20: the meter is plugged into the port that the links leave free."""
    site = hang(three('[[bus_nodes]]\nname = "Meter"\nend = "last"\n'))
    last = site.chain.order[-1]
    assert [(t.unit, t.port, t.kind) for t in site.chain.terminators] == [("L1-1", Port("socket"), "plug"), ("Meter", None, None)]
    assert [(n.name, n.unit, n.port) for n in site.chain.nodes] == [("Meter", last, Port("plug"))]
    assert "bus-node-end-unanswered" in hang(three('[[bus_nodes]]\nname = "Meter"\n')).codes("caution")


def test_a_stub_is_as_long_as_the_bus_and_its_rate_allow():
    """CAN at 500 kbit/s 5 m, at 300 kbit/s no more, above 1 Mbit/s none; RS-485 40 m shared by three units, at most 20; neither known: the shorter."""
    meter = '[[bus_nodes]]\nname = "Meter"\nend = "last"\n'
    stub = lambda text: site.longest_stub.value if (site := hang(text).chain).longest_stub else None  # noqa: E731
    assert stub(three()) == stub(three().replace("500 kbit/s", "300 kbit/s")) == 5.0
    assert stub(three().replace("500 kbit/s", "2 Mbit/s")) == 0.0
    assert stub(three().replace('"CAN"', '"RS-485"')) == pytest.approx(40 / 3)
    assert stub(three(meter).replace('"CAN"', '"RS-485"')) == 10.0
    assert stub(three().replace('kind = "CAN"\n', "")) == 5.0
    assert stub(three().replace('bit_rate = "500 kbit/s"\n', "")) is None
    assert "on a stub, 5 m long at most" in hang(three(meter)).finding("bus-node-cable").remedy
    assert "splitter, 5 m" in hang(three().replace('["plug", "socket"]', '["plug"]')).finding("one-port").remedy


def test_a_single_unit_has_no_chain():
    """No link, no terminator; with a node beside it both ends are closed."""
    one = '[output]\narrangement = "single-phase"\n[unit.bus]\nkind = "CAN"\nbit_rate = "500 kbit/s"\n[set]\nper_phase = [1]\n'
    assert (hang(one).chain.links, hang(one).chain.terminators) == ((), ())
    assert (hang(one).chain.resistance, hang(one).chain.longest_stub) == (None, None)
    assert [t.unit for t in hang(one + '[[bus_nodes]]\nname = "Meter"\nend = "last"\n').chain.terminators] == ["L1-1", "Meter"]


def test_a_managed_banks_data_lead_is_routed():
    """From the bank at 1.8 m to the unit above it."""
    site = hang(three('[[storage.links]]\nbank = "B1"\nunit = "L2-1"\n'))
    lead = site.chain.data[0]
    assert (lead.bank, lead.unit, len(site.chain.data)) == ("B1", "L2-1", 1)
    assert lead.length.value >= 1.2 + 0.5


@pytest.mark.parametrize("seed", range(25))
def test_the_chain_of_a_random_wall_is_the_shortest_that_enumeration_finds(seed):
    """Up to seven units: total length of the pairwise best routes, every order tried."""
    rng = Random(seed)
    count = rng.randint(3, 7)
    tags = [f"L{1 + n % 3}-{1 + n // 3}" for n in range(count)]
    per_phase = [sum(t.startswith(f"L{p}") for t in tags) for p in (1, 2, 3)]
    things = [place("unit", round(0.4 + rng.random() * 5, 2), round(0.6 + rng.random() * 1.4, 2), tag) for tag in tags]
    things += [place("obstacle", round(rng.random() * 6, 2), round(rng.random() * 2.4, 2), width=0.3, height=0.4)]
    text = BASE.replace('link_lengths = ["0.5 m", "1.5 m", "3 m"]\n', "") + f'[set]\nper_phase = {per_phase}\n[wall]\nwidth = "6 m"\n' + "".join(things)
    site = hang(text)
    grid = ground(site.facts, site.wall).grid(site.wall.lanes["comms"])
    pairs = {(a, b): length(path) for a in tags for b in tags if a != b and (path := grid.way(a, b))}

    def worth(order):
        return sum((a, b) not in pairs for a, b in pairwise(order)), sum(pairs.get((a, b), 0) for a, b in pairwise(order))

    best = min(worth(("L1-1", *rest)) for rest in permutations(tags[1:]))
    assert worth(site.chain.order) == best
    assert f"{best[1] / 1000:.3f} m" in site.chain.proof


def test_the_separation_is_the_larger_of_the_standard_and_practice():
    """24 circuits of 20 A: P = 2, so 200 mm unscreened (S = 100), 600 mm for an unknown cable (S = 300), by EN 50174-2; batteries 300 mm."""
    known = {kind: f.value for kind, f in ground(hang(TWELVE).facts, hang(TWELVE).wall).kept.items()}
    assert known["battery"] == 0.3
    assert known["load"] == pytest.approx(0.2)
    unknown = hang(TWELVE.replace("screened = false\n", ""))
    assert ground(unknown.facts, unknown.wall).kept["load"].value == pytest.approx(0.6)
    assert "unit.bus.screened" in next(f.remedy for f in unknown.findings if f.code == "comms-beside-power" and "load cables" in f.text)
    few = hang(three())
    assert ground(few.facts, few.wall).kept["load"].value == pytest.approx(0.2)


def test_data_laid_on_the_battery_lane_is_told_and_another_lane_cures_it():
    """The report says by how much and names a height; at that height it is gone."""
    bad = hang(three('[[routes]]\ncarries = "comms"\nlane = "0.3 m"\n'))
    told = bad.finding("comms-lane-near-power")
    assert told.level is Level.CAUTION
    assert "lies on the battery lane" in told.text
    # In the lane: down 1.2 m twice and up twice per link beside the battery leads, and the metre along.
    assert "Laid in it" in told.text
    assert "Move the comms lane to 0.6 m" in told.remedy
    assert "comms-lane-near-power" not in hang(three('[[routes]]\ncarries = "comms"\nlane = "0.6 m"\n')).codes()


def test_a_breach_that_no_route_avoids_is_told_and_a_divider_cures_it():
    """Two rows too close: data between them must run beside the battery leads; an earthed metal divider ends that."""
    site = hang(TWELVE)
    told = site.finding("comms-beside-power")
    assert (told.level, told.about) == (Level.CAUTION, "plan.chain.beside_power")
    assert site.chain.beside.value > 0
    cured = hang(TWELVE + '[[routes]]\ncarries = "comms"\ncontainment = "solid"\n')
    assert "comms-beside-power" not in cured.codes()
    assert cured.chain.beside.value == 0


def test_three_units_in_a_row_are_chained_without_any_breach():
    """Straight from port to port between the cables: nothing alongside within the separation."""
    site = hang(three())
    assert (site.chain.beside.value, site.chain.crossings) == (0, 0)
    assert {"comms-beside-power", "comms-lane-near-power"}.isdisjoint(site.codes())


def test_data_cables_join_what_is_there():
    """A link to a bank or a unit that the site has not is no cable; its finding is the banks'."""
    site = hang(three(*(f'[[storage.links]]\nbank = "{bank}"\nunit = "{unit}"\n' for bank, unit in (("B1", "L2-1"), ("B9", "L1-1"), ("B1", "L1-9"))), "[[storage.links]]\n"))
    assert [(lead.bank, lead.unit) for lead in site.chain.data] == [("B1", "L2-1")]


def test_no_units_no_chain():
    """A draft without a set."""
    site = hang('[wall]\nwidth = "4 m"\n')
    assert (site.chain.order, site.chain.links) == ((), ())


def test_a_lead_in_the_middle_sends_no_link_round_the_wall():
    """S19: the units on either side of the lead are joined past it, within once and a half the shortest way and a metre, though that runs beside power."""
    site = hang(three().replace("[set]\n", '[set]\nlead = "L2-1"\n', 1))
    assert site.chain.order[0] == "L2-1"
    places = {place.name: place.at for place in site.wall.places}
    for link in site.chain.links:
        (ax, ay), (bx, by) = places[link.start], places[link.end]
        drawn = sum(abs(q[0] - p[0]) + abs(q[1] - p[1]) for p, q in pairwise(link.path))
        assert drawn <= (abs(ax - bx) + abs(ay - by)) / 1000 * 1.5 + 1 + 1e-9
    assert not {"link-too-long", "no-way-for-link"} & set(site.codes("stop"))


def test_a_shorter_chain_is_given_up_for_one_that_stock_links_serve():
    """L1-1, L3-1, L1-2, L2-1 would take 0.7 + 2.3 + 2.8 m, and 3.3 m for its last link with what goes inside; the longest there is has 3 m."""
    units = {"L1-1": (2.0, 1.9), "L2-1": (1.3, 1.0), "L3-1": (2.7, 1.9), "L1-2": (4.1, 1.0)}
    hung = "".join(place("unit", x, y, tag) for tag, (x, y) in units.items())
    site = hang(BASE + '[set]\nper_phase = [2, 1, 1]\nlead = "L1-1"\n[wall]\nwidth = "6 m"\nheight = "2.6 m"\n' + hung)
    assert site.chain.order == ("L1-1", "L2-1", "L3-1", "L1-2")
    assert "link-too-long" not in site.codes()
