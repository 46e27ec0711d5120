"""How one conductor is chosen: what is asked of it, by which rule book, and the first size that does it all."""
