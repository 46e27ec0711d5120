"""The terminal screens: the only code that knows Textual."""

import os

# Read by Textual when it is imported: no animation (a slow link pays for every frame), and time for an arrow key that lag has split.
os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")
os.environ.setdefault("ESCDELAY", "200")
