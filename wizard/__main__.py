"""`python -m wizard` is `phasewright`."""

from wizard.cli import entry

entry()
