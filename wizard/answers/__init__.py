"""The answers as they are typed: `fields`, how each is written; `amounts`, quantities with their units; `session`, all of one site, immutable."""
