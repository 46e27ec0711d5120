"""The planner of an interview: a process of its own that can be killed, and what the interview sees of a plan."""
