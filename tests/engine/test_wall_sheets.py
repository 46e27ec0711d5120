"""The wall drawn as text and as SVG: legible, complete, and deaf to what a name would like to say."""

import re
import tomllib
from xml.etree import ElementTree as ET

import pytest

from engine.sheets.drawings.wall import wall_data, wall_drawings, wall_power
from engine.sheets.text.layout import cells
from engine.sheets.text.wall import chain_lines, drawing, legend, wall_text
from tests.conftest import ROOT
from tests.engine.wall_site import BASE, TWELVE, as_planned, hang, place, three

HOSTILE = '\\u001b[31mred</text><script>alert(1)</script>[/b]\\"=1+1 \\u202eevil \\U0001F600'


def planned(text):
    """As much of a plan as the drawings read."""
    return as_planned(hang(text))


NODES = f'[[bus_nodes]]\nname = "{HOSTILE}"\nend = "last"\n'


@pytest.mark.parametrize("text", [TWELVE, three(NODES), three(size=(0, 0)), three(xs=(0.8, 0.9, 50)), BASE, BASE + "[set]\nper_phase = [9, 9, 9]\n"])
@pytest.mark.parametrize("columns", [60, 80, 132])
def test_the_text_is_plain_ascii_within_its_columns(text, columns):
    """Whatever hangs there."""
    parts = planned(text).parts
    lines = [*drawing(parts.wall, parts.chain, columns), *legend(parts.wall, parts.chain, columns), *chain_lines(parts.chain, columns)]
    assert lines
    assert all(len(line) <= columns for line in lines)
    assert all(32 <= ord(char) < 127 for line in lines for char in line)


def test_the_page_says_which_plan_of_which_site_it_is_and_what_stops_it():
    """As every other paper; the drawing below says the same."""
    plan = planned('[site]\nname = "\u6c34\u8eca\u5c0f\u5c4b"\nreference = "W 7"\n' + TWELVE)
    page = wall_text(plan)
    assert page.splitlines()[0].startswith("== WALL ==")
    assert page.splitlines()[0].endswith(" revision 0badcafe, plan feedf00d, phasewright 9.8.7 ==")
    for told in ("Site: \u6c34\u8eca\u5c0f\u5c4b", "Ref: W 7", "Standing: STOPPED - DO NOT ENERGISE", "Local codes", "STOP Too few."):
        assert told in page
    assert max(map(cells, page.splitlines())) <= 80
    for name, svg in wall_drawings(plan).items():
        words = [element.text for element in ET.fromstring(svg).iter()]
        title = f"\u6c34\u8eca\u5c0f\u5c4b: wall, {name[5:-4]}"
        assert {title, "revision 0badcafe, plan feedf00d, phasewright 9.8.7", "STOPPED - DO NOT ENERGISE"} <= set(words)


def test_the_text_shows_every_unit_the_chain_and_the_legend():
    """Tags in the drawing, the lead as 1 with its terminator, links with what to take, lanes with heights."""
    plan = planned(TWELVE)
    text = wall_text(plan)
    picture = "\n".join(drawing(plan.parts.wall, plan.parts.chain))
    assert all(unit in picture for unit in plan.parts.chain.order)
    assert "(1T)" in picture
    assert "(12T)" in picture
    assert "X" in picture
    assert "b battery; " in text
    assert "Lanes, height above the floor: battery 0.3 m; " in " ".join(text.split())
    for link in plan.parts.chain.links:
        assert f"{link.start} plug > {link.end} socket: way {link.length}, take a cable of {link.stock}" in text


def test_the_legend_names_a_lane_only_where_something_lies_in_it():
    """Three units in a row are linked from port to port; a comms lane at their height is used and told, and one no cable takes is not."""
    apart, level = (" ".join(wall_text(planned(three(f'[[routes]]\ncarries = "comms"\nlane = "{y} m"\n'))).split()) for y in (0.95, 1.5))
    assert "= comms links, port to port, not in a lane" in apart
    assert "0.95 m above" not in apart
    assert "= comms links, partly in their lane (1.5 m above the floor)" in level
    high = planned(three('[[routes]]\ncarries = "load"\nlane = "3 m"\n'))
    lanes = " ".join(wall_text(high).split()).partition("above the floor: ")[2]
    assert "battery 0.3 m" in lanes
    assert "load" not in lanes.partition(" Centres")[0]
    assert "load lane" not in wall_power(high)


def test_the_drawing_fits_the_rows_it_is_given_and_picks_out_one_place():
    """For a live view beside other things."""
    plan = planned(TWELVE)
    lines = drawing(plan.parts.wall, plan.parts.chain, 80, rows=14, marked="L2-2")
    assert len(lines) <= 14
    assert sum(line.count("#") for line in lines) >= 6
    assert not any("#" in line for line in drawing(plan.parts.wall, plan.parts.chain, 80, rows=14))


def test_things_are_drawn_where_they_hang():
    """L1-1 hangs left of L2-1 and above the bank."""
    plan = planned(three())
    lines = drawing(plan.parts.wall, plan.parts.chain)
    row = next(k for k, line in enumerate(lines) if "L1-1" in line)
    assert lines[row].index("L1-1") < lines[row].index("L2-1") < lines[row].index("L3-1")
    assert row < next(k for k, line in enumerate(lines) if " B1 " in line)


def test_what_hangs_beyond_the_ceiling_is_not_drawn_elsewhere():
    """A name pushed back into the picture would show a unit where none hangs."""
    high = planned(three().replace('tag = "L3-1"\nx = "2.8 m"\ny = "1.5 m"', 'tag = "L3-1"\nx = "2.8 m"\ny = "9 m"'))
    picture = "\n".join(drawing(high.parts.wall, high.parts.chain))
    assert "L2-1" in picture
    assert "L3-1" not in picture


def test_a_link_without_a_way_is_not_drawn_and_a_unit_alone_has_none():
    """An obstacle from floor to ceiling shuts one link off; the other is drawn. Of one unit no link is told at all."""
    shut = planned(three(place("obstacle", 2.3, 1.2, width=0.1, height=2.4)))
    assert [bool(link.path) for link in shut.parts.chain.links] == [True, False]
    nets = [group.get("data-net") for group in ET.fromstring(wall_data(shut)).iter("{http://www.w3.org/2000/svg}g")]
    assert [net for net in nets if net.startswith("link")] == ["link 1"]
    assert "link, with" in wall_data(shut)
    assert "link, with" not in wall_data(planned(BASE.replace("three-phase", "single-phase") + "[set]\nper_phase = [1]\n"))


def test_the_svg_is_well_formed_and_names_everything():
    """Parsed as XML: every tag of the chain, every lane, every place and link in words; every kind of cable has its own dashes and width."""
    plan = planned(TWELVE)
    root = ET.fromstring(wall_power(plan))
    words = " ".join(element.text or "" for element in root.iter())
    assert all(unit in words for unit in plan.parts.chain.order)
    assert "0.3 m battery lane" in words
    assert {"load board", "incoming board", "solar isolator", "earth bar", "bar B1"} <= set(re.findall(r'data-name="([^"]*)"', wall_power(plan)))
    strokes = {}
    for group in root.iter("{http://www.w3.org/2000/svg}g"):
        lines = [line for line in group.iter("{http://www.w3.org/2000/svg}line") if line.get("stroke") != "#ffffff"]
        [strokes[group.get("data-net")]] = {(line.get("stroke-dasharray"), line.get("stroke-width")) for line in lines}
    assert len(set(strokes.values())) == len({net.split()[0] for net in strokes}) == 4


def test_a_name_can_put_nothing_into_the_svg():
    """Markup, control and direction characters of a site's and a node's name stay text, or go."""
    text = f'[site]\nname = "{HOSTILE}"\n' + three(NODES)
    svg = wall_data(planned(text))
    root = ET.fromstring(svg)
    assert not list(root.iter("{http://www.w3.org/2000/svg}script"))
    assert "<script" not in svg
    assert "\x1b" not in svg
    assert "\u202e" not in svg
    assert {element.tag.split("}")[1] for element in root.iter()} <= {"svg", "title", "rect", "text", "line", "circle", "polyline", "g"}


def test_a_wall_without_size_is_said():
    """No division by nothing."""
    assert "no size" in wall_text(planned(three(size=(0, 0))))
    assert all("no size" in svg for svg in wall_drawings(planned(three(size=(0, 0)))).values())


def test_the_picture_of_the_readme_is_of_the_plan_beside_it():
    """`.ci/pictures` renews it."""
    pictures = [(ROOT / "sample_sites" / "pictures" / f"wall-{name}.svg").read_text(encoding="utf-8") for name in ("power", "data")]
    plan = tomllib.loads((ROOT / "sample_sites" / "harbour-works" / "plan.toml").read_text(encoding="utf-8"))["plan"]
    assert all(f"plan {plan['digest']}" in picture for picture in pictures)
