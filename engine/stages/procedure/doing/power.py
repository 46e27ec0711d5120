"""What the steps make and read from the first fuse to solar."""

from __future__ import annotations

from engine.model.acts import EARTH, RESIDUAL, SUPPLY, Act, Instrument, Reading, Verb, after, before, fuse, opener
from engine.stages.circuits import Ends, lines_of
from engine.stages.procedure.doing.readings import Doing, ac, apart, around, dc, joined, looked, nothing
from engine.stages.procedure.site import Site
from engine.stages.units import UnitPlace
from engine.tables.verification import chain_bounds, volts

_BONDED = 2.0  # V that a bonded neutral may have to earth; common practice, no source


def fit_fuses(names: list[str]) -> Doing:
    """What stands on every link, and where its holder is."""
    for name in names:
        yield looked(fuse(name), "rating")
        yield looked(fuse(name), "end of its cable")
        yield Act(Verb.FIT, fuse(name))


def _window(site: Site, bank: str) -> tuple[float | None, float | None]:
    return site.window(bank, 1) or (volts("dead"), None)


def on(site: Site, bank: str) -> Doing:
    """A managed bank is switched on."""
    if site.facts.answers.storage.managed:
        yield Act(Verb.ON, bank)


def bank_polarity(site: Site, bank: str) -> Doing:
    """The bar dead and free of a short; the whole bank at its open isolator."""
    yield apart(f"bar {bank} plus", f"bar {bank} minus")
    yield from on(site, bank)
    yield dc(before(f"battery {bank}", "plus"), before(f"battery {bank}", "minus"), *_window(site, bank))


def bank_close(bank: str, later: tuple[str, ...]) -> Doing:
    """Onto its bar; cables of other banks' units stay dead."""
    yield Act(Verb.CLOSE, opener(f"battery {bank}"))
    for tag in later:
        yield nothing(before(f"battery {tag}", "plus"), before(f"battery {tag}", "minus"), "banks_apart")


def earthed_pole(site: Site, bank: str, bond: Ends, *, close: bool) -> Doing:
    """An earthed pole reads nothing to earth, the other the whole bank."""
    if close:
        yield from on(site, bank)
    low, high = _window(site, bank)
    pole = str(site.facts.earthed_pole)
    yield nothing(f"{bond.start} {pole}", EARTH, "across_isolator")
    if pole == "minus":
        yield dc(f"{bond.start} plus", EARTH, low, high)
    else:
        yield dc(EARTH, f"{bond.start} minus", low, high)


def unit_polarity(site: Site, bank: str, tag: str, *, first: bool) -> Doing:
    """At the open isolator of a unit, on the side of the battery."""
    if first:
        yield from on(site, bank)
    yield dc(before(f"battery {tag}", "plus"), before(f"battery {tag}", "minus"), *_window(site, bank))
    others = [other.name for other in site.banks.banks if other.name != bank]
    if others and not site.facts.earthed_pole:
        yield joined(before(f"battery {tag}", "minus"), f"{bank} minus")
        for other in others:
            yield apart(before(f"battery {tag}", "minus"), f"{other} minus")


def pre_charge(tag: str) -> Doing:
    """Resistor across one pole, lead across the other: a reversed unit shows minus, one that is on or open shows less."""
    circuit = f"battery {tag}"
    yield Act(Verb.PLUG, f"pre-charge {tag}")
    off = volts("pre_charged")
    yield dc(f"{tag} plus", f"{tag} minus", -off, off, (before(circuit, "plus"), before(circuit, "minus")))


def battery_close(tag: str) -> Doing:
    """The unit on its battery."""
    circuit = f"battery {tag}"
    yield Act(Verb.CLOSE, opener(circuit))
    yield Act(Verb.UNPLUG, f"pre-charge {tag}")
    off = volts("unit_to_bar")
    yield dc(f"{tag} plus", f"{tag} minus", -off, off, (before(circuit, "plus"), before(circuit, "minus")))


def links(site: Site) -> Doing:
    """Every data cable between units."""
    for link in site.chain.links:
        yield Act(Verb.PLUG, f"link {link.start} to {link.end}")
    for node, name in zip(site.chain.nodes, site.chain.beyond, strict=True):
        yield Act(Verb.PLUG, f"link {node.unit} to {name}")
    yield looked("data cables", "no ring")


def chain_resistance(one: str, other: str, *, last: bool) -> Doing:
    """One terminator in, read at the open port of the other end."""
    if last:
        yield Act(Verb.UNPLUG, f"terminator {other}")
    yield Act(Verb.PLUG, f"terminator {one}")
    yield Reading(Instrument.OHM, (f"{other} data A", f"{other} data B"), *chain_bounds(1))
    if last:
        yield Act(Verb.PLUG, f"terminator {other}")


def sensor(site: Site, bank: str) -> Doing:
    """What watches a bank."""
    yield Act(Verb.PLUG, f"temperature sensor {bank}")
    if any(lead.bank == bank for lead in site.chain.data):
        yield Act(Verb.PLUG, f"data lead {bank}")


def switch_on(site: Site) -> Doing:
    """The units find each other."""
    for tag in site.units.tags:
        yield Act(Verb.ON, tag)
    if site.several:
        yield Reading(Instrument.DISPLAY, ("set", "units that answer"), want=str(len(site.units.units)))


def display(site: Site, unit: UnitPlace) -> Doing:
    """What a unit says that it is, and every setting once more: it was off since it was read back."""
    for setting in site.settings.of.get(unit.tag, ()):
        yield Reading(Instrument.DISPLAY, (unit.tag, setting.setting), want=setting.value)


def bank_seen(site: Site, bank: str) -> Doing:
    """What a unit sees of its bank."""
    yield Reading(Instrument.DISPLAY, (bank, "temperature sensor"), want="seen")
    if any(lead.bank == bank for lead in site.chain.data):
        yield Reading(Instrument.DISPLAY, (bank, "data lead"), want="seen")


def unit_voltage(site: Site, unit: UnitPlace, *, bridged: bool, closed: bool, foreign: str | None) -> Doing:
    """At the open load isolator, then closed: unlike poles show line voltage across it. `closed`: a unit of its phase feeds the bar already."""
    circuit, voltage = f"load {unit.tag}", site.facts.output_voltage.value
    line, neutral = before(circuit, "L"), before(circuit, "N")
    if bridged:
        yield Act(Verb.PLUG, f"bridge {unit.tag} neutral")
    yield ac(line, neutral, *around(voltage, 0.05))
    yield ac(line, f"load bar {unit.phase}", None, 2.0) if closed else ac(f"load bar {unit.phase}", "load bar N", None, 2.0)
    between = site.line_voltage()
    if foreign and between:
        yield ac(line, f"load bar {foreign}", between.value * 0.95, between.value * 1.05)
    if bridged:
        yield Act(Verb.UNPLUG, f"bridge {unit.tag} neutral")
    yield Act(Verb.CLOSE, opener(circuit))


def bars(site: Site) -> Doing:
    """The load bars among themselves."""
    between = site.line_voltage()
    for place, one in enumerate(site.facts.phases):
        for other in site.facts.phases[place + 1 :]:
            if between:
                yield ac(f"load bar {one}", f"load bar {other}", between.value * 0.95, between.value * 1.05)
    if site.turning:
        yield Reading(Instrument.ROTATION, tuple(f"load bar {line}" for line in site.facts.phases), want=site.turning[0])


def incoming_voltage(site: Site, common: Ends) -> Doing:
    """What comes in, at the open isolator."""
    if site.incoming == "generator":
        yield Act(Verb.CLOSE, SUPPLY)
    lines = lines_of(site.facts, common) if site.several else ("L",)
    window = around(site.facts.figures["incoming.voltage"].value, 0.10)
    for line in lines:
        yield ac(before(common.name, line), before(common.name, "N"), *window)
    if len(lines) == 3:
        yield Reading(Instrument.ROTATION, tuple(before(common.name, line) for line in lines), want="123")


def trips(site: Site) -> Doing:
    """The residual-current device on each line."""
    for phase in site.facts.phases:
        yield Reading(Instrument.TRIP, (f"consumers {phase}", EARTH), want="trips")


def trip_alone(site: Site, common: Ends) -> Doing:
    """In island mode: filters of many units let the device trip though no bond is there, so the neutral's voltage to earth is read too."""
    yield Act(Verb.CLOSE, opener(common.name))
    yield Act(Verb.CLOSE, RESIDUAL)
    if site.facts.answers.earthing.island_bond != "none":
        yield ac("consumers N", EARTH, None, _BONDED)
        yield from trips(site)


def test_load(site: Site) -> Doing:
    """A heater on each line in turn, all lines read: the first load is none that a lost neutral could harm."""
    yield from _heater(site, around(site.facts.output_voltage.value, 0.05))


def trip_incoming(site: Site) -> Doing:
    """Both tests once more, with the supply in. On IT earthing a first fault trips nothing, but where a fixed link earths the neutral."""
    if site.trips_following:
        yield from trips(site)
    yield from _heater(site, around(site.facts.figures["incoming.voltage"].value, 0.10))


def _heater(site: Site, window: tuple[float, float]) -> Doing:
    for phase in site.facts.phases:
        yield Act(Verb.PLUG, f"test load {phase}")
        for line in site.facts.phases:
            yield ac(f"consumers {line}", "consumers N", *window)
            if line != phase:
                off = site.facts.output_voltage.value * 0.05
                yield Reading(Instrument.AC, (f"consumers {phase}", "consumers N"), -off, off, (f"consumers {line}", "consumers N"))
        yield Act(Verb.UNPLUG, f"test load {phase}")


def incoming_close(site: Site, common: Ends) -> Doing:
    """The supply let in, behind a bar that was dead."""
    if site.several:
        for unit in site.units.units:
            yield Act(Verb.CLOSE, opener(f"incoming {unit.tag}"))
        for line in site.facts.incoming_lines:
            yield ac(f"incoming bar {line}", "incoming bar N", None, 2.0)
    yield Act(Verb.CLOSE, opener(common.name))
    for line in lines_of(site.facts, common):
        bar = f"incoming bar {line}" if site.several else after(common.name, "L")
        neutral = "incoming bar N" if site.several else after(common.name, "N")
        yield ac(bar, neutral, *around(site.facts.figures["incoming.voltage"].value, 0.10))
    for unit in site.units.units:
        yield Reading(Instrument.DISPLAY, (unit.tag, "incoming_limit"), want="not above it")


def string_polarity(site: Site, tag: str) -> Doing:
    """Every string before it meets another."""
    cold, sun = site.strings.cold_voc, site.open_voltage()
    for string in range(1, site.facts.trackers * site.facts.strings_on_tracker + 1):
        name = f"solar {tag} string {string}"
        yield dc(f"{name} plus", f"{name} minus", sun[0].value if sun else volts("dead"), cold.value if cold else None)
    yield Act(Verb.JOIN, f"solar {tag} connectors")


def fit_string_fuses(site: Site) -> Doing:
    """What stands on every string fuse."""
    for ends in site.circuits.of("solar", common=False):
        if site.switchgear.fuse(ends):
            yield looked(fuse(ends.name), "rating")
            yield Act(Verb.FIT, fuse(ends.name))


def solar_close(tag: str) -> Doing:
    """The solar input on."""
    yield Act(Verb.CLOSE, opener(f"solar {tag}"))
