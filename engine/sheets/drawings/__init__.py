"""Drawings as SVG: readable in grey, every text escaped."""
