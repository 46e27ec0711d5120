"""Papers in plain characters: 80 columns, for a terminal, a pipe or a printer of any kind."""
