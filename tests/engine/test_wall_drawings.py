"""The three drawings of the wall as a foreman sees them: by their SVG alone, on samples and on generated sites."""

import re
from collections import Counter
from functools import cache
from xml.etree import ElementTree as ET

import pytest

from engine.files.emit import emit
from engine.files.read import parse, read
from engine.planner import plan
from engine.sheets.drawings.placing import Box
from engine.sheets.drawings.wall import SIZE, wall_data, wall_drawings, wall_earth, wall_power
from engine.sheets.drawings.wall_scene import scene
from tests.conftest import ROOT
from tests.engine.wall_seen import SVG, faults, seen
from tests.engine.wall_site import BASE, TWELVE, as_planned, hang, place, three
from tests.generated.sites import site

SAMPLES = ("alder-farm", "copper-creek", "ferry-house", "harbour-works", "ridge-lodge")
LETTER = (259.0, 176.0)
SIDES = ("bottom", "left", "right", None)


@cache
def sample(name):
    file = read(ROOT / "sample_sites" / name / "site.toml")
    return plan(file.answers, file.revision)


@cache
def generated(number):
    """A plausible site, whose unit has its terminals and ports somewhere."""
    document = site(number)
    for key, side in (("terminals", SIDES[number % 4]), ("port_side", SIDES[number // 4 % 4])):
        if side:
            document["unit"][key] = side
    file = parse(emit(document).encode(), "site.toml")
    return plan(file.answers, file.revision)


def banks_of(planned):
    """By place the bank that its cables are on."""
    banks = planned.parts.banks
    own = {bank.name: bank.name for bank in banks.banks} | {f"bar {bank.name}": bank.name for bank in banks.banks}
    return own | {tag: bank for tag, bank in banks.bank_of.items() if bank}


def found(planned, size=SIZE):
    units = frozenset(planned.parts.units.tags)
    return {name: list(faults(seen(svg), banks_of(planned), units)) for name, svg in wall_drawings(planned, size).items()}


NOTHING = {f"wall-{name}.svg": [] for name in ("power", "data", "earth")}


@pytest.mark.parametrize("size", [SIZE, LETTER])
@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples_are_drawn_without_fault(name, size):
    """No label on another, off the page or small, no cable in a unit, no line of two banks; everything has room."""
    assert found(sample(name), size) == NOTHING
    for svg in wall_drawings(sample(name), size).values():
        assert not re.search(r">(Beyond the wall|Too close to draw apart|No room for)", svg)


@pytest.mark.parametrize("number", range(40))
def test_plausible_sites_are_drawn_without_fault(number):
    """Where banks pass closer than can be drawn the drawing says so."""
    assert found(generated(number)) == NOTHING


def test_what_is_looked_for_is_seen():
    """The judge sees each fault where there is one."""
    planned = sample("harbour-works")
    svg, banks, units = wall_power(planned), banks_of(planned), frozenset(planned.parts.units.tags)
    box = seen(svg).outlines["L1-1"]

    def told(changed):
        assert changed != svg
        return " ".join(faults(seen(changed), banks, units))

    assert "labels overlap: L1-1 | L2-1" in told(re.sub(r'(<text x=")[^"]*(" y="[^"]*"[^>]*>L2-1<)', rf"\g<1>{(box[0] + box[2]) / 2}\2", svg))
    assert "small: L1-1" in told(re.sub(r'font-size="[^"]*"([^>]*>L1-1<)', r'font-size="3"\1', svg))
    assert "off the page: L1-1" in told(re.sub(r'<text x="[^"]*"([^>]*>L1-1<)', r'<text x="275"\1', svg))
    middle = (box[1] + box[3]) / 2
    through = f'<line x1="1" y1="{middle}" x2="200" y2="{middle}" stroke="#000000"/>'
    assert "a cable inside L1-1: load" in told(svg.replace('data-net="load">', f'data-net="load">{through}'))
    to_it = f'<line x1="1" y1="{middle}" x2="{box[0]}" y2="{middle}" stroke="#000000"/>'
    assert "a cable of B2 ends at L1-1" in told(svg.replace('data-net="battery B2">', f'data-net="battery B2">{to_it}'))
    lane = '<line x1="1" y1="140" x2="200" y2="140" stroke="#000000"/>'
    joined = svg.replace('data-net="battery B2">', f'data-net="battery B2">{lane}').replace('data-net="battery B3">', f'data-net="battery B3">{lane}')
    assert "one line for battery B2 and battery B3" in told(joined)


@pytest.mark.parametrize("name", SAMPLES)
def test_all_three_are_to_one_scale(name):
    """What hangs is at the same place on each."""
    outlines = [seen(svg).outlines for svg in wall_drawings(sample(name)).values()]
    assert outlines[0] == outlines[1] == outlines[2]
    places = [place for place in sample(name).parts.wall.places if place.width]
    assert set(outlines[0]) == {place.name for place in places}
    scale = {round((outlines[0][place.name][2] - outlines[0][place.name][0]) / place.width, 1) for place in places}
    assert max(scale) - min(scale) <= 0.5


@pytest.mark.parametrize("name", SAMPLES)
def test_the_data_drawing_tells_links_terminators_and_crossings(name):
    """A length for each link, two terminators (or what hangs beyond the end), rings that add up to the cables crossed, a place for each unit."""
    planned = sample(name)
    chain = planned.parts.chain
    svg = wall_drawings(planned)["wall-data.svg"]
    bold = Counter(re.findall(r'font-weight="bold"[^>]*>([^<]*)<', svg))
    wanted = Counter(planned.facts.metres(link.stock.value).split(" (")[0] for link in chain.links)
    assert {length: bold[length] for length in wanted} == wanted
    assert sum(int(text) * count for text, count in bold.items() if text.isdigit()) == chain.crossings
    beyond = sum(end.unit not in chain.order for end in chain.terminators)
    assert svg.count(">T<") - 1 == len(chain.terminators) - beyond  # one stands in the legend
    assert svg.count(">T there<") == beyond
    places = set(re.findall(r'font-weight="normal"[^>]*>(\d+)<', svg))
    assert {str(k) for k in range(1, len(chain.order) + 1)} <= places
    assert all(svg.count(f">data {lead.bank}<") == 1 for lead in chain.data)
    nets = re.findall(r'data-net="(link [^"]*|data [^"]*)"', svg)
    assert len(nets) == len(set(nets)) == len(chain.links) + len(chain.data)


@pytest.mark.parametrize("name", ["harbour-works", "ridge-lodge", "ferry-house"])
def test_each_bank_has_its_own_dashes_and_its_name_at_every_unit(name):
    planned = sample(name)
    svg = wall_power(planned)
    drawn = [group for group in ET.fromstring(svg).iter(f"{SVG}g") if group.get("data-net", "").startswith("battery ")]
    looks = {}
    for group in drawn:
        lines = [line for line in group.iter(f"{SVG}line") if not (line.get("stroke") == "#ffffff" and line.get("stroke-linecap") == "butt")]
        look = frozenset((line.get("stroke"), line.get("stroke-width"), line.get("stroke-dasharray")) for line in lines)
        looks.setdefault(group.get("data-net").split()[1], set()).add(look)
    assert set(looks) == {bank.name for bank in planned.parts.banks.banks}
    assert all(len(look) == 1 for look in looks.values())
    assert len({look for [look] in looks.values()}) == len(looks)
    for bank in planned.parts.banks.banks:
        assert len(re.findall(rf">{bank.name}<", svg)) >= 1 + len(bank.units)  # in its outline, and at its units


@pytest.mark.parametrize("side", ["bottom", "left", "right"])
def test_cables_end_at_the_side_of_a_unit_that_was_answered(side):
    """Power at one side, data at another; where nobody said they end at an edge all the same."""
    other = {"bottom": "left", "left": "right", "right": "bottom"}[side]
    said = hang(three().replace("[unit]\n", f'[unit]\nterminals = "{side}"\nport_side = "{other}"\n'))
    shown = scene(said.wall, said.chain, said.circuits, Box(0, 0, 200, 120))
    for ways, at in ((shown.ways, side), (shown.links, other)):
        for way in ways:
            for name, (x, y) in zip(way.ends, (way.points[:1] + way.points[-1:]) or ((0, 0), (0, 0)), strict=True):
                box = shown.box(name)
                if name.startswith("L"):
                    assert {"bottom": y - box.bottom, "left": x - box.left, "right": x - box.right}[at] == pytest.approx(0, abs=0.01)
    unsaid = hang(three())
    open_ = scene(unsaid.wall, unsaid.chain, unsaid.circuits, Box(0, 0, 200, 120))
    for way in (*open_.ways, *open_.links):
        for name, (x, y) in zip(way.ends, way.points[:1] + way.points[-1:], strict=False):
            box = open_.box(name)
            assert min(abs(x - box.left), abs(x - box.right), abs(y - box.top), abs(y - box.bottom)) < 0.01


def test_answered_sides_change_lengths_and_are_no_longer_assumed():
    """Terminals at the bottom: a battery cable from below is shorter, a load cable from above goes round the case."""
    before, after = hang(three()), hang(three().replace("[unit]\n", '[unit]\nterminals = "bottom"\nport_side = "bottom"\n'))
    assert {row.key for row in before.wall.assumed} >= {"unit.terminals", "unit.port_side"}
    assert not {row.key for row in after.wall.assumed} & {"unit.terminals", "unit.port_side"}

    def own(of, name):
        length = of.wall.runs[name].length
        return (length.of[0] if length.how == "chosen" else length).value

    # Bar at (1.2, 0.3), unit at (0.8, 1.5), 0.35 m by 0.5 m; 0.5 m go inside the gear, tenths are rounded up.
    assert [own(of, "battery L1-1") for of in (before, after)] == pytest.approx([2.1, 1.9])  # 0.4 + 1.2 + 0.5; 0.4 + 0.95 + 0.5
    # Load board at (3.6, 1.5), lane at 2.1 m: 0.6 + 2.8 + 0.6 + 0.5; from the bottom round the case 0.175 + 0.85 + 2.625 + 0.6 + 0.5.
    assert [own(of, "load L1-1") for of in (before, after)] == pytest.approx([4.5, 4.8])


def test_a_unit_alone_has_no_port_to_assume():
    alone = hang(BASE.replace("three-phase", "single-phase") + "[set]\nper_phase = [1]\n")
    assert [row.key for row in alone.wall.assumed if row.key.startswith("unit.")] == ["unit.terminals"]


def test_what_is_beyond_the_wall_is_told():
    planned = as_planned(hang(three(xs=(0.8, 1.8, 9))))
    for svg in wall_drawings(planned).values():
        assert ">Beyond the wall: L3-1<" in svg
        assert 'data-name="L3-1"' not in svg


def test_a_bar_without_room_beside_its_bank_is_told_to_sit_on_it():
    """Posts every 0.2 m round the bank: a cable passes, a bar does not. Its cables end at the bank then."""
    beside = [place("obstacle", x, 0.6, width=0.02, height=1.18) for x in (0.7, 0.9, 1.1, 1.3, 2.3, 2.5, 2.7, 2.9)]
    above = [place("obstacle", x, 0.9, width=0.02, height=0.5) for x in (1.5, 1.7, 1.9, 2.1)]
    posted = hang(three(*beside, *above))
    bar = next(row for row in posted.wall.assumed if row.key == "wall.places[bar B1]")
    assert bar.value.startswith("on its bank, ")
    shown = scene(posted.wall, posted.chain, posted.circuits, Box(0, 0, 200, 120))
    bank = shown.box("B1")
    ends = [way.points[0] for way in shown.ways if way.net.kind == "battery" and way.ends[0] == "bar B1"]
    assert len(ends) == 3
    assert all(min(abs(x - bank.left), abs(x - bank.right), abs(y - bank.top)) < 0.01 for x, y in ends)


def test_earths_and_the_bond_of_neutral_are_told():
    svg = wall_earth(sample("alder-farm"))
    assert set(re.findall(r'data-net="([^"]*)"', svg)) == {"earth"}
    assert "while the units run alone, by the changeover relay" in svg
    assert ">earth x4<" in svg  # three units and the board


def test_lanes_are_told_beside_the_wall_on_the_drawing_of_their_cables():
    power, data, earth = (re.sub(r"</text><text[^>]*>", " ", svg) for svg in wall_drawings(as_planned(hang(TWELVE))).values())
    assert all(lane in power for lane in ("0.3 m battery lane", "2.1 m load lane", "1.95 m solar lane"))
    assert "0.15 m earth lane" in earth
    assert "earth lane" not in power + data


def test_a_link_of_no_known_length_has_no_label():
    shut = as_planned(hang(three(place("obstacle", 2.3, 1.2, width=0.1, height=2.4))))
    assert [link.stock and link.stock.value for link in shut.parts.chain.links] == [1.5, None]
    assert len(re.findall(r'font-weight="bold"[^>]*>1.5 m<', wall_data(shut))) == 1


@pytest.mark.parametrize("text", ["", "[set]\nper_phase = [0, 0, 0]\n", place("obstacle", 1, 1, width=0.2, height=0.2), "[set]\nper_phase = [1, 0, 0]\n" + '[[bus_nodes]]\nname = "Meter"\nend = "last"\n'])
def test_a_wall_on_which_hardly_anything_hangs_is_drawn(text):
    """No unit yet, or one alone."""
    for svg in wall_drawings(as_planned(hang(BASE + text))).values():
        assert list(faults(seen(svg), {}, frozenset())) == []
