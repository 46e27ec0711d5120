"""What each step makes, unmakes and reads, as data: a model of the site goes through the order of work by it.

A step's words say the same; `tests/engine/test_doing.py` holds the two together. What is inspected catches the one attribute that it names.
"""
