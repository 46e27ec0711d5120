"""What stands before all else in a plan's papers: what stops it, what is to be decided, what is to be confirmed, what was assumed. Data, laid out
by the papers.
"""

from engine.sheets.cover.assumed import Group, Taken, assumed
from engine.sheets.cover.decisions import Decision, Told, decisions, notes, placed, practice, stops
from engine.sheets.cover.to_confirm import Confirm, to_confirm

__all__ = ["Confirm", "Decision", "Group", "Taken", "Told", "assumed", "decisions", "notes", "placed", "practice", "stops", "to_confirm"]
