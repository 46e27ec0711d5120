"""What is asked, on which page, in which order: plain data. Keys are the file's; words are for a person on site.

Pages come in the order of what somebody has in hand: the site itself, the plate of a unit, the bank, the loads, the panels, the wall. `essential`
marks the answers without which no plan is made; they stand first on their page. What a question means and what may be written comes from the
model (`wizard.answers.fields`), what is usual from `usual.toml`; only its short name stands here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal

from engine.facts import has_solar
from engine.frozen import dataclass
from engine.site import Answers
from engine.site.supply import LINES
from engine.site.unit import SETTINGS

When = Callable[[Answers], bool]
Subject = Literal["site", "unit", "bank", "loads", "solar", "wall", "routes", "review"]


def _always(_: Answers) -> bool:
    return True


@dataclass(frozen=True)
class Circumstances:
    """What of a site changes how a question is put: the rules, the phases that there are, what comes in."""

    rules: str = "iec"
    arrangement: str | None = None
    incoming: str | None = None


@dataclass(frozen=True)
class Question:
    """One answer asked for: its key (within an entry: relative to it), its short name, whether no plan is made without it.

    `example` stands beside it where it is no quantity. `under` is what the site is that it is put to.
    """

    key: str
    name: str
    essential: bool = False
    when: When = _always
    example: str = ""
    under: Circumstances = Circumstances()


@dataclass(frozen=True)
class Column:
    """One column of a table: the question within an entry, its head, its width."""

    key: str
    head: str
    width: int


@dataclass(frozen=True)
class Table:
    """An array of the file, typed in place: its title, what one entry is called, what it is asked, and what of that has a column.

    Questions that have no column are asked one below the other.
    """

    key: str
    title: str
    one: str
    questions: tuple[Question, ...]
    columns: tuple[Column, ...]


@dataclass(frozen=True)
class Page:
    """One page: its title, why it is there, what its figures are about, its questions, the array on it, and when it applies."""

    name: str
    title: str
    intro: str
    subject: Subject
    questions: tuple[Question, ...] = ()
    table: Table | None = None
    when: When = _always


def _incoming(answers: Answers) -> bool:
    return answers.incoming.kind != "none"


def _generator(answers: Answers) -> bool:
    return answers.incoming.kind == "generator"


def _phases(answers: Answers) -> bool:
    return answers.output.arrangement != "single-phase"


def _several(answers: Answers) -> bool:
    return answers.set.count != 1


def _is(setting: str, value: str) -> When:
    """Whether a setting may have that value on this site."""

    def may(answers: Answers) -> bool:
        arrangement, storage = answers.output.arrangement, answers.storage
        told: Mapping[str, str | None] = {
            "arrangement": arrangement,
            "chemistry": storage.chemistry,
            "managed_battery": None if storage.managed is None else "yes" if storage.managed else "no",
        }
        if setting == "phase":
            return arrangement is None or value in LINES[arrangement]
        return told.get(setting) in (None, value)

    return may


def _words(setting: str) -> tuple[Question, ...]:
    ours = setting.replace("_", " ")
    return (
        Question(f"unit.labels.{setting}.name", ours),
        *(Question(f"unit.labels.{setting}.{value}", f"  {ours}: {value}", when=_is(setting, value)) for value in SETTINGS[setting]),
    )


LOADS = Table(
    "loads",
    "Loads",
    "load",
    (
        Question("machine", "Machine"),
        Question("name", "Name"),
        Question("power", "Power of one, running"),
        Question("apparent_power", "Its apparent power"),
        Question("quantity", "How many alike", example="1"),
        Question("phase", "Phase", when=_phases),
        Question("energy", "Use in a day, of one"),
        Question("profile", "When it is used"),
        Question("power_factor", "Power factor"),
        Question("demand", "Share running at once"),
        Question("motor", "Does a motor start in it"),
        Question("start_multiple", "Starting current, times"),
        Question("third_harmonic", "Third harmonic"),
    ),
    (
        Column("machine", "Machine", 17),
        Column("name", "Name", 16),
        Column("power", "Power", 8),
        Column("quantity", "No.", 4),
        Column("phase", "Phase", 6),
        Column("energy", "Each a day", 14),
    ),
)
BUS_NODES = Table(
    "bus_nodes",
    "Other devices on the bus",
    "device",
    (Question("name", "Name"), Question("end", "End of the bus")),
    (Column("name", "Name", 30), Column("end", "End of the bus", 14)),
)
LINKS = Table(
    "storage.links",
    "Data cables from banks",
    "data cable",
    (Question("bank", "From bank", example="B1"), Question("unit", "To unit", example="L1-1")),
    (Column("bank", "From bank", 10), Column("unit", "To unit", 10)),
)
PLACES = Table(
    "wall.places",
    "What hangs where",
    "place",
    (
        Question("what", "What hangs there"),
        Question("tag", "Which unit or bank", example="L1-1"),
        Question("x", "From the left, centre"),
        Question("y", "From the floor, centre"),
        Question("width", "Its width"),
        Question("height", "Its height"),
    ),
    (
        Column("what", "What", 14),
        Column("tag", "Which", 14),
        Column("x", "From left", 10),
        Column("y", "From floor", 10),
        Column("width", "Width", 9),
        Column("height", "Height", 9),
    ),
)
ROUTES = Table(
    "routes",
    "Routes",
    "route",
    (
        Question("carries", "Cables carry"),
        Question("to", "Only the one to", example="L1-1"),
        Question("lane", "Height of the lane"),
        Question("method", "How it is laid"),
        Question("length", "Measured length"),
        Question("insulation", "Insulation"),
        Question("grouped", "Circuits together", example="3"),
        Question("containment", "Between it and data"),
        Question("metal", "Metal"),
        Question("resistance", "Measured resistance"),
        Question("extra", "Extra inside the gear"),
    ),
    (
        Column("carries", "Carry", 8),
        Column("method", "Laid", 5),
        Column("insulation", "Insulation", 10),
        Column("containment", "To data", 10),
        Column("grouped", "Together", 8),
        Column("lane", "Lane", 9),
        Column("length", "Length", 8),
        Column("to", "Only to", 7),
    ),
)

PAGES: tuple[Page, ...] = (
    Page(
        "site",
        "The site",
        "What must come out, what comes in, and where neutral meets earth. A star: no plan without it.",
        "site",
        (
            Question("output.arrangement", "Phases of the supply", essential=True),
            Question("set.count", "Number of units", essential=True, example="6"),
            Question("incoming.kind", "What comes in"),
            Question("incoming.breaker", "Incoming breaker", essential=True, when=_incoming),
            Question("earthing.island_bond", "Neutral-earth bond, island", essential=True),
            Question("incoming.rating", "Generator rating", when=_generator),
            Question("incoming.prospective_fault", "Fault level there", when=_incoming),
            Question("earthing.system", "Earthing of the supply", when=_incoming),
            Question("set.per_phase", "Units on each phase", when=_phases),
            Question("incoming.arrangement", "Phases coming in", when=_incoming),
            Question("site.rules", "Wiring rules"),
            Question("site.ambient_max", "Hottest in the room"),
            Question("site.ambient_min", "Coldest in the room"),
            Question("output.voltage", "Voltage to neutral"),
            Question("output.frequency", "Frequency"),
            Question("incoming.voltage", "Voltage coming in", when=_incoming),
            Question("earthing.bond_at", "Where that bond is", example="the changeover board"),
            Question("site.name", "Name of the site"),
        ),
    ),
    Page(
        "unit",
        "Copy from the unit's plate",
        "All units are the same. What the plate does not say stands in the datasheet.",
        "unit",
        (
            Question("unit.real_power", "Power of one unit", essential=True),
            Question("unit.dc_max", "Highest battery voltage", essential=True),
            Question("unit.transfer_current", "Transfer current", essential=True, when=_incoming),
            Question("unit.apparent_power", "Apparent power of a unit"),
            Question("unit.dc_min", "Lowest battery voltage"),
            Question("unit.charge_current", "Charging by one unit"),
            Question("unit.surge_power", "Surge power"),
            Question("unit.efficiency", "Efficiency"),
            Question("unit.fault_current", "Short-circuit current"),
            Question("unit.width", "Width of a unit"),
            Question("unit.height", "Height of a unit"),
            Question("unit.clearance", "Free space around a unit"),
            Question("unit.surge_time", "Surge lasts"),
            Question("unit.weight", "Weight of a unit"),
            Question("unit.model", "Model of the unit"),
        ),
    ),
    Page(
        "bank",
        "The bank",
        "One module from its datasheet, and how modules make a bank. A wrong storage mode destroys equipment.",
        "bank",
        (
            Question("storage.connection", "How banks meet units", essential=True),
            Question("storage.chemistry", "Kind of cells", essential=True),
            Question("storage.module.voltage", "Module voltage", essential=True),
            Question("storage.module.capacity", "Module capacity", essential=True),
            Question("storage.module.charge_current", "Module charging, most", essential=True),
            Question("storage.module.discharge_current", "Module discharging, most", essential=True),
            Question("storage.module.resistance", "Module resistance", essential=True),
            Question("storage.bank.parallel", "Strings in parallel", essential=True, example="4"),
            Question("storage.bank.feed", "Leads leave the row"),
            Question("storage.module.cells", "Cells in a module", example="16"),
            Question("storage.module.absorption", "Charging voltage"),
            Question("storage.module.float", "Float voltage"),
            Question("storage.module.low", "Lowest voltage"),
            Question("storage.bank.series", "Modules in series", example="1"),
            Question("storage.autonomy", "Must last"),
            Question("storage.depth", "Share to be used"),
            Question("storage.module.short_circuit_current", "Module short circuit"),
            Question("storage.module.resistance_measured", "Was that measured"),
            Question("storage.bank.joint_resistance", "Joint resistance"),
            Question("storage.earthed", "Earthed pole"),
            Question("storage.fuse_factor", "Fuse in its warm box"),
        ),
    ),
    Page("loads", "Loads", "What must run. Name the machine: what you do not know of it is taken as usual for one.", "loads", table=LOADS),
    Page(
        "solar",
        "Solar: panels",
        "From the label on the back of a panel. No panels: leave this page empty.",
        "solar",
        (
            Question("solar.power", "Power of a panel"),
            Question("solar.voc", "Open-circuit voltage"),
            Question("solar.vmp", "Voltage at full power"),
            Question("solar.isc", "Panel short circuit, Isc"),
            Question("solar.imp", "Current at full power"),
            Question("solar.voc_coefficient", "Voc coefficient"),
            Question("solar.vmp_coefficient", "Vmp coefficient"),
            Question("solar.series", "Panels in a string", example="8"),
            Question("site.roof_min", "Coldest on the roof"),
            Question("solar.parallel", "Strings per tracker", example="1"),
            Question("solar.trackers", "Trackers used per unit", example="1"),
            Question("solar.sun_hours", "Sun hours, worst month"),
        ),
    ),
    Page(
        "inputs",
        "Solar: the unit's inputs",
        "From the unit's datasheet. Too much voltage on a cold morning destroys it.",
        "solar",
        (
            Question("unit.solar.voltage_max", "Destroyed above"),
            Question("unit.solar.mppt_min", "Tracker works from"),
            Question("unit.solar.mppt_max", "Tracker works to"),
            Question("unit.solar.current_max", "Current of a tracker"),
            Question("unit.solar.short_circuit_max", "Short circuit, tracker"),
            Question("unit.solar.trackers", "Trackers of a unit", example="2"),
            Question("unit.solar.power_max", "Solar power of one unit"),
            Question("unit.solar.charge_current", "Charging by solar"),
        ),
        when=has_solar,
    ),
    Page(
        "wall",
        "The wall",
        "Where everything hangs: lengths and routes come from here. Space takes a thing up in the drawing, arrows move it.",
        "wall",
        (Question("wall.width", "Width of the wall"), Question("wall.height", "Height of the wall")),
        PLACES,
    ),
    Page(
        "routes",
        "Routes of the cables",
        "How cables run: a line for a kind of cable, or for one cable. A measured length wins over the wall.",
        "routes",
        table=ROUTES,
    ),
    Page(
        "bus",
        "The unit's data ports",
        "Links and terminators are no stock items: what you answer here is bought ahead. Below: other devices on the bus.",
        "unit",
        (
            Question("unit.bus.ports", "Ports on the unit", example="plug, socket"),
            Question("unit.bus.link_lengths", "Links are sold in"),
            Question("unit.bus.length_max", "Longest bus allowed"),
            Question("unit.bus.kind", "Kind of bus"),
            Question("unit.bus.bit_rate", "Bit rate"),
            Question("unit.bus.screened", "Screened cable"),
        ),
        BUS_NODES,
        when=_several,
    ),
    Page(
        "wired",
        "The bank as wired",
        "When the cables hang: trace each unit's pair by hand and name its bank. Below: data cables from bank to unit.",
        "bank",
        table=LINKS,
    ),
    Page(
        "set",
        "The set: lead, losses, drop",
        "Who leads, what must go on when a unit is lost, and how much voltage cables may take.",
        "site",
        (
            Question("set.spare", "Units to spare", example="0"),
            Question("set.lead", "The leading unit", when=_several, example="L1-1"),
            Question("set.lead_loss", "If the lead is lost", when=_several),
            Question("set.phase_loss", "If a phase is lost", when=_phases),
            Question("unit.max_units", "Most units in a set", example="12"),
            Question("site.altitude", "Height above the sea"),
            Question("drop.battery", "Drop: battery"),
            Question("drop.bar", "Drop: bank to bar"),
            Question("drop.load", "Drop: load"),
            Question("drop.incoming", "Drop: incoming", when=_incoming),
            Question("drop.solar", "Drop: solar", when=has_solar),
            Question("site.reference", "Your order number"),
        ),
    ),
    Page(
        "case",
        "The unit's terminals",
        "What its terminals take, and what the manual says of its inside.",
        "unit",
        (
            Question("unit.dc_terminal_max", "Battery terminal takes"),
            Question("unit.ac_terminal_max", "AC terminal takes"),
            Question("unit.terminal_temperature", "Terminals rated for"),
            Question("unit.dc_stud", "Battery stud"),
            Question("unit.dc_torque", "Battery stud torque"),
            Question("unit.ac_torque", "AC terminal torque"),
            Question("unit.settle_time", "Wait between off and on"),
            Question("unit.ripple", "Ripple in the cable"),
            Question("unit.dc_capacitance", "Battery-side capacitors"),
        ),
    ),
    Page(
        "words",
        "The maker's words",
        "Copy from your manual what its menus call these settings; the sheets print them beside ours.",
        "unit",
        tuple(question for setting in SETTINGS for question in _words(setting)),
    ),
    Page("review", "Review and save", "What the plan says, and what still stops it.", "review"),
)


@dataclass(frozen=True)
class Wording:
    """Other words for a question where the site is so: each that is empty stays."""

    key: str
    when: Callable[[Circumstances], bool]
    why: str = ""
    how: str = ""
    example: str = ""


def _from_generator(under: Circumstances) -> bool:
    return under.incoming == "generator"


def _two_legs(under: Circumstances) -> bool:
    return under.arrangement == "split-phase"


WORDINGS: tuple[Wording, ...] = (
    Wording("incoming.breaker", _from_generator, how="It is printed on the front of the generator's breaker."),
    Wording(
        "incoming.prospective_fault",
        _from_generator,
        "The most current the generator drives into a short circuit there.",
        "The generator's manual, sustained short-circuit current. Don't know: leave it open.",
    ),
    Wording(
        "incoming.arrangement", _from_generator, how="Count the poles of the generator's breaker: one, two or three beside the neutral."
    ),
    Wording(
        "earthing.system",
        _from_generator,
        "How the generator is earthed.",
        "The generator's manual: TN-S where its neutral is joined to its frame and to earth, IT where no pole is.",
    ),
    Wording("set.per_phase", _two_legs, "Units on L1, L2.", example="1 1"),
    Wording("set.per_phase", lambda under: not _two_legs(under), example="2 2 2"),
)

# What the choices mean, where their word alone does not say it. A picture where one tells more.
MEANINGS: Mapping[str, Mapping[str, str]] = {
    "site.rules": {"iec": "IEC 60364: most of the world, sizes in mm2", "nec": "NFPA 70: North America, sizes in AWG"},
    "earthing.system": {
        "TN-S": "supply brings earth in a conductor of its own",
        "TN-C-S": "supply brings earth and neutral as one",
        "TT": "earth is your own rod",
        "IT": "no pole of the supply is earthed",
    },
    "earthing.island_bond": {
        "changeover relay": "a relay in the changeover joins them",
        "unit relay": "a relay inside the units joins them",
        "fixed link": "a link that is always there",
        "none": "nothing: residual-current devices will not trip",
    },
    "incoming.kind": {"utility": "the grid", "generator": "a generator only", "none": "battery and sun alone"},
    "set.lead_loss": {"stops": "the whole supply stops", "carries on": "another unit takes the lead"},
    "set.phase_loss": {"stops": "the whole supply stops", "carries on": "the other phases go on"},
    "output.arrangement": {
        "single-phase": "L1 and neutral",
        "split-phase": "L1 and L2, 180 degrees apart, and neutral",
        "three-phase": "L1, L2, L3, 120 degrees apart, and neutral",
    },
    "incoming.arrangement": {
        "single-phase": "L1 and neutral",
        "split-phase": "L1, L2, neutral: 180 degrees",
        "three-phase": "L1, L2, L3, neutral: 120 degrees",
    },
    "storage.connection": {
        "common-bank": "all units on one bank     [B1]=U=U=U",
        "bank-per-phase": "one bank for each phase   [B1]=U=U  [B2]=U=U",
        "bank-per-unit": "one bank for each unit    [B1]=U  [B2]=U",
    },
    "storage.chemistry": {
        "lfp, managed": "lithium iron phosphate; its management can open the circuit",
        "lfp, not managed": "lithium iron phosphate, nothing that opens the circuit",
        "nmc, managed": "lithium nickel manganese cobalt; its management can open the circuit",
        "nmc, not managed": "lithium nickel manganese cobalt, nothing that opens the circuit",
        "flooded": "lead, filled with acid",
        "agm": "lead, sealed, glass mat",
        "gel": "lead, sealed, gel",
    },
    "storage.bank.feed": {
        "diagonal": "plus at one end, minus at the other   +o-o-o-",
        "one end": "both at the same end                  +-o-o-o",
        "bar": "every module on a bar of its own      ===",
    },
    "storage.earthed": {"none": "neither pole", "minus": "minus pole", "plus": "plus pole"},
    "routes.method": {
        "A1": "|~(o)~|  wires in conduit in an insulated wall",
        "A2": "|~(=)~|  cable in conduit in an insulated wall",
        "B1": "|(o)     wires in conduit or trunking on a wall",
        "B2": "|(=)     cable in conduit or trunking on a wall",
        "C": "|=       cable clipped flat on a wall",
        "D1": "_(=)_    cable in a duct in the ground",
        "E": "| =      cable in free air or on a tray",
        "F": "| o o o  single wires in free air or on a tray",
    },
    "routes.containment": {
        "none": "nothing, or plastic",
        "ladder": "open metal ladder",
        "perforated": "perforated metal tray",
        "solid": "closed metal trunking, earthed",
    },
    "routes.carries": {"comms": "data links", "solar": "strings", "earth": "earth conductors"},
    "loads.phase": {"any": "the plan chooses", "all": "a machine on all phases"},
    "loads.profile": {"day": "while the sun shines", "evening": "after sunset", "night": "overnight", "steady": "round the clock"},
    "bus_nodes.end": {"first": "before the first unit", "last": "behind the last unit"},
}
