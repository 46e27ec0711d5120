"""The strings: alike on every unit."""

from __future__ import annotations

from typing import Annotated

from engine.site.kinds import Coefficient, Current, Part, Plain, Power, Voltage, ask, some_up_to


class Solar(Part):
    """`[solar]`: one panel, and how panels make strings"""

    power: Power | None = ask("Power of one panel.", "The label on the back of the panel, Pmax.")
    voc: Voltage | None = ask("Open-circuit voltage of one panel.", "The label, Voc.")
    vmp: Voltage | None = ask("Voltage of one panel at full power.", "The label, Vmp or Vmpp.")
    isc: Current | None = ask("Short-circuit current.", "The label, Isc.")
    imp: Current | None = ask("Current at full power.", "The label, Imp or Impp.")
    voc_coefficient: Coefficient | None = ask(
        "How voc changes with temperature.", "The datasheet, temperature coefficient of Voc, with its minus sign."
    )
    vmp_coefficient: Coefficient | None = ask(
        "How vmp changes with temperature.", "The datasheet, temperature coefficient of Pmax or Vmp, with its minus sign."
    )
    series: Annotated[int, some_up_to("panels in series")] | None = ask("Panels in one string.", "Count the panels of one string.")
    parallel: Annotated[int, some_up_to("strings per tracker")] | None = ask(
        "Strings per tracker.", "Count the strings that share one input."
    )
    trackers: Annotated[int, some_up_to("trackers per unit")] | None = ask(
        "Trackers used per unit.", "Count the inputs in use on one unit."
    )
    sun_hours: Plain | None = ask("Peak sun hours of the worst month.", "A solar map for the place, tilt and month with the least sun.")
