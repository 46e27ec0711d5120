"""Conductors cut from reels: what the stage `bill` is made of."""
