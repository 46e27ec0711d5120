"""Drafts: what was answered and is in no file yet, on the disk before the screen says that it was taken."""
