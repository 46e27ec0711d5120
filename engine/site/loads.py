"""What the set must feed."""

from __future__ import annotations

from typing import Literal

from engine.site.kinds import ApparentPower, Demand, EnergyPerDay, MachineName, Name, Part, Plain, Power, PowerFactor, Share, Some, ask


class Load(Part):
    """One `[[loads]]`: a machine, or several alike"""

    name: Name | None = ask("Name", "What it is called.")
    machine: MachineName | None = ask(
        "Machine",
        "What kind of machine it is: what nobody answered of it is taken as usual for one.",
        "Look at it; the list has other words for most.",
    )
    quantity: Some | None = ask("How many alike", "How many of them.", "Count them.")
    phase: Literal["any", "L1", "L2", "L3", "L1-L2", "L2-L3", "L1-L3", "all"] | None = ask(
        "Phase",
        "Where it is connected; any lets the plan choose.",
        "Where its cable goes in the board; any, if it is still to be connected.",
    )
    power: Power | None = ask(
        "Power of one, running", "Power of one machine while it runs.", "Its plate, or a clamp meter and a watt meter."
    )
    apparent_power: ApparentPower | None = ask(
        "Its apparent power",
        "Apparent power of one machine while it runs, where its plate tells VA or kVA.",
        "Its plate; or a clamp meter, amperes times volts.",
    )
    power_factor: PowerFactor | None = ask("Power factor", "Real over apparent power.", "Its plate, cos phi; or pick the machine.")
    demand: Demand | None = ask(
        "Share running at once",
        "Share of that power that must be counted at the worst moment.",
        "1 if it may run at the worst moment together with all others.",
    )
    motor: bool | None = ask("Does a motor start in it", "Whether a motor starts in it.", "Pumps, compressors, saws, refrigerators: yes.")
    start_multiple: Plain | None = ask(
        "Starting current, times", "Starting over running current.", "The plate or datasheet, locked rotor current; or pick the machine."
    )
    third_harmonic: Share | None = ask(
        "Third harmonic",
        "Third harmonic of its current: it adds up in the neutral.",
        "The datasheet, or a clamp meter that shows harmonics; or pick the machine.",
    )
    energy: EnergyPerDay | None = ask(
        "Use in a day, of one", "What one of them uses in a day.", "Power times the hours it runs in a day; or a plug-in meter over a day."
    )
    profile: Literal["day", "evening", "night", "steady"] | None = ask("When it is used", "When it uses it.", "Ask the people who use it.")

    @property
    def called(self) -> str | None:
        """Its name; where it has none, its machine's."""
        return self.name or self.machine

    @property
    def tells_power_factor(self) -> bool:
        """Whether its real and its apparent power are answered, so that their ratio is its power factor."""
        return bool(self.power and self.apparent_power and self.power <= self.apparent_power)
