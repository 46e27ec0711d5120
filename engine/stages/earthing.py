"""Where neutral meets earth, in each mode of operation (T21)."""

from __future__ import annotations

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.frozen import dataclass

# Whom to ask how it is earthed, where no utility knows.
_ASK = {
    "none": "Nothing comes in, so it follows from the island bond (TN-S with one, IT without): let a licensed person say.",
    "generator": "See how the generator's neutral meets earth, or let a licensed person measure it: TN-S, TN-C-S, TT or IT.",
}


@dataclass(frozen=True)
class Bonds:
    """The neutral-earth bond in each mode: `incoming` while a supply comes in, `island` while the units run alone."""

    incoming: str
    island: str | None


def earthing(*, facts: Facts) -> tuple[Bonds, list[Finding]]:
    """The one bond of each mode; a bond missing, doubled or unknown is a finding."""
    given, kind = facts.answers.earthing, facts.answers.incoming.kind
    outside = {
        "TN-S": "at the transformer",
        "TN-C-S": "at the service entrance",
        "TT": "at the transformer",
        "IT": "nowhere",
        None: "not answered",
    }[given.system]
    bonds = Bonds("no supply comes in" if kind == "none" else outside, given.island_bond)
    findings = []
    if given.island_bond is None:
        findings.append(
            stop(
                "island-bond-unanswered",
                "earthing.island_bond",
                "What joins neutral to earth while the units run alone is not answered. Without that bond no residual-current device trips; with two, current runs in the earth.",
                "Look it up in the units' manual and at the changeover; answer changeover relay, unit relay, fixed link or none.",
                "T21",
                unanswered=True,
            )
        )
    elif given.island_bond == "none" and given.system != "IT":
        findings.append(
            stop(
                "island-bond-none",
                "earthing.island_bond",
                f"On {given.system or 'this'} earthing the units would run alone with a floating neutral: a first fault trips nothing.",
                "Provide a bond that closes when the set runs alone, or let a licensed person design it as IT with insulation monitoring.",
                "T21; IEC 60364-4-41 (from memory)",
            )
        )
    elif given.island_bond == "fixed link" and kind in ("utility", "generator") and given.system in ("TN-S", "TT"):
        findings.append(
            stop(
                "second-bond",
                "earthing.island_bond",
                f"A fixed link stays closed while the {kind} feeds: with {given.system} earthing neutral would then meet earth in two places.",
                "Use a relay that opens while the supply comes in, or lift the link.",
                "T21",
            )
        )
    if given.system is None:
        findings.append(
            caution(
                "earthing-system-unanswered",
                "earthing.system",
                "How the installation is earthed is not answered."
                if kind == "none"
                else "How the incoming supply is earthed is not answered.",
                _ASK.get(kind or "", "Ask the utility: TN-S, TN-C-S, TT or IT."),
                "T21",
                unanswered=True,
            )
        )
    if kind != "none" and given.system == "TT":
        findings.append(
            caution(
                "electrode-fault-ahead",
                "earthing.system",
                "On TT earthing a fault to a case ahead of the load board draws too little through the electrode to open a breaker or fuse: the plan has a residual-current device behind the load bar alone.",
                "Let the licensed person provide one for the incoming circuits and the units' cases, selective to that behind the load bar, and measure the electrode.",
                "IEC 60364-4-41 411.5 (from memory)",
            )
        )
    if kind != "none" and given.system == "IT":
        findings.append(
            caution(
                "insulation-monitor",
                "earthing.system",
                "On IT earthing a first fault trips nothing while the supply is in, and a residual-current device may stay closed on its test.",
                "Let the licensed person provide an insulation monitor and the protection for a second fault; test the residual-current device while the units run alone.",
                "IEC 60364-4-41 411.6 (from memory)",
            )
        )
    if given.island_bond not in (None, "none") and not given.bond_at:
        findings.append(
            note(
                "bond-place-unanswered",
                "earthing.bond_at",
                "Which unit's relay makes the bond has not been written down; it must be known for one test."
                if given.island_bond == "unit relay"
                else "Where the bond is has not been written down; it must be found and lifted for one test.",
                "Write it under earthing.bond_at.",
                "T21",
            )
        )
    return bonds, findings
