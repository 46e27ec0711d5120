"""The hours of one bank: what the stage `hours` is made of."""
