"""Answers in, plan out: no terminal, no clock, no network, no print."""

VERSION = "0.2.0"
MADE_WITH = f"phasewright {VERSION}"
