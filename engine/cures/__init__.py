"""Every finding leads to its cure: what the planner may decide is tried and offered, what is a fact is asked.

Light: `engine.cures.search`, which plans, is imported by itself.
"""

from engine.cures.asking import UNANSWERABLE, asks
from engine.cures.cure import Cure, Found

__all__ = ["UNANSWERABLE", "Cure", "Found", "asks"]
