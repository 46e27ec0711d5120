"""How loads and units are divided over the phases: what the stage `sized` is made of."""
