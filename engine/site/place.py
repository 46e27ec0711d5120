"""Where the site is, what rules hold there, how it is earthed, what voltage drop is allowed."""

from __future__ import annotations

from typing import Literal

from engine.site.kinds import Altitude, Limit, Name, Part, Temperature, ask


class Location(Part):
    """`[site]`"""

    name: Name | None = ask("Name of the site", "What the site is called on every sheet.")
    reference: Name | None = ask("Your order number", "Your own order or drawing number.")
    rules: Literal["iec", "nec"] | None = ask(
        "Wiring rules", "The family of wiring rules: iec (IEC 60364) or nec (NFPA 70).", "Ask the authority that will inspect the work."
    )
    ambient_max: Temperature | None = ask(
        "Hottest in the room",
        "The hottest the room gets: cables carry less when hot.",
        "A thermometer in the room on a summer afternoon, plus the heat of the units.",
    )
    ambient_min: Temperature | None = ask(
        "Coldest in the room",
        "The coldest the room gets: batteries give and take less when cold.",
        "A thermometer left in the room on a winter night.",
    )
    roof_min: Temperature | None = ask(
        "Coldest on the roof",
        "The coldest morning on the roof: strings give their highest voltage then.",
        "The record low of the nearest weather station.",
    )
    altitude: Altitude | None = ask(
        "Height above the sea", "Height above the sea: thin air cools less.", "A map, or the telephone of anybody on site."
    )


class Earthing(Part):
    """`[earthing]`"""

    system: Literal["TN-S", "TN-C-S", "TT", "IT"] | None = ask(
        "Earthing of the supply", "How the incoming supply is earthed.", "It stands on the utility's letter or at the meter; ask them."
    )
    island_bond: Literal["changeover relay", "unit relay", "fixed link", "none"] | None = ask(
        "Neutral-earth bond, island",
        "What joins neutral to earth while the units run alone. Without it no residual-current device trips. Never assumed.",
        "The units' manual says whether they have a bond relay; otherwise it sits in the changeover.",
    )
    bond_at: Name | None = ask(
        "Where the bond is",
        "Where that bond is, so that it can be found and lifted for testing.",
        "Follow the neutral from the units to the first earth bar, with the power off.",
    )


class Drop(Part):
    """`[drop]`: the voltage drop allowed, each circuit alone"""

    battery: Limit | None = ask("Drop: battery", "Most voltage drop from bank or bar to a unit.")
    bar: Limit | None = ask("Drop: bank to bar", "Most voltage drop from a bank to its bar.")
    load: Limit | None = ask("Drop: load", "Most voltage drop in a load circuit of a unit, and in the common one.")
    incoming: Limit | None = ask("Drop: incoming", "Most voltage drop in an incoming circuit.")
    solar: Limit | None = ask("Drop: solar", "Most voltage drop in a string circuit.")
