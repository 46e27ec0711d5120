"""What is asked, on which page, in which order: plain data. Keys are the file's; words are for a person on site.

`essential` marks the answers that, with the defaults, give a first plan without a stop. What a question means and what may be
written comes from the model (`wizard.fields`); only its short name stands here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from engine.facts import has_solar
from engine.frozen import dataclass
from engine.site import Answers
from engine.site.unit import SETTINGS

When = Callable[[Answers], bool]


def _always(_: Answers) -> bool:
    return True


@dataclass(frozen=True)
class Question:
    """One answer asked for: its key (within an entry: relative to it), its short name, whether a first plan needs it.

    `example` stands beside it where the usual example of its kind would mislead.
    """

    key: str
    name: str
    essential: bool = False
    when: When = _always
    example: str = ""


@dataclass(frozen=True)
class Table:
    """An array of the file: what one entry is called, what it is asked, which answers name it in the list."""

    key: str
    one: str
    questions: tuple[Question, ...]
    shows: tuple[str, ...]


@dataclass(frozen=True)
class Page:
    """One page: its title, why it is there, its questions, the array that is listed on it, and when it applies."""

    name: str
    title: str
    intro: str
    questions: tuple[Question, ...] = ()
    table: Table | None = None
    when: When = _always


def _incoming(answers: Answers) -> bool:
    return answers.incoming.kind != "none"


def _generator(answers: Answers) -> bool:
    return answers.incoming.kind == "generator"


def _managed(answers: Answers) -> bool:
    return answers.storage.managed is not False


def _phases(answers: Answers) -> bool:
    return answers.output.arrangement in ("three-phase", "split-phase")


def _words(setting: str) -> tuple[Question, ...]:
    ours = setting.replace("_", " ")
    return (
        Question(f"unit.labels.{setting}.name", ours),
        *(Question(f"unit.labels.{setting}.{value}", f"  {ours}: {value}") for value in SETTINGS[setting]),
    )


ARRANGEMENT = Question("output.arrangement", "Phases of the supply", essential=True)
COUNT = Question("set.count", "Number of units", essential=True)
REAL_POWER = Question("unit.real_power", "Power of one unit", essential=True, example="5 kW")
TRANSFER = Question("unit.transfer_current", "Transfer current", essential=True, when=_incoming, example="40 A")
BREAKER = Question("incoming.breaker", "Incoming breaker", essential=True, when=_incoming)
ISLAND_BOND = Question("earthing.island_bond", "Neutral-earth bond, island", essential=True)
CONNECTION = Question("storage.connection", "How banks meet units", essential=True)
MODULE_VOLTAGE = Question("storage.module.voltage", "Module voltage", essential=True, example="51.2 V")
CAPACITY = Question("storage.module.capacity", "Module capacity", essential=True)
DC_MAX = Question("unit.dc_max", "Highest battery voltage", essential=True, example="60 V")
CELLS = Question("storage.chemistry", "Kind of cells", essential=True)
MANAGED = Question("storage.managed", "Own management", essential=True)
CHARGING = Question("storage.module.charge_current", "Module charging, most", essential=True, example="50 A")
DISCHARGING = Question("storage.module.discharge_current", "Module discharging, most", essential=True, example="100 A")
RESISTANCE = Question("storage.module.resistance", "Module resistance", essential=True)
PARALLEL = Question("storage.bank.parallel", "Strings in parallel", essential=True, example="4")
_BANK = (CONNECTION, CELLS, MANAGED, MODULE_VOLTAGE, CAPACITY, CHARGING, DISCHARGING, RESISTANCE, PARALLEL)

LOADS = Table(
    "loads",
    "load",
    (
        Question("name", "Name"),
        Question("power", "Power of one, running"),
        Question("quantity", "How many alike", example="1"),
        Question("phase", "Phase"),
        Question("energy", "Use in a day, of one", example="4 kWh/day"),
        Question("profile", "When it is used"),
        Question("power_factor", "Power factor"),
        Question("demand", "Share running at once", example="0.6"),
        Question("motor", "Does a motor start in it"),
        Question("start_multiple", "Starting current, times", example="6"),
        Question("third_harmonic", "Third harmonic", example="0 %"),
    ),
    ("quantity", "name", "power", "phase"),
)
BUS_NODES = Table("bus_nodes", "device", (Question("name", "Name"), Question("end", "End of the bus")), ("name", "end"))
LINKS = Table(
    "storage.links",
    "data cable",
    (Question("bank", "From bank", example="B1"), Question("unit", "To unit", example="L1-1")),
    ("bank", "unit"),
)
PLACES = Table(
    "wall.places",
    "place",
    (
        Question("what", "What hangs there"),
        Question("tag", "Which unit or bank", example="L1-1"),
        Question("x", "From the left, centre", example="0.6 m"),
        Question("y", "From the floor, centre", example="1.5 m"),
        Question("width", "Width", example="0.35 m"),
        Question("height", "Height", example="0.5 m"),
    ),
    ("what", "tag", "x", "y"),
)
ROUTES = Table(
    "routes",
    "route",
    (
        Question("carries", "Cables carry"),
        Question("to", "Only the one to", example="L1-1"),
        Question("lane", "Height of the lane", example="0.3 m"),
        Question("method", "How it is laid"),
        Question("insulation", "Insulation"),
        Question("metal", "Metal"),
        Question("grouped", "Circuits together", example="3"),
        Question("length", "Measured length", example="2.4 m"),
        Question("resistance", "Measured resistance", example="2 mohm"),
        Question("extra", "Extra inside the gear", example="0.4 m"),
        Question("containment", "Between it and data"),
    ),
    ("carries", "to", "lane", "method", "length"),
)

PAGES: tuple[Page, ...] = (
    Page(
        "first",
        "A first plan",
        "Answer these for a first plan; leave open what you do not know.",
        (
            ARRANGEMENT,
            COUNT,
            REAL_POWER,
            DC_MAX,
            TRANSFER,
            BREAKER,
            ISLAND_BOND,
            *_BANK,
        ),
    ),
    Page(
        "rules",
        "Rules and earthing",
        "Where the neutral meets earth decides whether a residual-current device can trip.",
        (
            ISLAND_BOND,
            Question("earthing.bond_at", "Where that bond is"),
            Question("earthing.system", "Earthing of the supply", when=_incoming),
            Question("site.rules", "Wiring rules"),
            Question("site.name", "Name of the site"),
            Question("site.reference", "Your order number"),
            Question("site.ambient_max", "Hottest in the room"),
            Question("site.ambient_min", "Coldest in the room", example="-10 degC"),
            Question("site.altitude", "Height above the sea"),
        ),
    ),
    Page(
        "sources",
        "Sources",
        "What comes in besides the battery, and what stands ahead of it.",
        (
            Question("incoming.kind", "What comes in"),
            BREAKER,
            Question("incoming.prospective_fault", "Fault level there", when=_incoming),
            Question("incoming.arrangement", "Phases coming in", when=_incoming),
            Question("incoming.voltage", "Voltage coming in", when=_incoming),
            Question("incoming.rating", "Generator rating", when=_generator, example="20 kVA"),
        ),
    ),
    Page(
        "output",
        "Output and set",
        "How many phases, how many units, and who leads.",
        (
            ARRANGEMENT,
            COUNT,
            Question("set.per_phase", "Units on each phase", when=_phases, example="1, 1, 1"),
            Question("output.voltage", "Voltage to neutral"),
            Question("output.frequency", "Frequency"),
            Question("set.spare", "Units to spare", example="0"),
            Question("set.lead", "The leading unit", example="L1-1"),
            Question("set.lead_loss", "If the lead is lost"),
            Question("set.phase_loss", "If a phase is lost", when=_phases),
        ),
    ),
    Page(
        "unit",
        "Unit: power",
        "From the plate and the datasheet of one unit; all units are the same.",
        (
            REAL_POWER,
            DC_MAX,
            TRANSFER,
            Question("unit.model", "Model"),
            Question("unit.apparent_power", "Apparent power", example="5 kVA"),
            Question("unit.dc_min", "Lowest battery voltage", example="42 V"),
            Question("unit.charge_current", "Charging current", example="80 A"),
            Question("unit.surge_power", "Surge power"),
            Question("unit.surge_time", "Surge lasts", example="5 s"),
            Question("unit.fault_current", "Short-circuit current", example="60 A"),
            Question("unit.max_units", "Most units in a set", example="12"),
            Question("unit.efficiency", "Efficiency"),
            Question("unit.settle_time", "Wait between off and on", example="10 s"),
            Question("unit.ripple", "Ripple in the cable", example="1"),
            Question("unit.dc_capacitance", "Battery-side capacitors", example="20 mF"),
        ),
    ),
    Page(
        "case",
        "Unit: case and terminals",
        "What hangs on the wall, and what its terminals take.",
        (
            Question("unit.dc_terminal_max", "Battery terminal takes", example="70 mm2"),
            Question("unit.ac_terminal_max", "AC terminal takes", example="16 mm2"),
            Question("unit.terminal_temperature", "Terminals rated for", example="70 degC"),
            Question("unit.dc_stud", "Battery stud"),
            Question("unit.dc_torque", "Battery stud torque"),
            Question("unit.ac_torque", "AC terminal torque", example="1.8 N m"),
            Question("unit.width", "Width", example="0.35 m"),
            Question("unit.height", "Height", example="0.5 m"),
            Question("unit.weight", "Weight"),
            Question("unit.clearance", "Free space around", example="0.2 m"),
        ),
    ),
    Page(
        "bus",
        "Unit: data ports",
        "Links and terminators are no stock items: what you answer here is bought ahead. Below: other devices on the bus.",
        (
            Question("unit.bus.ports", "Ports on the unit", example="plug, socket"),
            Question("unit.bus.link_lengths", "Links are sold in", example="0.5 m, 1.5 m, 3 m"),
            Question("unit.bus.length_max", "Longest bus allowed", example="40 m"),
            Question("unit.bus.kind", "Kind of bus"),
            Question("unit.bus.bit_rate", "Bit rate"),
            Question("unit.bus.screened", "Screened cable"),
        ),
        BUS_NODES,
    ),
    Page(
        "bank",
        "Bank",
        "One module from its datasheet, and how modules make a bank. A wrong storage mode destroys equipment.",
        (
            *_BANK,
            Question("storage.module.resistance_measured", "Was that measured"),
            Question("storage.module.short_circuit_current", "Module short circuit", example="3 kA"),
            Question("storage.bank.series", "Modules in series", example="1"),
            Question("storage.module.cells", "Cells in a module", example="16"),
            Question("storage.module.absorption", "Charging voltage", example="56 V"),
            Question("storage.module.float", "Float voltage", example="54 V"),
            Question("storage.module.low", "Lowest voltage", example="46 V"),
            Question("storage.depth", "Share to be used"),
            Question("storage.autonomy", "Must last", example="10 h"),
            Question("storage.bank.feed", "Leads leave the row"),
            Question("storage.bank.joint_resistance", "Joint resistance", example="0.2 mohm"),
            Question("storage.earthed", "Earthed pole"),
            Question("storage.fuse_factor", "Fuse in its warm box", example="0.9"),
        ),
    ),
    Page(
        "wired",
        "Bank: as wired",
        "When the cables hang: trace each unit's pair by hand and name its bank. Below: data cables from bank to unit.",
        table=LINKS,
    ),
    Page("loads", "Loads", "What must run. Pick the machine, and its power factor and starting current are filled in.", table=LOADS),
    Page(
        "solar",
        "Solar: panels",
        "From the label on the back of a panel. No panels: leave this page empty.",
        (
            Question("solar.power", "Power", example="450 W"),
            Question("solar.voc", "Open-circuit voltage", example="49.5 V"),
            Question("solar.vmp", "Voltage at full power", example="41.5 V"),
            Question("solar.isc", "Short-circuit current", example="11.5 A"),
            Question("solar.imp", "Current at full power", example="10.9 A"),
            Question("solar.voc_coefficient", "Voc coefficient"),
            Question("solar.vmp_coefficient", "Vmp coefficient", example="-0.35 %/K"),
            Question("solar.series", "Panels in a string", example="8"),
            Question("solar.parallel", "Strings per tracker", example="1"),
            Question("solar.trackers", "Trackers used per unit", example="1"),
            Question("site.roof_min", "Coldest on the roof", example="-15 degC"),
            Question("solar.sun_hours", "Sun hours, worst month", example="2.1"),
        ),
    ),
    Page(
        "inputs",
        "Solar: the unit's inputs",
        "From the unit's datasheet. Too much voltage on a cold morning destroys it.",
        (
            Question("unit.solar.voltage_max", "Destroyed above", example="500 V"),
            Question("unit.solar.trackers", "Trackers", example="2"),
            Question("unit.solar.mppt_min", "Tracker works from", example="120 V"),
            Question("unit.solar.mppt_max", "Tracker works to", example="430 V"),
            Question("unit.solar.power_max", "Power of one unit, most", example="5.5 kW"),
            Question("unit.solar.current_max", "Current of a tracker", example="18 A"),
            Question("unit.solar.short_circuit_max", "Short circuit, tracker", example="23 A"),
            Question("unit.solar.charge_current", "Charging by solar", example="80 A"),
        ),
        when=has_solar,
    ),
    Page(
        "wall",
        "Wall",
        "Where everything hangs: lengths and routes come from here. In the drawing, arrow keys move a place.",
        (Question("wall.width", "Width of the wall", example="4 m"), Question("wall.height", "Height of the wall", example="2.4 m")),
        PLACES,
    ),
    Page(
        "routes",
        "Routes and drop",
        "How cables run: one entry for a kind of cable, or for one cable. A measured length wins over the wall.",
        (
            Question("drop.battery", "Drop: battery"),
            Question("drop.bar", "Drop: bank to bar", example="1 %"),
            Question("drop.load", "Drop: load", example="1 %"),
            Question("drop.incoming", "Drop: incoming", when=_incoming, example="1 %"),
            Question("drop.solar", "Drop: solar", when=has_solar),
        ),
        ROUTES,
    ),
    Page(
        "words",
        "Unit: the maker's words",
        "Copy from your manual what its menus call these settings; the sheets print them beside ours.",
        tuple(question for setting in SETTINGS for question in _words(setting)),
    ),
    Page("review", "Review and save", "What the plan says, and what still stops it."),
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
        "lfp": "lithium iron phosphate",
        "nmc": "lithium nickel manganese cobalt",
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
