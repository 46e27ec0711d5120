"""What is asked and how it is answered, in data and words; knows the session, no interview and no terminal.

`guide` is the face: it hands on what the others give.
"""
