"""The sheet of one unit, decided once: what stands on it, in the order of the work; text and HTML only show it."""

from engine.sheets.unit.parts import BOX, GAP, Back, Box, Item, Part, Setting, Settings, Sign, Terminal, Terminals, Told
from engine.sheets.unit.sheet import unit_parts

__all__ = ["BOX", "GAP", "Back", "Box", "Item", "Part", "Setting", "Settings", "Sign", "Terminal", "Terminals", "Told", "unit_parts"]
