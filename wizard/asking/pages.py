"""What is asked, on which page, in which order: plain data. Keys are the file's; words are for a person on site.

Pages come in the order of what somebody has in hand: the site itself, the plate of a unit, the bank, the loads, the panels, the wall. `essential`
marks the answers without which no plan is made; they stand first on their page. What a question is called, what it means and what may be
written comes from the model (`engine.site.names`, `wizard.answers.fields`), what is usual from `usual.toml`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import KW_ONLY
from typing import Literal

from engine.facts import has_solar
from engine.frozen import dataclass
from engine.site import Answers
from engine.site.names import one_of, title_of
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
    """One answer asked for: its key (within an entry: relative to it), whether no plan is made without it.

    `example` stands beside it where it is no quantity, `inset` before its name where it belongs to the one above. `under` is what the
    site is that it is put to.
    """

    key: str
    _: KW_ONLY
    essential: bool = False
    when: When = _always
    example: str = ""
    inset: str = ""
    under: Circumstances = Circumstances()

    @property
    def name(self) -> str:
        """Its short name, which stands with the model; within an entry only under its full key."""
        return f"{self.inset}{title_of(self.key)}"


@dataclass(frozen=True)
class Column:
    """One column of a table: the question within an entry, its head, its width."""

    key: str
    head: str
    width: int


@dataclass(frozen=True)
class Table:
    """An array of the file, typed in place: what one entry is asked, and what of that has a column.

    Questions that have no column are asked one below the other.
    """

    key: str
    questions: tuple[Question, ...]
    columns: tuple[Column, ...]

    @property
    def title(self) -> str:
        """What it is called."""
        return title_of(self.key)

    @property
    def one(self) -> str:
        """What one entry is called."""
        return one_of(self.key)


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
    return (
        Question(f"unit.labels.{setting}.name"),
        *(Question(f"unit.labels.{setting}.{value}", inset="  ", when=_is(setting, value)) for value in SETTINGS[setting]),
    )


LOADS = Table(
    "loads",
    (
        Question("machine"),
        Question("name"),
        Question("power"),
        Question("apparent_power"),
        Question("quantity", example="1"),
        Question("phase", when=_phases),
        Question("energy"),
        Question("profile"),
        Question("power_factor"),
        Question("demand"),
        Question("motor"),
        Question("start_multiple"),
        Question("third_harmonic"),
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
    (Question("name"), Question("end")),
    (Column("name", "Name", 30), Column("end", "End of the bus", 14)),
)
LINKS = Table(
    "storage.links",
    (Question("bank", example="B1"), Question("unit", example="L1-1")),
    (Column("bank", "From bank", 10), Column("unit", "To unit", 10)),
)
PLACES = Table(
    "wall.places",
    (
        Question("what"),
        Question("tag", example="L1-1"),
        Question("x"),
        Question("y"),
        Question("width"),
        Question("height"),
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
    (
        Question("carries"),
        Question("to", example="L1-1"),
        Question("lane"),
        Question("method"),
        Question("length"),
        Question("insulation"),
        Question("grouped", example="3"),
        Question("containment"),
        Question("metal"),
        Question("resistance"),
        Question("extra"),
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
            Question("output.arrangement", essential=True),
            Question("set.count", essential=True, example="6"),
            Question("incoming.kind"),
            Question("incoming.breaker", essential=True, when=_incoming),
            Question("earthing.island_bond", essential=True),
            Question("incoming.rating", when=_generator),
            Question("incoming.prospective_fault", when=_incoming),
            Question("earthing.system", when=_incoming),
            Question("set.per_phase", when=_phases),
            Question("incoming.arrangement", when=_incoming),
            Question("site.rules"),
            Question("site.ambient_max"),
            Question("site.ambient_min"),
            Question("output.voltage"),
            Question("output.frequency"),
            Question("incoming.voltage", when=_incoming),
            Question("earthing.bond_at", example="the changeover board"),
            Question("site.name"),
        ),
    ),
    Page(
        "unit",
        "Copy from the unit's plate",
        "All units are the same. What the plate does not say stands in the datasheet.",
        "unit",
        (
            Question("unit.real_power", essential=True),
            Question("unit.dc_max", essential=True),
            Question("unit.transfer_current", essential=True, when=_incoming),
            Question("unit.apparent_power"),
            Question("unit.dc_min"),
            Question("unit.charge_current"),
            Question("unit.surge_power"),
            Question("unit.efficiency"),
            Question("unit.fault_current"),
            Question("unit.width"),
            Question("unit.height"),
            Question("unit.clearance"),
            Question("unit.surge_time"),
            Question("unit.weight"),
            Question("unit.model"),
            Question("unit.terminals"),
        ),
    ),
    Page(
        "bank",
        "The bank",
        "One module from its datasheet, and how modules make a bank. A wrong storage mode destroys equipment.",
        "bank",
        (
            Question("storage.connection", essential=True),
            Question("storage.chemistry", essential=True),
            Question("storage.module.voltage", essential=True),
            Question("storage.module.capacity", essential=True),
            Question("storage.module.charge_current", essential=True),
            Question("storage.module.discharge_current", essential=True),
            Question("storage.module.resistance", essential=True),
            Question("storage.bank.parallel", essential=True, example="4"),
            Question("storage.bank.feed"),
            Question("storage.module.cells", example="16"),
            Question("storage.module.absorption"),
            Question("storage.module.float"),
            Question("storage.module.low"),
            Question("storage.bank.series", example="1"),
            Question("storage.autonomy"),
            Question("storage.depth"),
            Question("storage.module.short_circuit_current"),
            Question("storage.module.resistance_measured"),
            Question("storage.bank.joint_resistance"),
            Question("storage.earthed"),
            Question("storage.fuse_factor"),
            Question("storage.holder"),
        ),
    ),
    Page("loads", "Loads", "What must run. Name the machine: what you do not know of it is taken as usual for one.", "loads", table=LOADS),
    Page(
        "solar",
        "Solar: panels",
        "From the label on the back of a panel. No panels: leave this page empty.",
        "solar",
        (
            Question("solar.power"),
            Question("solar.voc"),
            Question("solar.vmp"),
            Question("solar.isc"),
            Question("solar.imp"),
            Question("solar.voc_coefficient"),
            Question("solar.vmp_coefficient"),
            Question("solar.series", example="8"),
            Question("site.roof_min"),
            Question("solar.parallel", example="1"),
            Question("solar.trackers", example="1"),
            Question("solar.sun_hours"),
        ),
    ),
    Page(
        "inputs",
        "Solar: the unit's inputs",
        "From the unit's datasheet. Too much voltage on a cold morning destroys it.",
        "solar",
        (
            Question("unit.solar.voltage_max"),
            Question("unit.solar.mppt_min"),
            Question("unit.solar.mppt_max"),
            Question("unit.solar.current_max"),
            Question("unit.solar.short_circuit_max"),
            Question("unit.solar.trackers", example="2"),
            Question("unit.solar.power_max"),
            Question("unit.solar.charge_current"),
        ),
        when=has_solar,
    ),
    Page(
        "wall",
        "The wall",
        "Where everything hangs: lengths and routes come from here. Space takes a thing up in the drawing, arrows move it.",
        "wall",
        (Question("wall.width"), Question("wall.height")),
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
            Question("unit.bus.ports", example="plug, socket"),
            Question("unit.bus.link_lengths"),
            Question("unit.bus.length_max"),
            Question("unit.bus.kind"),
            Question("unit.bus.bit_rate"),
            Question("unit.bus.screened"),
            Question("unit.port_side"),
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
            Question("set.spare", example="0"),
            Question("set.lead", when=_several, example="L1-1"),
            Question("set.lead_loss", when=_several),
            Question("set.phase_loss", when=_phases),
            Question("unit.max_units", example="12"),
            Question("site.altitude"),
            Question("drop.battery"),
            Question("drop.bar"),
            Question("drop.load"),
            Question("drop.incoming", when=_incoming),
            Question("drop.solar", when=has_solar),
            Question("site.reference"),
        ),
    ),
    Page(
        "case",
        "The unit's terminals",
        "What its terminals take, and what the manual says of its inside.",
        "unit",
        (
            Question("unit.dc_terminal_max"),
            Question("unit.ac_terminal_max"),
            Question("unit.terminal_temperature"),
            Question("unit.dc_stud"),
            Question("unit.dc_torque"),
            Question("unit.ac_torque"),
            Question("unit.settle_time"),
            Question("unit.ripple"),
            Question("unit.dc_capacitance"),
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
    "storage.holder": {"on the bar": "bolted to the bar, no cable between", "cabled": "a cable from the bar to each"},
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
