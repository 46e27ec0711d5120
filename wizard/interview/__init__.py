"""The interview as data: a state and an event give the next state and what is to be done; a state gives what is on the screen.

No terminal, no clock, no file: `screens` brings the events in, in one queue, and does what is wanted.
"""
