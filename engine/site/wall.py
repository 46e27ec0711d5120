"""The wall: where everything hangs and how cables run; and what else hangs on the data bus."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from engine.site.kinds import Length, Name, Part, Resistance, Some, ask, up_to
from engine.tables.bounds import most

Carries = Literal["battery", "load", "incoming", "solar", "earth", "comms"]


class PlaceOnWall(Part):
    """One `[[wall.places]]`: its centre, from the bottom left corner"""

    what: Literal["unit", "bank", "load-board", "incoming-board", "solar-isolator", "earth-bar", "obstacle"] | None = ask(
        "What hangs there", "What hangs there."
    )
    tag: Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9 _-]{0,15}$")] | None = ask(
        "Which unit or bank", "Which unit or bank.", "The name that the plan gives it: L1-1, B1."
    )
    x: Length | None = ask("From the left, centre", "From the left edge to its centre.", "A tape along the wall.")
    y: Length | None = ask("From the floor, centre", "From the floor to its centre.", "A tape from the floor.")
    width: Length | None = ask("Its width", "Its width.", "A tape.")
    height: Length | None = ask("Its height", "Its height.", "A tape.")


class Wall(Part):
    """`[wall]`"""

    width: Length | None = ask("Width of the wall", "Width of the wall.", "A tape along the wall.")
    height: Length | None = ask("Height of the wall", "Height of the wall.", "A tape from the floor to the ceiling.")
    places: Annotated[list[PlaceOnWall], up_to("places on the wall", "What hangs where", "place")] = []

    @field_validator("places")
    @classmethod
    def _few_obstacles(cls, places: list[PlaceOnWall]) -> list[PlaceOnWall]:
        obstacles = sum(place.what == "obstacle" for place in places)
        if obstacles > most("obstacles"):
            raise ValueError(f"found {obstacles} obstacles; wanted at most {most('obstacles')}: join those that lie together into one")
        return places


class Route(Part):
    """One `[[routes]]`: how one kind of circuit runs, or one circuit"""

    carries: Carries | None = ask("Cables carry", "What the cables carry.")
    to: Name | None = ask("Only the one to", "The unit, bank or place it goes to; without it the whole kind.")
    lane: Length | None = ask(
        "Height of the lane", "Height on the wall at which it runs.", "A tape from the floor to the tray or trunking."
    )
    method: Literal["A1", "A2", "B1", "B2", "C", "D1", "E", "F"] | None = ask(
        "How it is laid",
        "How it is installed: A in an insulated wall, B in conduit, C on a wall, D in the ground, E and F on a tray.",
        "Look how it lies, or how it will.",
    )
    insulation: Literal["pvc", "xlpe"] | None = ask("Insulation", "Insulation of the cable.", "Printed on the cable.")
    metal: Literal["copper", "aluminium"] | None = ask("Metal", "Metal of the conductor.", "Printed on the cable, or look at a cut end.")
    grouped: Some | None = ask(
        "Circuits together",
        "Circuits lying together, this one included.",
        "Count the circuits that touch each other where most lie together.",
    )
    extra: Length | None = ask("Extra inside the gear", "Length inside the gear, both ends together.", "A tape inside the gear.")
    length: Length | None = ask(
        "Measured length", "A measured length, one way: it wins over the wall.", "A tape along the way the cable goes."
    )
    resistance: Resistance | None = ask(
        "Measured resistance",
        "A measured resistance, out and back: it wins over everything.",
        "A micro-ohmmeter: both conductors in series.",
    )
    containment: Literal["none", "ladder", "perforated", "solid"] | None = ask(
        "Between it and data", "What lies between it and the data cables.", "Look at the tray between the two."
    )


class BusNode(Part):
    """One `[[bus_nodes]]`: what else hangs on the data bus"""

    name: Name | None = ask("Name", "What it is.")
    end: Literal["first", "last"] | None = ask("End of the bus", "At which end of the bus.", "Follow the data cable.")
