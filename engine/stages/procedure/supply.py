"""The supply let in, and the residual-current device tested without it and with it."""

from __future__ import annotations

from collections.abc import Iterator

from engine.stages.procedure import writing
from engine.stages.procedure.doing import power as doing
from engine.stages.procedure.site import Draft, Site
from engine.tables.verification import trip_time


def incoming(site: Site) -> Iterator[Draft]:
    """What comes in is measured at the open isolator: once closed it is too late."""
    common = site.incoming_circuit
    if common is None:
        return
    phases = len(site.facts.incoming_lines)
    turning = " Rotation meter there." if phases == 3 else ""
    yield Draft(
        "incoming",
        "incoming-voltage",
        "set",
        f"{'Generator running. ' if site.incoming == 'generator' else ''}Voltmeter at the open {site.incoming_isolator}, supply side: each line to neutral; frequency.{turning}",
        f"{site.around('incoming.voltage', 0.10)}; {site.frequency()}" + ("; rotation 123" if phases == 3 else ""),
        ("Rotation 132: two lines are swapped ahead of the isolator. " if phases == 3 else "")
        + "No voltage to neutral: the neutral is open. Too high, or any other: whoever supplies it. Do not close; put it right ahead of the isolator, dead.",
        hold=True,
        hurt=True,
        doing=doing.incoming_voltage(site, common),
        got=writing.incoming_voltage(site, common),
    )


def _trips(site: Site, *multiples: int) -> str:
    """Within which time it trips: under the NEC its maker says."""
    if site.facts.rules == "nec":
        return "it trips, within the time that its maker states"
    times = [f"within {trip_time(multiple)} at {_TIMES[multiple]}" for multiple in multiples]
    return f"it trips {', '.join(times)}"


_TIMES = {1: "its rated residual current", 5: "five times that"}


def residual_current(site: Site) -> Iterator[Draft]:
    """In island mode first: only there can a missing bond hide. Then the supply is let in."""
    bond = site.facts.answers.earthing.island_bond
    unknown = " The plan does not know the bond of island mode: find it first, the planner decides." if bond is None else ""
    closing = f" Close {'the load isolator of the set, all poles together, then ' if site.several else ''}the residual-current device."
    alone = " Incoming open, units alone." if site.incoming and site.several else " Incoming open." if site.incoming else ""
    # Filters of many units let the device trip though no bond is there: the neutral's voltage to earth is read too.
    tested = (
        f" Voltmeter behind it: neutral to earth. Residual-current tester behind the residual-current device; reset it after each trip.{unknown}",
        f"below 2 V; {_trips(site, 1, 5)}",
        f"More than 2 V, or no trip: neutral is not bonded to earth while {'the units run' if site.several else 'the unit runs'} alone. Switch no load on. Look for the bond: {site.bond_place}.",
    )
    if bond == "none":
        tested = (
            " This site has no bond in island mode, and a first fault trips nothing. Test what watches its insulation, by its manual; the licensed person decides.",
            "it tells a fault to earth",
            "It tells none: switch no load on. The licensed person decides.",
        )
    yield Draft(
        "residual current",
        "trip-alone",
        "set",
        f"Breaker of {site.consumers} off.{closing}{alone}{tested[0]}",
        *tested[1:],
        hold=True,
        hurt=True,
        doing=doing.trip_alone(site, site.load_circuit),
        got=writing.trips(site, alone=True),
    )
    every = len(site.facts.phases) > 1
    yield Draft(
        "residual current",
        "test-load",
        "set",
        f"Plug a heater of 1 to 2 kW in behind the residual-current device{', on each line in turn' if every else ''}: the first load is one that nothing can harm. Voltmeter from {'every line' if every else 'line'} to neutral.",
        f"{site.around('output.voltage', 0.05)}{' on every line, alike within 5 %, whichever the heater is on' if every else ''}",
        f"Lower{', or higher on another line' if every else ''}: a neutral or a joint is loose or open. {site.off} Find it before any load is switched on.",
        hold=True,
        hurt=True,
        doing=doing.test_load(site),
        got=writing.heater(site),
    )
    if site.incoming_circuit is None:
        return
    limits = [figure for tag in site.units.tags if (figure := site.limits.incoming.get(tag))]
    closing = (
        f"Close the incoming isolator of each unit; voltmeter at their bar: it stays dead. Then close that of the set, all lines together ({site.incoming}); voltmeter at the bar, each line to neutral."
        if site.several
        else f"Close the {site.incoming_isolator}, all lines together ({site.incoming}); voltmeter behind it."
    )
    whose, follows = ("each unit's", "the set follows") if site.several else ("its", "it follows")
    yield Draft(
        "residual current",
        "incoming-close",
        "set",
        f"{closing} Charging on. Clamp meter on {whose} incoming line.",
        (
            f"{'each unit ' if site.several else ''}not above {limits[0]}"
            if limits
            else "incoming limit not computed: not above 80 % of the breaker ahead; the planner decides"
        )
        + f"; {site.around('incoming.voltage', 0.10)} on every line; {follows} the supply, no alarm",
        f"{'The bar is live before: a unit feeds back; all units off, ask the maker. ' if site.several else ''}Above the limit: open the incoming; read the incoming limit back.",
        hold=site.several,
        hurt=True,
        doing=doing.incoming_close(site, site.incoming_circuit),
        got=writing.incoming_close(site, site.incoming_circuit),
    )
    trip = (
        (
            "the same residual-current test; then",
            f"{_trips(site, 1)}; ",
            "No trip: the bond of this mode is missing. ",
        )
        if site.trips_following
        else ("where on IT earthing a first fault trips nothing,", "", "")
    )
    yield Draft(
        "residual current",
        "trip-incoming",
        "set",
        f"With the incoming closed, {trip[0]} plug the heater in again{', on each line in turn' if every else ''}. Voltmeter as before.",
        f"{trip[1]}{site.around('incoming.voltage', 0.10)}{' on every line, alike within 5 %' if every else ''}",
        f"{trip[2]}{'Lower or higher on a line' if every else 'Lower'}: a neutral or joint of what comes in is open. Open the incoming; the licensed person decides.",
        hold=True,
        hurt=True,
        doing=doing.trip_incoming(site),
        got=writing.trips(site, alone=False),
    )
