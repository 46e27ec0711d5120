"""All papers of a plan, by file name."""

from __future__ import annotations

import re

from engine.files.folder import Marks
from engine.planner import Planned
from engine.sheets.bill_csv import bill_csv
from engine.sheets.bill_text import bill_text
from engine.sheets.chain_text import chain_text
from engine.sheets.plan_text import plan_text
from engine.sheets.steps_text import steps_text
from engine.sheets.unit_text import unit_sheet
from engine.sheets.wall_svg import wall_svg
from engine.sheets.wall_text import wall_text

MARKS = Marks(names=re.compile(r"L[123]-[1-9][0-9]?\.txt"), stamp=re.compile(r"\brevision [0-9a-f]{8}\b|^site,revision,"))


def papers(planned: Planned) -> dict[str, str]:
    """File name -> text: a sheet per unit, and the pages of the whole set."""
    sheets = {f"{tag}.txt": unit_sheet(planned, tag) for tag in planned.parts.units.tags}
    return sheets | {
        "plan.txt": plan_text(planned),
        "order-of-work.txt": steps_text(planned),
        "chain.txt": chain_text(planned),
        "wall.txt": wall_text(planned),
        "wall.svg": wall_svg(planned),
        "bill.txt": bill_text([planned]),
        "bill.csv": bill_csv([planned]),
    }
