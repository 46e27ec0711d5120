"""The strings: alike on every unit."""

from __future__ import annotations

from typing import Annotated

from engine.site.kinds import Coefficient, Current, Part, Plain, Power, Voltage, ask, some_up_to


class Solar(Part):
    """`[solar]`: one panel, and how panels make strings"""

    power: Power | None = ask("Power of a panel", "Power of one panel.", "The label on the back of the panel, Pmax.")
    voc: Voltage | None = ask("Open-circuit voltage", "Open-circuit voltage of one panel.", "The label, Voc.")
    vmp: Voltage | None = ask("Voltage at full power", "Voltage of one panel at full power.", "The label, Vmp or Vmpp.")
    isc: Current | None = ask("Panel short circuit, Isc", "Short-circuit current.", "The label, Isc.")
    imp: Current | None = ask("Current at full power", "Current at full power.", "The label, Imp or Impp.")
    voc_coefficient: Coefficient | None = ask(
        "Voc coefficient", "How voc changes with temperature.", "The datasheet, temperature coefficient of Voc, with its minus sign."
    )
    vmp_coefficient: Coefficient | None = ask(
        "Vmp coefficient",
        "How vmp changes with temperature.",
        "The datasheet, temperature coefficient of Pmax or Vmp, with its minus sign.",
    )
    series: Annotated[int, some_up_to("panels in series")] | None = ask(
        "Panels in a string", "Panels in one string.", "Count the panels of one string."
    )
    parallel: Annotated[int, some_up_to("strings per tracker")] | None = ask(
        "Strings per tracker", "Strings per tracker.", "Count the strings that share one input."
    )
    trackers: Annotated[int, some_up_to("trackers per unit")] | None = ask(
        "Trackers used per unit", "Trackers used per unit.", "Count the inputs in use on one unit."
    )
    sun_hours: Plain | None = ask(
        "Sun hours, worst month", "Peak sun hours of the worst month.", "A solar map for the place, tilt and month with the least sun."
    )
