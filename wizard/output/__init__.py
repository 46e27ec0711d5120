"""What goes to the terminal: only the cells that changed, and never so that the program waits for it."""
