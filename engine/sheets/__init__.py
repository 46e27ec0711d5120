"""The papers of a plan: text, CSV, SVG."""
